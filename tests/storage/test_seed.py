"""Loading fixtures: faithful, repeatable, all or nothing, and never over an operator's book."""

from __future__ import annotations

import asyncio
import csv
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncEngine

from service.storage import seed
from service.storage.books import PostgresBooks
from service.storage.folders import FolderError, read_folders, section_of
from service.storage.tables import book_revision, region, stock_revision
from tests.conftest import RATES
from tests.storage.factory import SPRING, line, publish_book

LEAD = "lead,h,1,2,3,labour,test,Lead\n"
HEADER = "code,unit,low,likely,high,kind,source,what\n"
STOCK_HEADER = (
    "code,form,section_in,second_in,length_ft,moisture_pct,moisture_depth_in,read_on,species,cut,where,held_for,held_until\n"
)


def write_region(
    root: Path, code: str, *, parent: str = "", labour: str = "", stock: str | None = None, currency: str = "USD"
) -> None:
    """A small folder of fixtures."""
    folder = root / code
    folder.mkdir(exist_ok=True)
    about = {"code": code, "name": code, "parent": parent, "currency": currency, "units": "imperial"}
    about |= {"holiday_country": "US", "holiday_subdiv": "", "effective": "2026-01-01", "note": ""}
    text = "".join(f'{name} = "{value}"\n' for name, value in about.items())
    (folder / "region.toml").write_text(text, encoding="utf-8")
    (folder / "resources_labour.csv").write_text(HEADER + labour, encoding="utf-8")
    if stock is not None:
        (folder / "stock.csv").write_text(STOCK_HEADER + stock, encoding="utf-8")


async def revisions(engine: AsyncEngine, code: str) -> int:
    """How many book revisions a region has."""
    query = select(func.count()).select_from(book_revision).join(region).where(region.c.code == code)
    async with engine.connect() as connection:
        return int((await connection.execute(query)).scalar_one())


async def test_every_line_of_the_fixtures_is_in_the_book_as_it_was_typed(loaded_engine: AsyncEngine) -> None:
    books = PostgresBooks(loaded_engine, 5.0)
    for folder in read_folders(RATES):
        code = folder.region["code"]
        chain = await books.chain(code, folder.effective)
        book = await books.book(code, chain.revision, folder.effective)
        for path in (RATES / code).glob("*.csv"):
            if path.name == "stock.csv":
                continue
            with path.open(encoding="utf-8", newline="") as file:
                for row in csv.DictReader(file):
                    held = book.line(section_of(path), row["code"])
                    typed = (row["low"], row["likely"], row["high"], row["unit"], row["what"], code)
                    assert (str(held.low), str(held.likely), str(held.high), held.unit, held.what, held.region) == typed


async def test_loading_twice_publishes_nothing_new(loaded_engine: AsyncEngine) -> None:
    assert {done.outcome for done in await seed.load(loaded_engine, RATES)} == {"unchanged"}


async def test_two_loads_at_once_publish_once(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "at-once", labour="lead,h,1,2,3,labour,test,Lead\n")
    outcomes = await asyncio.gather(*(seed.load(engine, tmp_path) for _ in range(3)))

    assert sorted(done[0].outcome for done in outcomes) == ["published", "unchanged", "unchanged"]


async def test_a_changed_folder_becomes_the_next_revision(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "changed", labour="lead,h,1,2,3,labour,test,Lead\n", stock="")
    await seed.load(engine, tmp_path)
    write_region(tmp_path, "changed", labour="lead,h,1,2.0,3,labour,test,Lead\n", stock="")
    outcomes = {done.kind: done.outcome for done in await seed.load(engine, tmp_path)}

    assert outcomes == {"book": "published", "stock": "unchanged"}
    assert (await PostgresBooks(engine, 5.0).chain("changed", SPRING)).revision == "changed@2+stock@1"


async def test_what_an_operator_published_is_left_alone(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "operated", labour="lead,h,1,2,3,labour,test,Lead\n")
    await seed.load(engine, tmp_path)
    async with engine.begin() as connection:
        region_id = (await connection.execute(select(region.c.id).filter_by(code="operated"))).scalar_one()
        await publish_book(connection, region_id, line("lead", "19"))
    (done,) = await seed.load(engine, tmp_path)

    assert done.outcome == "left"
    assert await revisions(engine, "operated") == 2


FAULTS = {
    "lead,h,3,2,4,labour,test,Lead": "low <= likely <= high",
    "lead,h,1,2,NaN,labour,test,Lead": "high 'NaN' is not a plain decimal number",
    'lead,h,1,"2,5",3,labour,test,Lead': "likely '2,5' is not a plain decimal number",
    "lead,h,1,1e3,3,labour,test,Lead": "likely '1e3'",
    "Lead,h,1,2,3,labour,test,Lead": "code 'Lead'",
    "lead,h,1,2,3,magic,test,Lead": "kind 'magic'",
    "lead,h,1,2,3,labour,,Lead": "source is empty",
    "lead,h,1,2,3,labour,test": "7 cells where 8 are needed",
    "lead,h,1,2,3,labour,test,Lead\nlead,h,1,2,3,labour,test,Lead": "stands twice",
}


