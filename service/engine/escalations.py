"""Who else must look, and before what (B10; common practice, no source, and public rules where the text says so)."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.case import Case, once_a_case
from service.engine.causes import insects_live
from service.engine.hazards import hazards_of
from service.engine.knowledge import Knowledge
from service.engine.outcome import Escalation
from service.engine.remains import loss_stated
from service.engine.urgency import SAG_SHARE, seat_soft

LONG_LOG_IN = 96.0
"""Length of wall log past which the load above goes to the engineer (B10) [in]."""
THIRD = 1.0 / 3.0
LEAD_OUTSIDE_FT2 = 20.0
"""Old coating outdoors from which a certified renovator is needed (40 CFR 745 subpart E, from memory) [ft2]."""
GABLE_LOGS = 2
"""Logs of a gable up to which the lead judges alone (B2; common practice, no source)."""
MANY_LOADS = 2.0
"""Point loads from which a log must stay where it is (G13)."""
HALF = 0.5
HEAVY_POST_LB = 5000.0
"""Load of a post from which an engineer signs (M16, M17; common practice, no source) [lb]."""
SMALL_LOSS = 0.1
"""Loss of section in bending or tension from which the engineer looks (G14)."""
ENGINEERED = 2
"""Sign-off from which an engineer is in it."""
OLD_YEARS = 100
BIRD = {"woodpecker": " The bird was after insects: look for them."}
GOVERN = "Local codes and licensed practice govern."


def escalations_of(case: Case, knowledge: Knowledge, urgency: str, *, overloaded: bool = False) -> tuple[Escalation, ...]:
    """Everybody who has to look at this group, the most urgent first.

    Args:
        case: in the world as stated.
        knowledge: for the titles of hazards.
        urgency: "U0" to "U3".
        overloaded: whether its stated load is more than it may carry.
    """
    found = [*_owner(case, urgency), *_engineer(case, overloaded=overloaded), *_hazards(case), *_others(case, knowledge)]
    return tuple(found)


def _owner(case: Case, urgency: str) -> Iterator[Escalation]:
    if case.element.family in ("deck", "stair", "guard") and urgency in ("U0", "U1"):
        yield Escalation(
            "owner_stay_off", "the owner, in writing", "today",
            f"The {case.element.name} is not sound: the owner is told in writing to stay off it, the same day.",
        )
    elif urgency == "U0":
        yield Escalation(
            "owner_stay_off", "the owner, in writing", "today",
            f"The {case.element.name} can move in ordinary use: the owner is told in writing, the same day.",
        )


def _engineer(case: Case, *, overloaded: bool) -> Iterator[Escalation]:
    why = engineer_because(case) or ("its stated load is more than it may carry" if overloaded else "")
    if why:
        yield Escalation(
            "engineer", "a structural engineer", "a firm price",
            f"{why[:1].upper()}{why[1:]}: a structural engineer looks before a price is firm. {GOVERN}",
        )


@once_a_case
def engineer_because(case: Case) -> str:
    """Why a structural engineer has to look, or "" (B10, G13 to G15)."""
    element, harmless = case.element, case.damage.kind in ("check", "seal", "finish", "surface", "stain")
    into_joint = case.flag("past_bolt_line") or case.flag("on_loaded_joint")
    if (harmless or case.flag("ornamental_only")) and not into_joint:
        return ""
    carried = bool(set(case.bears) - {"wall"}) or float(case.joists) > 0.0
    reasons = (
        (into_joint, "it runs into a bolt line or a loaded joint"),
        (element.family == "truss", "it is a truss member"),
        (element.code in ("deck_ledger", "flyway_log"), f"the {element.name} has no second way to carry its load"),
        (
            float(case.point_loads) >= MANY_LOADS or element.code == "keystone_log",
            "several loads land on it",
        ),
        (case.flag("masonry_tied"), "masonry is tied to it"),
        (case.flag("engineer_says_keep"), "an engineer said that it has to stay where it is"),
        (element.family == "sill" and case.rotten and _sill_gives(case), "a sill carries the wall and the floor"),
        (
            case.damage.code in ("sag", "crush", "split") and element.structural,
            f"{case.damage.title} in a member that carries",
        ),
        (case.rotten and case.element.role in ("bending", "tension", "people") and _hangs(case), "it is soft and it sags"),
        (case.adjacent_courses > 1 and float(case.depth_ratio) > THIRD, "neighbouring courses are past a third"),
        (
            (case.rotten or case.damage.kind in ("fire", "mechanical")) and element.role in ("bending", "tension")
            and float(case.section_loss) > SMALL_LOSS and not case.in_the_tail_only,
            "a member in bending or tension has lost more than a tenth of its section",
        ),
        (
            case.rotten and element.family == "wall" and float(case.length_in) > LONG_LOG_IN and carried,
            "a long stretch of wall under a floor or roof has lost wood",
        ),
        (
            case.rotten and element.family == "wall" and float(case.length_in) > LONG_LOG_IN and not case.bears
            and bool(case.depth_ratio > HALF),
            "more than half of a long stretch of wall is gone, and nobody said what stands on it",
        ),
        (
            case.rotten and element.code == "gable_log" and case.count > GABLE_LOGS and bool(case.depth_ratio > THIRD),
            "more than two logs of a gable have lost more than a third, and little holds a gable sideways",
        ),
        (
            case.rotten and (element.family == "tail" or element.code == "plate_log")
            and (carried or float(case.point_loads) > 0.0),
            f"what lands on the {element.name} has nothing else to stand on",
        ),
        (
            case.rotten and element.family in ("wall", "header") and bool(seat_soft(case)),
            f"the seat on the {element.name} is soft, and what lands there stands on it",
        ),
        (case.rotten and element.family == "post" and _weak_or_heavy(case), "it holds up what stands on it, and is shored"),
        (
            case.rotten and element.code == "wall_low" and bool(case.depth_ratio > HALF),
            "more than half of a low wall log is gone, with the whole wall on it",
        ),
        (
            case.rotten and element.sign_off >= ENGINEERED and float(case.depth_ratio) > THIRD
            and not case.in_the_tail_only,
            f"more than a third of the {element.name} is gone, and an engineer signs for it",
        ),
    )
    return next((why for holds, why in reasons if holds), "")


def _hangs(case: Case) -> bool:
    """Whether it was measured to sag by more than a sagging member may (B3)."""
    return "sag" in case.known and float(case.sag_in) > SAG_SHARE * 12.0 * float(case.span_ft)


def _sill_gives(case: Case) -> bool:
    """Whether a sill lost what counts: past a third or nobody knows, crushed, the floor down, or joists on it (B10; J)."""
    deep = "depth" not in case.known or float(case.depth_ratio) > THIRD
    dropped = "floor_drop" in case.known and float(case.floor_drop_in) > 0.0
    joists = ("joists" in case.known and float(case.joists) > 0.0) or "joists" in case.bears
    return deep or case.damage.code == "crush" or dropped or joists


def letter_because(case: Case, urgency: str) -> str:
    """Why an engineer's letter stands in the price whoever signs the method, or "".

    Where he has to look, and a third is gone or the place cannot be used as before; a dimple does not pay him, nor does
    end rot that stops clear of where the member bears, which the lead renews (M23).
    """
    if case.damage.code == "end_rot" and "to_joint" in case.known and not case.overlaps_joint:
        return ""
    much = float(case.depth_ratio) > THIRD or float(case.section_loss) > THIRD or urgency in ("U0", "U1")
    return engineer_because(case) if much else ""


def _weak_or_heavy(case: Case) -> bool:
    """Whether a post has lost more than half, or a third in its heart, or carries more than 5 kip (R32, M17; J for the third)."""
    much = THIRD if case.hollow else HALF
    lost = case.damage.code == "through" or ("depth" in case.known and float(case.share_gone) > much)
    heavy = "load" in case.known and float(case.load_lb) > HEAVY_POST_LB
    return lost or heavy or (loss_stated(case) and float(case.section_loss) > HALF)


def _hazards(case: Case) -> Iterator[Escalation]:
    area = max(float(case.area_ft2), float(case.length_in) * float(case.width_in) / 144.0)
    for hazard in hazards_of(case):
        match hazard.code:
            case "lead" if hazard.known and (area > LEAD_OUTSIDE_FT2 or case.element.family == "frame"):
                yield Escalation(
                    "lead_renovator", "a certified lead renovator", "any cutting, sanding or blasting",
                    f"Coating from before 1978, on a window or a large area. {GOVERN}",
                )
            case "lead":
                yield Escalation(
                    "lead_test", "a lead test", "any sanding or grinding",
                    f"The coating may be from before 1978: test it first. {GOVERN}",
                )
            case "penta":
                yield Escalation(
                    "penta_test", "a laboratory, for penta and arsenic", "grinding, blasting, use indoors or disposal",
                    "Logs may have been dipped or brushed before about 1988: oily smell, blue-green or brown bleed. "
                    f"{GOVERN}",
                )
            case "asbestos":
                yield Escalation(
                    "asbestos_test", "a laboratory, for asbestos", "it is disturbed",
                    f"Putty, mastic, felt or mineral chinking may be from before about 1980. {GOVERN}",
                )
            case _:
                pass


def _others(case: Case, knowledge: Knowledge) -> Iterator[Escalation]:
    if insects_live(case):
        yield Escalation(
            "pest", "a licensed pest firm", "closing up",
            f"Live insects are treated before the wood is closed in. {knowledge.cautions['wildlife'].text}",
        )
    if case.damage.code in ("woodpecker", "bees"):
        yield Escalation(
            "wildlife", "whoever knows the wildlife rules of the place", "closing up",
            knowledge.cautions["wildlife"].text + BIRD.get(case.damage.code, ""),
        )
    very_old = case.year_built is not None and case.day.year - case.year_built >= OLD_YEARS
    if case.heritage or very_old:
        yield Escalation(
            "heritage", "the heritage officer or a conservator", "the method is chosen",
            f"Listed, eased, or original fabric of {OLD_YEARS} years and more: recorded before it is cut. {GOVERN}",
        )
    if case.damage.code == "fire_char" or case.flag("masonry_tied"):
        yield Escalation(
            "specialist", "a specialist for fire damage or chimneys", "the work starts",
            "Smoke and char, or a chimney that may move: a specialist looks first.",
        )
    if case.damage.code == "mould_stain" and case.word("side") == "inner":
        yield Escalation(
            "specialist", "a mould specialist", "the work starts",
            "Mould over 10 ft2 inside the house: a specialist looks first.",
        )
