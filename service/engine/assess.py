"""What is the matter with the piece, before anything is chosen: what is left, how wet, how fast, how urgent."""

from __future__ import annotations

from service.engine.case import Case
from service.engine.decay_hazard import hazard_of, spread_of
from service.engine.design_checks import checks_of, depth_is_guessed
from service.engine.knowledge import Knowledge
from service.engine.outcome import Assessment, Measure
from service.engine.remains import Remains, loss_stated, remains_of, section_of, sound_of
from service.engine.science.moisture import FIBRE_SATURATION_PCT, METER_REFERENCE_DEGF, meter_corrected_pct
from service.engine.season import outdoor_equilibrium_pct
from service.engine.urgency import urgency_of
from service.engine.words import Words

ASLEEP_PCT = 20.0
"""Moisture under which decay sleeps; it does not die (B1; common practice, no source) [%]."""
SUSPECT_IN = 24.0
"""Incipient decay beyond what shows, along the grain (R31; from memory) [in]."""
ROUGHLY_POINTS = 2.0
"""Within so many points of equilibrium wood is as dry as its place lets it be (J) [%]."""
MUCH_TOO_MUCH = 2.0
"""Stress ratio of what is left past which nobody stays under it (J)."""
GUESSED = " Nobody has said how deep the rot goes: it is taken as usual; measure it."
NEIGHBOURS = {
    "above": "the piece above", "below": "the piece below", "left": "the piece to the left",
    "right": "the piece to the right",
}


def assess(case: Case, words: Words, knowledge: Knowledge | None = None) -> Assessment:
    """Assess one group in the world as stated; what waiting does is left for whoever knows the plans.

    Args:
        case: in the world as stated.
        words: writes lengths and loads in the units of the request.
        knowledge: for the design values; no stress is checked without it.
    """
    urgency, sentence = urgency_of(case) if knowledge is None else urgency_under_load(case, words, knowledge)
    left = remains_of(case)
    loaded = left or sound_of(case)
    hazard = hazard_of(case)
    equilibrium = outdoor_equilibrium_pct(case.book)
    return Assessment(
        urgency=urgency, urgency_words=sentence,
        depth_ratio=_depth_ratio(case, left) if left is not None else None,
        section=section_of(case, left) if left is not None else None,
        checks=checks_of(case, loaded, knowledge, words) if loaded is not None and knowledge is not None else (),
        moisture_words=moisture_words(case, equilibrium), equilibrium_moisture=Measure(equilibrium, "%"),
        fibre_saturation=Measure(FIBRE_SATURATION_PCT, "%"), hazard_index=hazard.index, hazard_zone=hazard.zone,
        hazard_words=hazard.words, suspects=suspects_of(case, words), spread_a_year=spread_of(case, hazard), waiting=(),
        best_plan_ends_in_years=None, waiting_words="",
    )


def urgency_under_load(case: Case, words: Words, knowledge: Knowledge) -> tuple[str, str]:
    """Class and sentence for one group, where the stated load may be more than what is left can carry.

    Where even the sound member would not carry it, it is what the decay took that alarms (`overload_of`).
    """
    urgency, sentence = urgency_of(case)
    ratio = overload_of(case, words, knowledge)
    title = case.element.name
    guessed = GUESSED if depth_is_guessed(case) else ""
    if ratio > MUCH_TOO_MUCH and urgency > "U0":
        stay = f"stay out from under the {title}" if case.element.role != "bearing" else f"keep load off the {title}"
        return "U0", f"Today: {stay} and shore it. Its stated load is more than twice what is left may carry.{guessed}"
    if ratio > 1.0 and urgency > "U1":
        return "U1", f"Within weeks: keep load off the {title}. Its stated load is more than what is left may carry.{guessed}"
    return urgency, sentence


def overload_of(case: Case, words: Words, knowledge: Knowledge) -> float:
    """Greatest stress ratio of what is left, measured by the sound member where even that is over; worked out once a case.

    There the load or the assumed grade is in question as well, and what is new is what the decay took (J). So more load
    never makes it less urgent.
    """
    return case.once("overload", lambda case: _overload_of(case, words, knowledge))


