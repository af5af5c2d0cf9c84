"""The weather that counts is that of the day on which the crew can start (R12, G22; the usual mistake: epoxy in November)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from service.engine.outcome import Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect, House, Span
from tests.engine.books import book
from tests.engine.cases import FT, knowledge, make_defect, make_survey

OCTOBER = date(2026, 10, 20)
JULY = date(2026, 7, 6)


def options_of(defect: Defect, day: date, region: str = "base", house: House | None = None) -> tuple[Option, ...]:
    survey = make_survey(defect, house=house, day=day)
    return quote(survey, book(region, day), knowledge(), all_methods()).defects[0].findings[0].options


def face() -> Defect:
    return make_defect(
        "wall_mid", "band", section=12.0, depth=3.0, length=60.0, clear_length=20 * FT, moisture=15.0, height=3.0,
        words={"side": "outer", "inner_face": "sound"},
    )


def ridge() -> Defect:
    return make_defect("ridge", "band", section=14.0, depth=9.0, length=72.0, span=16.0, height=16.0)


def by(options: tuple[Option, ...], method: str, variant: str = "") -> Option:
    return next(o for o in options if o.method == method and o.variant == variant)


def test_a_slab_ordered_in_october_is_glued_and_sealed_in_spring_or_in_a_heated_tent() -> None:
    """B7: sealant wants 40 degF; the slab comes in November, when the wood is colder."""
    found = options_of(face(), OCTOBER)
    later, now = by(found, "face_veneer"), by(found, "face_veneer", "heated")
    cold = next(d for d in later.delays if d.reason == "cold")
    assert cold.until == date(2027, 3, 31)
    assert later.clocks.earliest_start >= cold.until
    assert not any(d.reason == "cold" for d in now.delays)


def test_the_same_slab_ordered_in_july_waits_for_no_warmth() -> None:
    assert not any(d.reason == "cold" for o in options_of(face(), JULY) for d in o.delays)


def rotten_past_half(element: str = "wall_mid") -> Defect:
    return make_defect(
        element, "band", section=12.0, depth=7.0, length=60.0, clear_length=20 * FT, moisture=26.0, height=3.0,
        words={"side": "outer", "inner_face": "sound"},
    )


@pytest.mark.parametrize(
    ("defect", "method"),
    [
        (rotten_past_half(), "log_partial"),
        (rotten_past_half("header_log"), "log_full"),
        (rotten_past_half("keystone_log"), "inplace_bypass"),
        (rotten_past_half("sill_log"), "sill_needle"),
        (make_defect("notch", "notch_rot", section=12.0), "notch_rebuild"),
        (make_defect("buck_window", "soft_wood", length=30.0), "buck_trim"),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_new_wood_whose_joints_are_sealed_goes_in_when_it_is_warm_or_in_a_heated_tent(defect: Defect, method: str) -> None:
    """B7: sealant wants 40 degF for 48 h. A wall is not opened in frost to be sealed on another visit (R12)."""
    found = options_of(defect, OCTOBER)
    later, now = by(found, method), by(found, method, "heated")
    assert later.clocks.earliest_start >= next(d for d in later.delays if d.reason == "cold").until
    assert not any(d.reason == "cold" for d in now.delays)
    assert now.clocks.finish < later.clocks.earliest_start
    assert not any("when the wood is warm" in note for note in later.notes)
    assert not any(d.reason == "cold" for d in by(options_of(defect, date(2026, 5, 18)), method).delays)


def test_over_the_winter_a_log_past_half_stands_on_a_shore_and_under_a_cover() -> None:
    """R26."""
    later = by(options_of(rotten_past_half(), OCTOBER), "log_partial")
    assert {s.method for s in later.steps if s.phase == "interim"} == {"temp_shore", "temp_cover"}


def test_no_winter_is_waited_for_where_there_is_none() -> None:
    assert not any(d.reason == "cold" for o in options_of(face(), OCTOBER, "heron-bayou") for d in o.delays)


def test_a_roof_whose_timber_comes_in_winter_is_opened_once_the_snow_is_gone() -> None:
    """G22: no roof opening with snow on or forecast; the ridge ordered in October arrives in January."""
    beam = by(options_of(ridge(), OCTOBER), "beam_replace")
    snow = next(d for d in beam.delays if d.reason == "snow")
    wood = next(d for d in beam.delays if d.reason == "wood")
    assert wood.until.month in (11, 12, 1, 2, 3)
    assert snow.until == date(2027, 3, 31)
    assert beam.clocks.earliest_start >= snow.until
    assert "once the snow is gone" in beam.title


def test_no_snow_today_says_nothing_of_the_day_on_which_the_timber_comes() -> None:
    bare = House(words={"snow": "none"})
    assert any(d.reason == "snow" for d in by(options_of(ridge(), OCTOBER, house=bare), "beam_replace").delays)


def test_a_roof_that_can_be_opened_in_autumn_does_not_wait() -> None:
    beam = by(options_of(ridge(), JULY - timedelta(days=30)), "beam_replace")
    assert not any(d.reason == "snow" for d in beam.delays)


def test_over_such_a_winter_the_ridge_stands_on_shores_and_under_a_cover() -> None:
    """R26: over a long wait the open decay is covered, and shored where it carries."""
    beam = by(options_of(ridge(), OCTOBER), "beam_replace")
    interim = {s.method for s in beam.steps if s.phase == "interim"}
    assert interim == {"temp_shore", "temp_cover"}


def test_a_truss_in_snow_country_is_left_on_its_shores_where_its_steel_comes_in_winter() -> None:
    """G22 names trusses and purlins, not only roof openings."""
    chord = make_defect("truss_bottom_chord", "soft_wood", section=12.0, depth=4.0, length=20.0, span=22.0, height=10.0)
    snowy = House(flags={"snow_country": True})
    waits = {
        day: any(d.reason == "snow" for d in by(options_of(chord, day, house=snowy), "steel_plates").delays)
        for day in (date(2026, 11, 9), JULY)
    }
    assert waits == {date(2026, 11, 9): True, JULY: False}
    assert not any(d.reason == "snow" for d in by(options_of(chord, date(2026, 11, 9)), "steel_plates").delays)


def test_a_region_with_real_snow_is_snow_country_unless_somebody_says_otherwise() -> None:
    """G22: 120 psf on the ground is snow country, 25 psf is not; whoever knows the place better is believed."""
    chord = make_defect("truss_bottom_chord", "soft_wood", section=12.0, depth=4.0, length=20.0, span=22.0, height=10.0)
    day = date(2026, 12, 10)

    def waits(region: str, house: House | None = None) -> bool:
        plates = by(options_of(chord, day, region, house), "steel_plates")
        return any(d.reason == "snow" for d in plates.delays)

    assert waits("kestrel-range")
    assert not waits("kestrel-range", House(flags={"snow_country": False}))
    assert not waits("base")
    assert waits("base", House(flags={"snow_country": True}))


def test_what_was_said_of_the_weather_holds_for_two_weeks() -> None:
    """S24: wood at 55 degF, 44 at night, is worked in January, though the climate says otherwise."""
    mild = {"wood_temperature": 55.0, "forecast_low": 44.0}
    warm = House(numbers={n: Span(v, v) for n, v in mild.items()})
    waits = [any(d.reason == "cold" for d in by(options_of(face(), OCTOBER, house=h), "face_veneer").delays)
             for h in (warm, None)]
    assert waits == [False, True]


@pytest.mark.parametrize(("moisture", "waits"), [(28.0, True), (17.0, False)])
def test_wet_wood_does_not_dry_in_frost(moisture: float, *, waits: bool) -> None:
    """B7: drying stops below 40 degF; dry wood takes a cold-rated glue in January (S24)."""
    pocket = make_defect(
        "wall_low", "pocket_deep", section=12.0, depth=2.5, length=10.0, width=6.0, moisture=moisture,
        words={"inner_face": "sound"},
    )
    found = options_of(pocket, date(2026, 1, 12))
    patch = by(found, "dutchman")
    assert any(d.reason == "cold" for d in patch.delays) is waits
    assert any(o.method == "dutchman" and o.variant == "heated" for o in found) is waits


def test_a_tent_is_heated_for_as_long_as_the_wood_dries_in_it() -> None:
    days = {}
    for moisture in (20.0, 28.0):
        pocket = make_defect("wall_low", "pocket_deep", section=12.0, depth=2.5, length=10.0, width=6.0, moisture=moisture)
        heated = by(options_of(pocket, date(2026, 1, 12)), "epoxy_fill", "heated")
        [rent] = [line for line in heated.lines if line.resource == "heated_tent_day"]
        days[moisture] = (float(rent.quantity), heated.clocks.calendar_days)
    assert days[28.0][0] > days[20.0][0]
    assert days[28.0][0] - days[20.0][0] == pytest.approx(days[28.0][1] - days[20.0][1], abs=1.0)


def test_a_cold_night_stops_no_drying_in_june() -> None:
    """Drying takes weeks: 35 degF today says nothing of them."""
    pocket = make_defect(
        "gable_log", "pocket_deep", section=11.0, depth=2.5, length=10.0, width=6.0, wood_temperature=35.0, moisture=26.0,
    )
    assert not any(d.reason == "cold" for d in by(options_of(pocket, JULY), "dutchman").delays)


def test_in_a_heated_tent_wood_dries_in_warm_air() -> None:
    """B7: 3 to 10 days on shallow wood, where it takes weeks under an open cover."""
    pocket = make_defect("wall_low", "pocket_deep", section=12.0, depth=2.5, length=10.0, width=6.0, moisture=28.0)
    found = options_of(pocket, date(2026, 1, 12))
    days = {
        variant: next(s.ends_day - s.starts_day for s in by(found, "dutchman", variant).steps if s.text.startswith("Dry the"))
        for variant in ("", "heated")
    }
    assert 3.0 <= days["heated"] <= 10.0 < days[""]


def test_a_frost_that_was_forecast_in_july_is_waited_for_as_long_as_forecasts_hold() -> None:
    """What was said of the weather holds 14 days (J): nothing that wants 40 degF starts before (B7: sealant)."""
    cold = house_of(wood_temperature=34.0)
    [wait] = [d for d in by(options_of(face(), JULY, house=cold), "face_veneer").delays if d.reason == "cold"]
    assert wait.days == pytest.approx(14.0)


def house_of(**numbers: float) -> House:
    return House(numbers={name: Span(value, value) for name, value in numbers.items()})
