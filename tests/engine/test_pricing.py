"""Lines, parts and ranges: one rounding a line, people never marked up, the small job, contingency by level."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from service.engine.array import Number
from service.engine.outcome import Option
from service.engine.pricing import Spread, cents, price_line
from service.engine.survey import Defect, House, Span
from service.engine.work import Charge
from tests.engine.books import book
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask, options

OUTER = {"side": "outer", "inner_face": "sound"}


def band() -> Defect:
    """A band of rot on a plain log."""
    return make_defect(
        "under_window", "band", depth=3.0, length=96.0, section=12.0, clear_length=24 * FT, height=3.0, words=OUTER
    )


def first(level: str = "visited") -> Option:
    """The first plan for it."""
    return next(options(ask(make_survey(band(), level=level))))


def small(miles: float = 5.0) -> Option:
    """Four feet of caulk: an hour or two."""
    line = make_defect("caulk_line", "seal_fail_adh", length=48.0, height=3.0)
    return next(options(ask(make_survey(line, house=House({"distance": Span(miles, miles)})))))


def of(option: Option, part: str, resource: str = "") -> Decimal:
    return sum(
        (line.amount for line in option.lines if line.part == part and resource in ("", line.resource)), Decimal(0)
    )


def charge(resource: str, units: float, norm: str | None = None) -> Charge:
    return Charge("package", resource, units, norm, 1.0, 0, 0.0, 0.0)


def test_halves_of_a_cent_go_up() -> None:
    assert (cents(Decimal("1.005")), cents(Decimal("1.00499"))) == (Decimal("1.01"), Decimal("1.00"))


def test_a_line_of_people_is_hours_times_their_sell_rate() -> None:
    line = price_line(charge("carpenter", 10.0), book(), None)
    assert line is not None
    assert line.markup == 0
    assert line.amount == 10 * book().line("resources", "carpenter").likely


def test_a_line_of_material_bears_its_markup() -> None:
    line = price_line(charge("borate_rod", 8.0), book(), None)
    assert line is not None
    markup = book().line("terms", "markup.material").likely
    assert markup > 0
    assert line.amount == cents(8 * book().line("resources", "borate_rod").likely * (1 + markup))


def test_a_line_of_nothing_is_no_line() -> None:
    assert price_line(charge("borate_rod", 0.0), book(), None) is None


def test_hours_are_units_times_the_norm() -> None:
    line = price_line(charge("carpenter", 8.0, "face_veneer.per_ft"), book(), None)
    assert line is not None
    assert float(line.quantity) == pytest.approx(8.0 * book().likely("norms", "face_veneer.per_ft"), abs=1e-4)


@pytest.mark.parametrize(("level", "rate"), [("visited", "0.15"), ("opened", "0.08"), ("cut_out", "0.04")])
def test_contingency_is_a_share_of_people_wood_and_hire_of_the_package(level: str, rate: str) -> None:
    """Rates of E11: 15, 8 and 4 % (common practice, no source)."""
    option = first(level)
    risky = sum(
        (line.amount for line in option.lines if line.part == "package"
         and book().line("resources", line.resource).kind in ("labour", "wood", "hire")), Decimal(0),
    )
    assert float(of(option, "contingency")) == pytest.approx(float(risky * Decimal(rate)), abs=0.05)


@pytest.mark.parametrize("level", ["told", "photos"])
def test_before_a_visit_there_is_a_range_and_no_contingency(level: str) -> None:
    option = first(level)
    assert "contingency" not in option.parts
    assert option.package.range is not None


def test_a_small_job_is_charged_the_minimum_in_place_of_mobilisation_and_disposal() -> None:
    """R22: one visit under half a day."""
    option = small()
    assert option.clocks.crew_days <= 0.5
    assert of(option, "shared", "mobilisation") == of(option, "shared", "dumpster") == 0
    charged = option.whole.as_described - of(option, "contingency")
    least = book().line("terms", "minimum_charge").likely
    assert of(option, "package") + of(option, "shared", "truck_mile") < least
    assert charged == least


def test_far_away_the_small_job_pays_its_road_instead() -> None:
    option = small(miles=150.0)
    assert of(option, "shared", "truck_mile") > 0
    assert option.whole.as_described > book().line("terms", "minimum_charge").likely


def test_a_job_of_a_day_and_more_pays_mobilisation_and_no_minimum() -> None:
    option = first()
    assert of(option, "shared", "mobilisation") > 0
    assert of(option, "shared", "minimum_charge") == 0


def test_one_price_without_facts_to_guess_has_the_range_of_its_lines_alone() -> None:
    """One world, one line: 10, 50 and 90 % of the log-normal of equal mean and variance, within 1 % (R19)."""
    spread = Spread(1000.0, {"labour": 120.0}, {"norm": 90.0})
    got = spread.quantiles(holds=True, worlds=128)
    deviation = float(np.hypot(120.0, 90.0))
    shape = float(np.sqrt(np.log1p((deviation / 1000.0) ** 2)))
    expected = stats.lognorm(shape, scale=1000.0 / float(np.exp(shape**2 / 2.0))).ppf([0.1, 0.5, 0.9])
    assert got == pytest.approx(tuple(expected), rel=0.01)


def test_prices_of_one_kind_move_together_and_norms_apart() -> None:
    """Two lines of the same trade: spreads of wages add up, spreads of norms add up in squares."""
    one, other = charge("carpenter", 1.0, "face_veneer.per_ft"), charge("carpenter", 1.0, "log_partial.fixed")
    for line in (one, other):
        line.amount = 100.0
    together = Spread.of((one, other), book())
    apart = [Spread.of((line,), book()) for line in (one, other)]
    assert float(together.by_kind["labour"]) == pytest.approx(sum(float(s.by_kind["labour"]) for s in apart))
    norms = sum(float(v) ** 2 for v in together.by_norm.values())
    assert float(together.variance) == pytest.approx(float(together.by_kind["labour"]) ** 2 + norms)


def test_a_share_of_a_purchase_spreads_as_so_much_less_of_it() -> None:
    """As stated and over worlds, and whether or not the same was bought before."""
    bought = [("carpenter", "face_veneer.per_ft"), ("helper", "face_veneer.per_ft"), ("carpenter", "face_veneer.fixed")]
    shares = (1.0, 0.25, 0.5)

    def priced(amounts: tuple[Number, ...], kept: tuple[float, ...]) -> Spread:
        rows = zip(bought, amounts, strict=True)
        return Spread.of([replace(charge(who, 1.0, norm), amount=its) for (who, norm), its in rows], book(), kept)

    stated: tuple[Number, ...] = (400.0, 80.0, 300.0)
    for amounts in (stated, (np.array([400.0, 100.0]), 80.0, np.array([0.0, 300.0]))):
        part = priced(amounts, shares)
        less = priced(tuple(its * share for its, share in zip(amounts, shares, strict=True)), (1.0, 1.0, 1.0))
        assert np.asarray(part.mean) == pytest.approx(np.asarray(less.mean))
        assert np.asarray(part.variance) == pytest.approx(np.asarray(less.variance))
        assert set(part.by_norm) == {"face_veneer.per_ft", "face_veneer.fixed"}


def test_tax_is_taken_of_everything_else_where_a_region_has_one() -> None:
    old = book().line("terms", "tax.rate")
    eight = replace(old, low=Decimal("0.08"), likely=Decimal("0.08"), high=Decimal("0.08"))
    taxed = replace(book(), lines={**book().lines, ("terms", "tax.rate"): eight})
    plain = first()
    option = next(options(ask(make_survey(band()), taxed)))
    assert "tax" not in plain.parts
    assert float(of(option, "tax")) == pytest.approx(float(plain.whole.as_described) * 0.08, abs=0.05)