@pytest.mark.parametrize("row", FAULTS)
def test_a_faulty_row_is_named_with_its_file_row_and_reason(tmp_path: Path, row: str) -> None:
    write_region(tmp_path, "faulty", labour=row + "\n")
    with pytest.raises(FolderError) as failed:
        read_folders(tmp_path)
    fault = "\n".join(failed.value.faults)
    last = 1 + len(row.splitlines())

    assert FAULTS[row] in fault
    assert f"faulty/resources_labour.csv row {last}" in fault


async def test_all_faults_are_reported_together_and_nothing_is_loaded(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "one", labour="lead,h,3,2,4,labour,test,Lead\n")
    write_region(
        tmp_path, "two", labour="lead,h,x,2,4,labour,test,Lead\n", stock="log1,log,0,,x,,,soon,pine,plain,a,,2026-05-04\n"
    )
    write_region(tmp_path, "lost", parent="nowhere")
    write_region(tmp_path, "good", labour="lead,h,1,2,3,labour,test,Lead\n")
    with pytest.raises(FolderError) as failed:
        await seed.load(engine, tmp_path)
    said = "\n".join(failed.value.faults)

    assert all(
        words in said
        for words in ("one/", "low 'x'", "length_ft 'x'", "moisture_pct ''", "read_on 'soon'", "held_until without", "'nowhere'")
    )
    assert await revisions(engine, "good") == 0


async def test_a_region_cannot_change_its_currency_by_a_folder(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "fixed")
    await seed.load(engine, tmp_path)
    about = tmp_path / "fixed" / "region.toml"
    about.write_text(about.read_text(encoding="utf-8").replace("USD", "EUR"), encoding="utf-8")
    with pytest.raises(FolderError, match="currency of a region never changes"):
        await seed.load(engine, tmp_path)


def test_a_folder_whose_holiday_calendar_does_not_exist_is_refused(tmp_path: Path) -> None:
    write_region(tmp_path, "odd")
    about = tmp_path / "odd" / "region.toml"
    about.write_text(about.read_text(encoding="utf-8").replace('"US"', '"QQ"'), encoding="utf-8")
    with pytest.raises(FolderError, match="no holiday calendar for country 'QQ'"):
        read_folders(tmp_path)


async def test_the_fixtures_have_counts_of_the_yard_only_where_there_is_a_stock_file(
    loaded_engine: AsyncEngine,
) -> None:
    query = select(region.c.code).join(stock_revision, stock_revision.c.region_id == region.c.id)
    async with loaded_engine.connect() as connection:
        counted = set((await connection.execute(query)).scalars())

    assert counted == {path.parent.name for path in RATES.glob("*/stock.csv")}


async def test_a_new_region_needs_no_folder_for_a_parent_that_was_loaded_before(engine: AsyncEngine, tmp_path: Path) -> None:
    for part in ("above", "below"):
        (tmp_path / part).mkdir()
    write_region(tmp_path / "above", "head", labour=LEAD)
    write_region(tmp_path / "below", "office", parent="head")
    with pytest.raises(FolderError, match="office: no folder for its parent 'head'"):
        await seed.load(engine, tmp_path / "below")
    await seed.load(engine, tmp_path / "above")
    assert [done.outcome for done in await seed.load(engine, tmp_path / "below")] == ["published"]
    assert await revisions(engine, "head") == 1


async def test_a_region_with_other_money_is_not_loaded_without_all_prices(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "source", labour=LEAD)
    write_region(tmp_path, "abroad", parent="source", currency="EUR")
    with pytest.raises(FolderError, match="1 are missing, or locked above: resources/lead"):
        await seed.load(engine, tmp_path)
    write_region(tmp_path, "abroad", parent="source", currency="EUR", labour=LEAD)
    assert [done.outcome for done in await seed.load(engine, tmp_path)] == ["published", "published"]


async def test_a_region_with_other_money_is_not_loaded_below_a_price_that_is_locked(engine: AsyncEngine, tmp_path: Path) -> None:
    write_region(tmp_path, "mint", labour=LEAD)
    await seed.load(engine, tmp_path)
    async with engine.begin() as connection:
        mint = (await connection.execute(select(region.c.id).where(region.c.code == "mint"))).scalar_one()
        await publish_book(connection, mint, line("lead", locked=True), effective=SPRING)
    write_region(tmp_path, "colony", parent="mint", currency="EUR", labour=LEAD)
    with pytest.raises(FolderError, match="or locked above: resources/lead"):
        await seed.load(engine, tmp_path)


def test_folders_that_a_spreadsheet_or_an_editor_has_spoiled_are_named(tmp_path: Path) -> None:
    write_region(tmp_path, "office", labour=LEAD)
    marked = tmp_path / "office" / "resources_labour.csv"
    marked.write_text("\ufeff" + marked.read_text(encoding="utf-8"), encoding="utf-8")
    assert len(read_folders(tmp_path)[0].lines) == 1
    marked.write_text((HEADER + LEAD).replace(",", ";"), encoding="utf-8")
    with pytest.raises(FolderError, match="with commas between the cells and points in numbers"):
        read_folders(tmp_path)
    (tmp_path / "office" / "region.toml").write_text("code = office", encoding="utf-8")
    with pytest.raises(FolderError, match=r"office/region\.toml: .*line 1"):
        read_folders(tmp_path)