def _overload_of(case: Case, words: Words, knowledge: Knowledge) -> float:
    left, sound = remains_of(case), sound_of(case)
    if left is None or sound is None or case.flag("ornamental_only") or case.in_the_tail_only:
        return 0.0
    whole = max((check.ratio for check in checks_of(case, sound, knowledge, words)), default=0.0)
    rest = max((check.ratio for check in checks_of(case, left, knowledge, words)), default=0.0)
    if whole > 1.0 and case.element.role == "bearing":
        return 0.0  # a stack that stands under such a load stands on more than was said (J)
    return rest / max(whole, 1.0)


def overload_words(case: Case, words: Words, knowledge: Knowledge) -> str:
    """Said where even the sound member would not carry the stated load at its assumed grade, else ""."""
    sound = sound_of(case)
    checks = checks_of(case, sound, knowledge, words) if sound is not None else ()
    if max((check.ratio for check in checks), default=0.0) <= 1.0:
        return ""
    return f"Even sound, the {case.element.name} would not carry the stated load at the grade assumed: look at both again."


def behind_the_patch(case: Case) -> str:
    """Said of a failed patch that nobody has opened, else "" (B3: the hole is 2 to 4 times the patch)."""
    if case.damage.code != "old_patch_fail" or case.level in ("opened", "cut_out"):
        return ""
    return "Behind a failed patch the hole is often two to four times as large: open it before a price is firm."


def _depth_ratio(case: Case, left: Remains) -> float:
    """Depth over size as measured; where only the share lost was said, the depth that takes as much."""
    if "depth" in case.known or not loss_stated(case):
        return float(case.depth_ratio)
    return left.lost_in / float(case.section_in) / (2.0 if left.layout == "both" else 1.0)


def moisture_words(case: Case, equilibrium_pct: float) -> str:
    """Moisture against what the air brings wood to, and against the point at which decay starts."""
    here = f"Sheltered wood outdoors comes to about {equilibrium_pct:.0f} % here"
    if "moisture" not in case.known:
        return (
            f"Nobody has read the moisture. {here}; under {ASLEEP_PCT:.0f} % decay sleeps, "
            f"at {FIBRE_SATURATION_PCT:.0f} % the fibres are full."
        )
    read = float(case.moisture_pct)
    said, moisture = f"{read:.0f} % was read.", read
    if "wood_temperature" in case.known and float(case.wood_degf) < METER_REFERENCE_DEGF:
        moisture = float(meter_corrected_pct(read, case.wood_degf))
        if moisture - read >= 0.5:
            said = f"{read:.0f} % was read in cool wood, which is about {moisture:.0f} %."
    return f"{said} {_against(moisture, equilibrium_pct)} {here}."


def _against(moisture_pct: float, equilibrium_pct: float) -> str:
    if moisture_pct >= FIBRE_SATURATION_PCT:
        return f"That is past fibre saturation ({FIBRE_SATURATION_PCT:.0f} %): wet, and how wet no pin meter can say."
    if moisture_pct >= ASLEEP_PCT:
        return "That is wet enough for decay to go on, and too wet to bond, coat or close up."
    if moisture_pct > equilibrium_pct + ROUGHLY_POINTS:
        return "Decay sleeps at that, but the wood takes in more than the air gives it: look for the water."
    return "That is as dry as the place lets wood be; decay sleeps, it does not die."


def suspects_of(case: Case, words: Words) -> tuple[str, ...]:
    """What to probe beside it: its neighbours, those already found soft first, and the grain beyond what shows."""
    soft = tuple(f"{NEIGHBOURS.get(side, side)}: found soft" for side in case.soft_neighbours)
    beyond: tuple[str, ...] = ()
    if case.rotten and case.damage.kind != "fire":
        beyond = (f"{words.length(SUSPECT_IN)} of wood beyond the decay, along the grain",)
    return soft + case.element.neighbours + beyond
