"""Which dry wood has to be on the truck, where it comes from, and why green wood will not do."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.engine.array import Number
from service.engine.case import Case, once_a_case
from service.engine.drying_down import minimum_limit, porosity_of
from service.engine.outcome import Measure, WoodPiece
from service.engine.rates import Stick
from service.engine.science.drying import (
    cylinder_fourier_number,
    drying_days,
    drying_days_range,
    evaporable_loss,
    transverse_diffusivity_m2_s,
    yard_drying_years_bound,
)
from service.engine.science.moisture import FIBRE_SATURATION_PCT
from service.engine.science.movement import shrink_gap_in
from service.engine.words import Words
from service.engine.work import WoodNeed, Work

SEASONED_PCT = 19.0
"""Seasoned: at or under this right through (G17) [%]."""
WITHIN_HOST_POINTS = 4.0
"""And within so many points of the member it touches (G17) [%]."""
CORE_IN = 9.0
"""A log thicker than this counts as dry right through only where its core was read (trade word: seasoned) [in]."""
DEEP_IN = 3.0
"""How deep such a core must have been read (trade, "dry" logs that read 26 % at 3 in deep) [in]."""
READ_AGAIN_DAYS = 365
"""A reading older than this is said with its day: wood under a roof follows the seasons, a leaking shed does not (J) [d]."""
UNSAID = "softwood_unknown"
"""The species of a house of which nobody said what it is built of."""
TOLERANCE_IN = {"log": 0.5, "slab": 1.0}
"""How far the diameter of the stock may be off (M07, M12; common practice, no source) [in]."""
SAWN_TO_IN = 1.0 / 8.0
"""What is sawn to length and width is said to this, rounded up [in] (J)."""
SAWN_THICK_TO_IN = 1.0 / 16.0
"""And to this what has to fill a recess flush [in] (J)."""
MM = 25.4
STOCK_STEP = {"imperial": 12.0, "metric": 100.0 / MM}
"""Steps in which stock is asked for: a foot, 100 mm (J) [in]."""
LEADS = {
    "log": "lead.log_dry", "slab": "lead.slab_dry", "timber": "lead.timber_dry",
    "quarter_sawn": "lead.clear_quarter_sawn", "lumber": "lead.lumber", "board": "lead.lumber", "decking": "lead.lumber",
}


@dataclass(frozen=True, slots=True)
class Source:
    """Where a piece comes from, which yard pieces that takes, and when it is there [days]."""

    met_by: str
    yard: tuple[str, ...]
    days: float


def pieces_of(work: Work, words: Words) -> tuple[WoodPiece, ...]:
    """Wood pieces in the world as stated, each with where it comes from."""
    return tuple(_piece(work.case, need, count, source, words) for need, count, source in _sources(work, Counter()))


def wait_for_wood(work: Work, taken: Counter[str] | None = None) -> tuple[float, str]:
    """The longest wait for wood in the world as stated, and what is waited for; 0 and "" where nothing is [days].

    Args:
        work: scope of the plan.
        taken: sticks that other plans have taken already; what this one takes is added.
    """
    wait, waited_for = 0.0, ""
    for need, _, source in _sources(work, Counter() if taken is None else taken):
        if source.days > wait:
            wait, waited_for = source.days, f"seasoned wood for the {need.piece}"
    return wait, waited_for


def _sources(work: Work, taken: Counter[str]) -> Iterator[tuple[WoodNeed, int, Source]]:
    """Every need of wood with its pieces and where they come from; what one need takes is gone for the next."""
    for need in work.needs:
        count = max(round(float(need.each) * work.case.count), 1)
        yield need, count, _source(work.case, need, count, taken)


def _piece(case: Case, need: WoodNeed, count: int, source: Source, words: Words) -> WoodPiece:
    waste = case.book.likely("norms", need.waste)
    net = float(need.net_ft3) * count
    gross = net * (1.0 + waste)
    thick = _sawn_in(need.thickness_in, SAWN_TO_IN if need.form == "log" else SAWN_THICK_TO_IN, words)
    wide, long = (_sawn_in(size, SAWN_TO_IN, words) for size in (need.width_in, need.length_in))
    stock_in = _up_to(long * (1.0 + waste), STOCK_STEP[words.units])
    return WoodPiece(
        piece=need.piece, count=count, form=need.form, thickness=Measure(thick, "in"),
        width=Measure(wide, "in"), length=Measure(long, "in"), stock_length=Measure(stock_in, "in"),
        volume=(Measure(gross * 12.0, "bd ft"), Measure(gross, "ft3")),
        species=case.species.code, moisture_max=Measure(moisture_limit_pct(case), "%"), grain=need.grain, waste=waste,
        met_by=source.met_by, yard=source.yard, ready_in_days=source.days, green_instead=green_words(case, need, words),
    )


def _sawn_in(size_in: Number, step_in: float, words: Words) -> float:
    """A size as it is read off a rule: up to whole millimetres, or to the step given [in]."""
    return _up_to(float(size_in), 1.0 / MM if words.units == "metric" else step_in)


def _up_to(size_in: float, step_in: float) -> float:
    return math.ceil(size_in / step_in - 1e-6) * step_in


def named_twice(plans: Iterable[tuple[int, Sequence[WoodPiece]]]) -> tuple[str, ...]:
    """Yard pieces that the plans of several places name: each place was looked at alone, and a piece serves once.

    Args:
        plans: index of the defect, from 0, and the wood of its plan.
    """
    named: dict[str, list[int]] = {}
    for index, wood in plans:
        for code in dict.fromkeys(code for piece in wood for code in piece.yard):
            named.setdefault(code, []).append(index + 1)
    return tuple(
        f"Yard piece {code} is named for {_listed(places)} and serves once: the wood of the others has to come from elsewhere, "
        "and the dates of the job wait for it."
        for code, places in sorted(named.items()) if len(places) > 1
    )


def _listed(places: Sequence[int]) -> str:
    if len(set(places)) == 1:
        return f"several pieces of defect {places[0]}"
    said = [str(n) for n in sorted(set(places))]
    return f"defects {', '.join(said[:-1])} and {said[-1]}"


@once_a_case
def moisture_limit_pct(case: Case) -> float:
    """Highest moisture of the new wood: seasoned, and within 4 points of the member that it touches (G17) [%]."""
    host = float(case.moisture_pct) if "moisture" in case.known else SEASONED_PCT
    return min(SEASONED_PCT, max(host, case.book.likely("climate", "service_moisture")) + WITHIN_HOST_POINTS)


def _source(case: Case, need: WoodNeed, count: int, taken: Counter[str]) -> Source:
    """On hand, then the yard, then supply for the rest; each stick at hand serves once."""
    said: list[tuple[int, str]] = []
    yard: list[str] = []
    missing = count
    for k, piece in enumerate(case.wood):
        left = min(piece.count - taken[f"hand-{k}"], missing)
        if left > 0 and _fits(
            case, need, piece.form, piece.section_in, piece.length_in, piece.moisture_pct, piece.species, piece.core_checked
        ):
            taken[f"hand-{k}"] += left
            missing -= left
            said.append((left, "on hand"))
    for stick in _open_to(case):
        if missing and not taken[stick.code] and _stick_fits(case, need, stick):
            taken[stick.code] += 1
            missing -= 1
            yard.append(stick.code)
            said.append((1, _stick_words(case, stick)))
    days = 0.0
    if missing:
        supply, days = _supply(case, need)
        said.append((missing, supply + _held_words(case, need)))
    met_by = said[0][1] if len(said) == 1 else "; ".join(f"{n} {what}" for n, what in said)
    return Source(met_by, tuple(yard), days)


def _held_words(case: Case, need: WoodNeed) -> str:
    """That a piece which would do is held for another job, and until when; whose it is, is not the asker's to know."""
    held = [s for s in case.book.yard if s.is_held_on(case.day) and not s.is_held_for(case.job) and _stick_fits(case, need, s)]
    if not held:
        return ""
    first = min((s.held_until for s in held if s.held_until is not None), default=None)
    until = "" if first is None else f" until {first.isoformat()}"
    return f"; a yard piece that would do is held for another job{until}"


