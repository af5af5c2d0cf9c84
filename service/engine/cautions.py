"""Cautions that go with a plan and with a defect, who else must look, and the waiver (B10, R16, R31 to R33).

A caution is never left out because a fact is missing: what nobody knows counts as there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.engine.case import Case
from service.engine.causes import insects_live
from service.engine.escalations import engineer_because, escalations_of
from service.engine.hazards import COATED, hazard_charges, hazard_conditionals, hazards_of, old_enough
from service.engine.knowledge import MethodRecord
from service.engine.methods.corrections import insect
from service.engine.work import Work

__all__ = ["cautions_of", "defect_cautions", "escalations_of", "hazard_charges", "hazard_conditionals", "waiver_words"]

FALL_FT = 6.0
"""Height of work from which fall protection is needed (29 CFR 1926.501(b)(13), from memory) [ft]."""
FREEZING_DEGF = 32.0
METER_DEGF = 70.0
FLAT_DEG = 5.0
"""Slope on which a boom lift may stand (G25; common practice, no source) [deg]."""
HAZARD_CAUTIONS = {
    "lead": ("lead_paint", "lead_children"), "penta": ("penta", "treated_offcuts"), "asbestos": ("asbestos",),
    "arsenic": ("arsenic", "treated_offcuts"),
}
OF_HAZARD = {"lead_paint": "lead", "penta": "penta", "asbestos": "asbestos", "arsenic": "arsenic"}
"""Hazard that a method's own caution is about: it is printed unless the house is too young for it."""
ENGINEERED = 2
"""Sign-off from which an engineer is in it."""
ASKS = {"lead_children": "children", "solvent_asthma": "asthma"}
"""Cautions that ask about people in the house, and the fact that answers."""
PEOPLE = ("stair", "deck", "guard")
UNTIL_SIGNED = ("column", "deck")
"""What stands alone under its load, beside whatever bends, pulls or carries people: no price of it is firm before somebody
has signed, the lead or an engineer (R31)."""


def cautions_of(case: Case, record: MethodRecord, work: Work, heated: bool) -> tuple[str, ...]:
    """Codes of the cautions that are printed with a plan, the method's own first.

    Args:
        case: in the world as stated.
        record: of the main method.
        work: whole scope of the plan.
        heated: whether it is done in a heated tent.
    """
    found = [c for c in record.cautions if c not in OF_HAZARD or _may_be(case, OF_HAZARD[c])]
    found += _structural(case, record, work)
    found += _access(case, work)
    found += _materials(work, heated=heated)
    found += _place(case, record, work)
    if record.opens != "nothing" or work.charges:
        found += hazard_cautions(case)
    return _asked(case, found)


def _asked(case: Case, found: Sequence[str]) -> tuple[str, ...]:
    """Each caution once; those that ask about people go once the answer is no (R33)."""
    answered = {code for code, fact in ASKS.items() if case.flags.get(fact) is False}
    return tuple(c for c in dict.fromkeys(found) if c not in answered)


def _may_be(case: Case, hazard: str) -> bool:
    """Whether a method's own caution holds here: old felt, putty or paint that it may meet on its way."""
    return old_enough(case, hazard) and (hazard != "lead" or case.word("finish") in COATED)


def hazard_cautions(case: Case) -> list[str]:
    """Cautions of hazards that are there or may be (R16); children are asked for with lead (R33)."""
    return [c for h in hazards_of(case) for c in HAZARD_CAUTIONS[h.code]]


def _structural(case: Case, record: MethodRecord, work: Work) -> list[str]:
    """No structural plan without its cautions, no shore without a date and an engineer's word (R31, R32)."""
    found = _shored(case, record, work)
    if any(s.phase == "interim" for s in work.stages):
        found.append("expiry")
    asked = record.sign_off >= ENGINEERED or any("engineer" in row for row in work.leads) or bool(engineer_because(case))
    if asked or case.structural:
        found += ["structural_provisional", "engineer"]
    elif case.element.role in UNTIL_SIGNED:
        found.append("structural_provisional")
    if case.rotten and (case.element.structural or record.sign_off >= ENGINEERED):
        found += ["zero_strength", "suspect_length"]
    if case.level in ("told", "photos"):
        found.append("not_adequate")
    if case.element.family == "truss" and record.code != "monitor" and not case.flag("ornamental_only"):
        found.append("truss_design")
    if case.adjacent_courses > 1:
        found += ["one_at_a_time", "asymmetric_wall"] if record.is_replacement else ["asymmetric_wall"]
    if case.count > 1 and case.element.family in ("post", "truss"):
        found.append("one_at_a_time")
    return found


def _shored(case: Case, record: MethodRecord, work: Work) -> list[str]:
    """What is said wherever something is held up; under a roof, a floor or a point load not without the engineer (R32)."""
    if "shoring" not in record.cautions and all(s.method != "temp_shore" for s in work.stages):
        return []
    lands = case.element.role == "column" or bool(set(case.bears) - {"wall"}) or float(case.joists) > 0.0
    return ["shoring", "shore_loads", "no_lift_schedule", *(["engineer"] if lands else [])]


