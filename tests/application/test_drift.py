"""What reports of hours say, what they cannot say, and what they suggest: few say nothing, many outweigh the book."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.drift import Drift, drifts, ratio_of, scaled
from service.application.hours import NewReport, Report, hour_norms
from service.application.hours_sense import Known, conflicts, nonsense
from service.engine.rates import RateBook
from tests.engine.books import book

DAY = date(2026, 5, 4)
KNOWN = Known(frozenset(("face_veneer", "sister")), frozenset(("under_window",)))


def new(job: str = "a", quoted: str = "10", actual: str = "12", **changed: object) -> NewReport:
    """A report that nobody would question."""
    plain = NewReport(
        job=job, done_on=DAY, method="face_veneer", element="", rates="base@1/home@3", quoted_hours=Decimal(quoted),
        actual_hours=Decimal(actual), crew=None, note="", corrects=None, counts=True,
    )
    return replace(plain, **changed)  # type: ignore[arg-type]  # by name


def kept(id_: int, said: NewReport, norms: RateBook | None = None, corrected_by: int | None = None) -> Report:
    """A report as it is kept."""
    then = hour_norms(norms or book(), said.method)
    return Report(id_, said, then, corrected_by, datetime.now(UTC), "somebody")


def of_ratios(*ratios: float, rates: RateBook | None = None) -> Drift:
    """How a method runs that took so many times the hours that were quoted."""
    reports = [kept(k, new(f"job {k}", "10", f"{10 * r:.4f}")) for k, r in enumerate(ratios, 1)]
    (drift,) = drifts(reports, rates or book())
    return drift


def slower(factor: str) -> RateBook:
    """The book with the hours of a facing multiplied."""
    lines = {
        key: replace(line, low=line.low * Decimal(factor), likely=line.likely * Decimal(factor), high=line.high * Decimal(factor))
        if key[0] == "norms" and key[1] in hour_norms(book(), "face_veneer") else line
        for key, line in book().lines.items()
    }
    return replace(book(), lines=MappingProxyType(lines))


def test_the_norms_of_a_method_are_its_own_hours_and_nothing_else() -> None:
    assert set(hour_norms(book(), "face_veneer")) == {"face_veneer.fixed", "face_veneer.per_ft"}
    assert set(hour_norms(book(), "deck_gap")) == {"deck_gap.fixed", "deck_gap.per_ft"}


def test_four_reports_say_nothing_yet() -> None:
    drift = of_ratios(1.5, 1.6, 1.4, 1.5)
    assert (drift.verdict, drift.factor, drift.lines) == ("too_few", None, ())
    assert "nothing yet" in drift.says


def test_one_report_has_no_interval_and_says_nothing() -> None:
    drift = of_ratios(2.0)
    assert drift.verdict == "too_few"
    assert math.isinf(drift.middle.high)


def test_where_the_interval_holds_one_no_drift_is_shown() -> None:
    drift = of_ratios(0.8, 1.3, 0.9, 1.25, 1.05, 1.1)
    assert drift.middle.low < 1.0 < drift.middle.high
    assert (drift.verdict, drift.factor) == ("none_shown", None)
    assert "no drift is shown" in drift.says


def test_a_method_that_runs_over_says_by_how_much_and_suggests_part_of_it() -> None:
    """Five reports weigh as much as the book: the factor is the root of the mean."""
    drift = of_ratios(1.2, 1.25, 1.3, 1.2, 1.25)
    assert drift.verdict == "over"
    assert drift.says.startswith("5 reports: runs ")
    assert "over the quoted hours, likely 24 %" in drift.says
    assert drift.factor == pytest.approx(math.sqrt(drift.middle.mean))
    assert drift.weight == 0.5
    per_foot = next(s for s in drift.lines if s.line.code == "face_veneer.per_ft")
    assert per_foot.likely == Decimal("1.78")
    assert per_foot.low < per_foot.likely < per_foot.high


def test_a_method_that_runs_under_says_so() -> None:
    drift = of_ratios(*[0.7, 0.75, 0.8, 0.72, 0.78, 0.74])
    assert drift.verdict == "under"
    assert "under the quoted hours, likely 25 %" in drift.says
    assert drift.factor is not None
    assert drift.factor < 1.0


def test_one_that_stands_apart_is_shown_and_counts_all_the_same() -> None:
    drift = of_ratios(1.0, 1.1, 0.95, 1.05, 1.02, 12.5)
    assert [o.id for o in drift.odd] == [6]
    assert drift.middle.count == 6
    assert "6 (job 6, 12 times)" in drift.cannot_say
    assert drift.middle.mean > 1.4


def test_what_was_taken_over_already_is_not_taken_over_again() -> None:
    """Reports of jobs that were quoted by the old norms are restated by those that were raised because of them."""
    before = of_ratios(1.25, 1.25, 1.25, 1.25, 1.25)
    after = of_ratios(1.25, 1.25, 1.25, 1.25, 1.25, rates=slower("1.25"))
    assert before.verdict == "over"
    assert after.middle.mean == pytest.approx(1.0)
    assert after.factor is None or after.factor == pytest.approx(1.0)


def test_a_report_that_rested_on_norms_that_are_gone_is_taken_as_it_is() -> None:
    gone = replace(kept(1, new()), norms=MappingProxyType({"face_veneer.by_the_moon": Decimal(3)}))
    assert ratio_of(gone, hour_norms(book(), "face_veneer")) == pytest.approx(1.2)


@given(
    st.lists(st.decimals("0", "9999", places=4), min_size=3, max_size=3).map(sorted), st.floats(0.2, 5.0),
)
def test_scaled_norms_keep_their_order(ends: list[Decimal], factor: float) -> None:
    line = replace(book().line("norms", "sister.each"), low=ends[0], likely=ends[1], high=ends[2])
    made = scaled(line, factor)
    assert made.low <= made.likely <= made.high
    assert float(made.likely) == pytest.approx(float(line.likely) * factor, rel=0.006)


@given(st.lists(st.floats(0.3, 3.0), min_size=1, max_size=30))
def test_a_suggestion_lies_between_the_book_and_the_mean(ratios: list[float]) -> None:
    drift = of_ratios(*ratios)
    if drift.factor is not None:
        assert len(ratios) >= 5
        assert min(1.0, drift.middle.mean) <= drift.factor <= max(1.0, drift.middle.mean)
        assert not drift.middle.low <= 1.0 <= drift.middle.high


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"job": ""}, "job"), ({"method": "face_vener"}, "method"), ({"element": "moon"}, "element"),
        ({"quoted_hours": Decimal(0)}, "quoted_hours"), ({"actual_hours": Decimal("20000.1")}, "actual_hours"),
        ({"done_on": DAY + timedelta(days=1)}, "done_on"), ({"crew": 0}, "crew"), ({"crew": 51}, "crew"),
        ({"rates": "base@1"}, "rates"), ({"rates": "base@1/abroad@2"}, "rates"), ({"counts": False}, "counts"),
    ],
)
def test_a_report_that_cannot_be_is_named(changed: dict[str, object], name: str) -> None:
    assert [f.name for f in nonsense(new(**changed), KNOWN, "home", DAY)] == [name]  # type: ignore[arg-type]  # by name


def test_a_good_report_is_not_questioned() -> None:
    assert list(nonsense(new(element="under_window", crew=2), KNOWN, "home", DAY)) == []
    assert list(nonsense(new(rates="base@1/home@2+stock@4"), KNOWN, "home", DAY)) == []


def test_the_same_work_is_reported_once_and_put_right_by_a_correction_of_what_stands() -> None:
    first, second = kept(1, new(), corrected_by=2), kept(2, new(corrects=1))
    other = kept(3, new("b"))
    there = [first, second, other]
    assert list(conflicts([new("c"), new("a", method="sister"), new(corrects=2)], there)) == []
    for wrong, said in (
        (new(), "corrects: 2"), (new(corrects=1), "was corrected by 2"), (new(corrects=3), "is of 'b'"),
        (new(corrects=9), "has no report 9"),
    ):
        (fault,) = conflicts([wrong], there)
        assert said in fault.reason
    (fault,) = conflicts([new("d"), new("d")], there)
    assert (fault.index, "as report 1" in fault.reason) == (1, True)