def _open_to(case: Case) -> Iterator[Stick]:
    """Yard pieces that this job may take: first those that are held for it, then those that are held for nobody."""
    for stick in case.book.yard:
        if stick.is_held_on(case.day) and stick.is_held_for(case.job):
            yield stick
    for stick in case.book.yard:
        if not stick.is_held_on(case.day):
            yield stick


def _stick_words(case: Case, stick: Stick) -> str:
    """A yard piece so that somebody finds it, with what to mind of it."""
    where = f" in {stick.where}" if stick.where else ""
    said = [stick.species.replace("_", " ")]
    if stick.is_held_on(case.day):
        said.append("held for this job")
    if stick.read_on is not None and (case.day - stick.read_on).days > READ_AGAIN_DAYS:
        said.append(f"last read {stick.read_on.isoformat()}: read it again before it is cut")
    return f"yard piece {stick.code}{where} ({', '.join(said)})"


def _supply(case: Case, need: WoodNeed) -> tuple[str, float]:
    """Wood from supply, in words and days; seasoning what is green at hand is never quicker."""
    rare = need.form == "log" and float(need.thickness_in) > 13.5
    line = case.book.line("waits", "lead.log_rare" if rare else LEADS[need.form])
    supply = f"supply, {_weeks_words(float(line.likely))}"
    green = _green_at_hand(case, need)
    if green is not None:
        supply += f"; the green piece at hand would take {_seasoning_words(case, need, green)} to season"
    return supply, float(line.likely) * 7.0