def _access(case: Case, work: Work) -> list[str]:
    found: list[str] = []
    bought = {c.resource for c in work.charges}
    if float(case.height_ft) >= FALL_FT:
        found.append("fall_protection")
    if "scaffold_rent" in bought:
        found.append("scaffold")
    if bought & {"boom_day", "boom_week"} or float(case.slope_deg) > FLAT_DEG:
        found.append("boom_slope")
    if "rope_day" in bought:
        found.append("rope_access")
    if any(part.roof for s in work.stages for part in s.parts) and (
        case.word("snow") != "none" or case.flag("snow_country")
    ):
        found.append("snow_load")
    return found


def _materials(work: Work, *, heated: bool) -> list[str]:
    """Resin, solvent, heat, borate, wood: what is in the scope brings its own words."""
    found: list[str] = []
    bought = {c.resource for c in work.charges}
    resin = any(m.startswith(("epoxy", "polyester", "polyurethane")) for m in work.cures)
    if resin:
        found.append("resin")
    if "epoxy_paste" in bought:
        found.append("resin_lifts")
    if "epoxy_consolidant" in bought:
        found += ["solvent", "solvent_asthma"]
    if work.cures:
        found.append("cold_cure")
    if heated:
        found += ["heated_tent", "hot_work"]
    if work.doses:
        found += ["borate_label", "licensed_applicator"]
    if work.needs:
        found.append("green_wood")
    if any(need.form == "log" for need in work.needs):
        found.append("kiln_dried")
    if any(need.treated for need in work.needs):
        found.append("cut_ends")
    return found


def _place(case: Case, record: MethodRecord, work: Work) -> list[str]:
    """What the house, its people and its history ask for."""
    checks: Sequence[tuple[bool, tuple[str, ...]]] = (
        (case.heritage, ("heritage_consent", "cold_applied")),
        (case.element.family == "sill" or case.word("base") in ("soil", "buried"), ("ground_clearance",)),
        (
            case.flag("only_exit") and (record.opens in ("stair", "deck", "porch") or case.element.family in PEOPLE),
            ("egress",),
        ),
        (
            case.flag("only_exit") and case.element.code in ("buck_door", "threshold") and record.role == "main",
            ("egress",),
        ),
        (case.element.family == "guard" or case.element.code in ("deck", "stair"), ("guard_load",)),
        (
            record.opens in ("both_faces", "room", "floor") or (case.on_inner_face and record.opens == "outer_face"),
            ("utility",),
        ),
        (record.opens in ("both_faces", "corner", "outer_face"), ("hold_point",)),
        (insects_live(case), ("treat_first",)),
        (insects_live(case) and insect(case) == "termite_dry", ("fumigant",)),
        (case.damage.code in ("woodpecker", "bees"), ("wildlife",)),
        (case.flag("moving") or case.word("stage") == "settling", ("settlement",)),
        (any(c.state == "declined" for c in case.causes), ("waiver",)),
        (any(c.state in ("open", "suspected", "in_price", "by_others") for c in case.causes), ("wet_cause",)),
        (any(s.method == "grade_veg" for s in work.stages), ("dig",)),
        (case.flag("asthma") and bool(work.cures), ("solvent_asthma",)),
    )
    return [code for holds, codes in checks if holds for code in codes]


def defect_cautions(case: Case) -> tuple[str, ...]:
    """Codes of the cautions that hold whatever is done: stay off, old coatings, what a meter does not say."""
    found = _stay_off(case) + hazard_cautions(case)
    if case.rotten and case.element.structural:
        found += ["zero_strength", "suspect_length"]
    if case.element.structural and case.level in ("told", "photos"):
        found.append("not_adequate")
    if {"load", "line_load"} & case.known and case.element.structural:
        found.append("design_assumptions")
    if "wood_temperature" in case.known:
        cold = float(case.wood_degf)
        found += ["meter_frozen"] if cold < FREEZING_DEGF else ["meter_cold"] if cold < METER_DEGF else []
    if case.flag("treated_before"):
        found.append("meter_borate")
    if insects_live(case):
        found.append("treat_first")
    if case.damage.code in ("mould_stain", "fire_char"):
        found.append("mould")
    if case.heritage:
        found.append("heritage_consent")
    if any(c.state == "declined" for c in case.causes):
        found.append("waiver")
    return _asked(case, found)


def _stay_off(case: Case) -> list[str]:
    """People come first: decks, stairs and guards that are not whole."""
    whole = case.damage.kind in ("finish", "surface", "stain", "check")
    if case.element.family not in PEOPLE or whole:
        return []
    codes: Mapping[str, list[str]] = {
        "deck": ["deck_closed" if case.element.code == "deck_ledger" else "stay_off"],
        "stair": ["stay_off"],
        "guard": ["stay_off", "guard_load"],
    }
    return [*codes[case.element.family], *(["egress"] if case.flag("only_exit") else [])]


def waiver_words(titles: Sequence[str]) -> str:
    """Wording of the waiver for causes that stay open at the owner's wish."""
    what = " and ".join(titles)
    feeds, it, from_it = ("feeds", "it", "that cause") if len(titles) == 1 else ("feed", "them", "those causes")
    return (
        f"I was told that {what} {feeds} this damage, and I do not want {it} corrected now. I understand that the repair "
        f"then lasts the shorter life given here, and that it carries no warranty against decay from {from_it}. "
        "Date and signature of the owner."
    )