def _weeks_words(weeks: float) -> str:
    """A wait as it is said."""
    if weeks < 1.0:
        return f"{math.ceil(weeks * 7.0 - 1e-9)} days"
    return "a week" if weeks == 1.0 else f"{weeks:g} weeks"


def _green_at_hand(case: Case, need: WoodNeed) -> float | None:
    """Moisture of a piece of the right size that is too wet, on hand or in the yard [%]; None where there is none."""
    at_hand = [(p.moisture_pct, p.form, p.section_in, p.length_in) for p in case.wood]
    at_hand += [(p.moisture_pct, p.form, p.section_in, p.length_in) for p in _open_to(case)]
    for moisture, form, section, length in at_hand:
        if moisture is None or moisture <= SEASONED_PCT:
            continue
        if form == need.form == "log" and abs(section - float(case.section_in)) <= 1.5 and length >= float(need.length_in):
            return moisture
    return None


def _seasoning_words(case: Case, need: WoodNeed, green_pct: float) -> str:
    """How long a green log takes to come down to seasoned: by diffusion, and the trade's bound (R28, E19)."""
    dry_pct = minimum_limit(case.book, SEASONED_PCT)
    loss = float(evaporable_loss(green_pct, SEASONED_PCT, dry_pct))
    mean_pct = min((green_pct + SEASONED_PCT) / 2.0, 25.0)
    warm_degc = (case.book.likely("waits", "dry.temperature") - 32.0) / 1.8
    speed = transverse_diffusivity_m2_s(mean_pct, warm_degc, porosity_of(case))
    days = drying_days(cylinder_fourier_number(loss), float(need.thickness_in) / 2.0, speed)
    years = float(yard_drying_years_bound(float(need.thickness_in)))
    low, _, high = drying_days_range(days, years * 365.25)
    months = f"{float(low) / 30.4:.0f} to {float(high) / 30.4:.0f} months"
    return f"{months} by diffusion, by the yard's rule up to {years:.0f} years,"


def _stick_fits(case: Case, need: WoodNeed, stick: Stick) -> bool:
    return _fits(
        case, need, stick.form, stick.section_in, stick.length_in, stick.moisture_pct, stick.species, _read_deep(stick)
    )


def _read_deep(stick: Stick) -> bool:
    return stick.moisture_depth_in is not None and stick.moisture_depth_in >= DEEP_IN


def why_unfit(stick: Stick, words: Words) -> str:
    """What keeps a yard piece from any repair that wants seasoned wood, in words; "" for nothing (G17)."""
    if stick.moisture_pct > SEASONED_PCT:
        return f"{stick.moisture_pct:g} % is not seasoned; that is at or under {SEASONED_PCT:g} %"
    if stick.form == "log" and stick.section_in > CORE_IN and not _read_deep(stick):
        text = "a log over {size:length} is known to be dry only where it was read {deep:length} deep or deeper"
        return words.fill(text, {"size": CORE_IN, "deep": DEEP_IN})
    return ""


def _fits(
    case: Case, need: WoodNeed, form: str, section_in: float, length_in: float, moisture_pct: float | None,
    species: str | None, core_read: bool,
) -> bool:
    """Whether a piece is dry, long, thick and alike enough."""
    if moisture_pct is None or moisture_pct > moisture_limit_pct(case):
        return False
    if length_in < float(need.length_in):
        return False
    # Where nobody said what the house is built of, any dry piece may do; it is named, so that somebody compares.
    if species not in {None, case.species.code} and case.species.code != UNSAID:
        return False
    if need.form == "log" and section_in > CORE_IN and not core_read:
        return False
    if (need.form in TOLERANCE_IN or case.milled) and form == "log":
        return abs(section_in - float(case.section_in)) <= TOLERANCE_IN.get(need.form, TOLERANCE_IN["log"])
    return form == need.form and section_in >= float(need.thickness_in)


def green_words(case: Case, need: WoodNeed, words: Words) -> str:
    """What green wood would do there, in numbers (E17; common practice, no source)."""
    across = max(float(need.thickness_in), float(need.width_in))
    service_pct = case.book.likely("climate", "service_moisture")
    shrink = float(shrink_gap_in(across, min(28.0, FIBRE_SATURATION_PCT), service_pct))
    if words.units == "imperial":
        shrink = max(round(shrink * 8.0), 1) / 8.0  # nobody reads hundredths off a tape
    return words.fill(
        "Green wood would shrink by about {gap:length} across {size:length} as it dries in place: open joints, lost bearing.",
        {"gap": shrink, "size": across},
    )
