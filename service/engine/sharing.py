"""What several plans of a job share once, by geometry and by E16, and what each keeps of its own charges.

Every charge of every plan gets a factor: 1 where it stays its own, less where it is shared, 0 where another plan already
pays for it. The same factors hold in the world as stated and over all worlds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from service.engine.case import Case
from service.engine.choice import Candidate
from service.engine.neighbours import (
    Interval,
    number,
    roof_area_of,
    same_roof,
    side_by_side,
    stretch_of,
    together_components,
    union_ft2,
    wall_of,
)
from service.engine.outcome import SharedCost
from service.engine.pricing import money
from service.engine.site import finished_ft2, means_of_access, put_access, site_days, site_waits, width_of
from service.engine.survey import Defect
from service.engine.work import Charge, Work, batch_factor

ONCE_A_JOB = ("permit", "lead_test", "hazard_lab_test")
"""Fees that a job pays once."""
SET_UP = (".shoring", ".needles", ".fixed", ".reinstatement")
"""Endings of rows that are set-up: shoring, jacking, opening and closing a room."""
SPOT = ("spot_refinish.each", "spot_refinish.finish")
"""Rows of a spot that is blended in."""
UNDER_ROOF = (".shoring", ".needles")
"""Endings of rows that one set-up serves under one roof area."""


LOOKS = ("monitor.each", "monitor.next")
"""Rows of a first look and of a further one on the same visit."""
OF_A_PIECE = frozenset(("cap_slope", "check_seal"))
"""Corrections that each piece needs for itself (K06, K07)."""
OF_AN_OPENING = frozenset(("flashing",))
"""Corrections of one window or door (K09): only what lies at the same place may share one."""
STANDS_UNDER = "temp_shore"
"""What stands under a member until its repair."""


@dataclass(slots=True, eq=False)
class Part:
    """One chosen plan in the job: its defect, its case, its candidate, and the factor of each of its charges.

    Attributes:
        urgency: U0 to U3.
        place: among the plans of the job, whatever the order in which was asked.
        done_by: of a stage whose charges another plan pays, that plan.
        wood_days: until its wood is there, what the plans before it took from the yard being gone.
        season_days: until the season lets it begin, where that wood comes into a winter.
        coming: of the crew in which its work is done, from 0; another one where a winter lies between.
    """

    index: int
    defect: Defect
    case: Case
    plan: Candidate
    urgency: str
    place: int = 0
    factors: list[float] = field(default_factory=list)
    done_by: dict[int, Part] = field(default_factory=dict)
    wood_days: float = 0.0
    season_days: float = 0.0
    coming: int = 0

    @property
    def charges(self) -> list[Charge]:
        """Charges in the world as stated."""
        assert self.plan.stated is not None
        return self.plan.stated.charges

    def own(self) -> Iterable[tuple[int, Charge]]:
        """Charges of the plan itself; what a plan that stands alone pays beside is worked out anew for the job."""
        return ((k, c) for k, c in enumerate(self.charges) if c.part not in ("shared", "tax", "contingency"))

    def amount(self, k: int) -> float:
        """Amount of a charge as it stands now."""
        return float(self.charges[k].amount) * self.factors[k]

    def opens_roof(self) -> bool:
        """Whether the plan opens a roof."""
        return any(c.part == "roof_opening" for _, c in self.own())

    def method_of(self, charge: Charge) -> str:
        """Method that dictated a charge."""
        assert self.plan.stated is not None
        stages = self.plan.stated.stages
        return stages[charge.stage].method if charge.stage < len(stages) else self.plan.code


def share(parts: Sequence[Part]) -> list[SharedCost]:
    """Share everything that can be shared; writes the factors and says what was saved."""
    for part in parts:
        part.factors, part.done_by = [1.0] * len(part.charges), {}
    if len(parts) < 2:
        return []
    rows = [
        _keep_dearest(parts, _is_sign_off, "engineer's visit", "one visit for the job; the dearest counts (R5)"),
        *(
            _keep_dearest(parts, _named(code), code.replace("_", " "), "once a job")
            for code in ONCE_A_JOB
        ),
        *_corrections(parts),
        _watching(parts),
        *_set_ups(parts),
        *_roof_openings(parts),
        *_access(parts),
        *_refinish(parts),
    ]
    return [row for row in rows if row is not None]


def _named(code: str) -> Callable[[Part, Charge], bool]:
    return lambda _, charge: charge.resource == code


def _is_sign_off(_: Part, charge: Charge) -> bool:
    return charge.resource.endswith(".engineer") or charge.resource.startswith("engineer_")


def _keep_dearest(
    parts: Sequence[Part], wanted: Callable[[Part, Charge], bool], what: str, basis: str
) -> SharedCost | None:
    """Keep the charges of the plan that pays most for something, drop them from the others."""
    mine: dict[int, list[int]] = {}
    for n, part in enumerate(parts):
        ks = [k for k, c in part.own() if wanted(part, c) and part.factors[k] > 0.0]
        if ks:
            mine[n] = ks
    if len(mine) < 2:
        return None
    sums = {n: sum(parts[n].amount(k) for k in ks) for n, ks in mine.items()}
    keep = max(sums, key=lambda n: (sums[n], -n))
    for n, ks in mine.items():
        if n != keep:
            for k in ks:
                parts[n].factors[k] = 0.0
                parts[n].done_by[parts[n].charges[k].stage] = parts[keep]
    return _row(what, basis, sums[keep], sum(sums.values()), [parts[n].index for n in mine])


def _row(what: str, basis: str, together: float, alone: float, defects: Iterable[int]) -> SharedCost | None:
    if alone - together < 0.005:
        return None
    return SharedCost(what, basis, money(together), money(alone), tuple(sorted(set(defects))))


def _same_place(one: Defect, other: Defect) -> bool:
    """On the same wall or under the same roof area; pieces whose place nobody gave may share a cause."""
    placed = wall_of(one) or wall_of(other) or roof_area_of(one) or roof_area_of(other)
    return not placed or (bool(wall_of(one)) and wall_of(one) == wall_of(other)) or same_roof(one, other)


def _corrections(parts: Sequence[Part]) -> list[SharedCost | None]:
    """One leak is mended once for everything that lies under it; a cap or a sealed check is its own piece's."""
    rows: list[SharedCost | None] = []
    for method in sorted({p.method_of(c) for p in parts for _, c in p.own() if c.part == "correction"} - OF_A_PIECE):
        wanted = _dictated("correction", method)
        having = [p for p in parts if any(wanted(p, c) for _, c in p.own())]
        groups = [[having[n] for n in group] for group in together_components([p.defect for p in having], _same_place)]
        if method not in OF_AN_OPENING:
            groups = _where_nothing_says_otherwise(groups)
        what = f"correction: {method.replace('_', ' ')}"
        rows += [_keep_dearest(inside, wanted, what, "one cause, corrected once") for inside in groups]
    return rows


def _where_nothing_says_otherwise(groups: Sequence[list[Part]]) -> list[list[Part]]:
    """Places under one leak: a wall beside a roof area, or beside a place that nobody named, may be the same; two walls are not.

    Those that name most come first, and each other place joins the first that it may belong to.
    """
    def named(inside: Sequence[Part]) -> tuple[set[str], set[str]]:
        return {wall_of(p.defect) for p in inside} - {""}, {roof_area_of(p.defect) for p in inside} - {""}

    merged: list[list[Part]] = []
    for group in sorted(groups, key=lambda inside: -sum(map(len, named(inside)))):
        walls, roofs = named(group)
        for other in merged:
            theirs = named(other)
            if not (walls and theirs[0]) and not (roofs and theirs[1]):
                other.extend(group)
                break
        else:
            merged.append(list(group))
    return [sorted(inside, key=lambda p: p.place) for inside in merged]


def _watching(parts: Sequence[Part]) -> SharedCost | None:
    """Who comes to look at one place looks at all of them: one takes the first look's hours, the others a further look's."""
    first, further = LOOKS
    looks = [(p, k) for p in parts for k, c in p.own() if c.norm == first and p.factors[k] > 0.0]
    places = len({p.index for p, _ in looks})
    if places < 2:
        return None
    book = parts[0].case.book
    keeps = (1.0 + (places - 1) * min(book.likely("norms", further) / book.likely("norms", first), 1.0)) / places
    alone = sum(p.amount(k) for p, k in looks)
    for p, k in looks:
        p.factors[k] *= keeps
    return _row("watching", "one visit looks at all", alone * keeps, alone, [p.index for p, _ in looks])


def _set_ups(parts: Sequence[Part]) -> list[SharedCost | None]:
    """One shoring, one jacking, one room opened for neighbouring courses or under one roof area."""
    rows: list[SharedCost | None] = []

    def near(one: Defect, other: Defect) -> bool:
        return side_by_side(one, other) or same_roof(one, other)

    for group in together_components([p.defect for p in parts], near):
        inside = [parts[n] for n in group]
        if len(inside) < 2:
            continue
        roof = bool(roof_area_of(inside[0].defect))
        endings = UNDER_ROOF if roof else SET_UP
        rows += [
            _keep_dearest(now, _set_up(ending), f"set-up: {ending[1:]}", "neighbouring work, one set-up")
            for ending in endings for now in _by_coming(inside)
        ]
        interim = sorted({p.method_of(c) for p in inside for _, c in p.own() if c.part == "interim"})
        rows += [
            _tower_a_truss(inside) if roof and m == STANDS_UNDER
            else _keep_dearest(inside, _dictated("interim", m), m.replace("_", " "), "neighbouring work, held by one")
            for m in interim
        ]
    return rows


def _tower_a_truss(parts: Sequence[Part]) -> SharedCost | None:
    """Trusses stand apart: each has a tower of its own, all at the same time, and what lies across them is held from these."""
    shores = _dictated("interim", STANDS_UNDER)
    shored = [p for p in parts if any(shores(p, c) for _, c in p.own())]
    towers = [p for p in shored if p.case.element.family == "truss"]
    if not towers:
        return _keep_dearest(parts, shores, STANDS_UNDER.replace("_", " "), "neighbouring work, held by one")
    alone = sum(p.amount(k) for p in shored for k, c in p.own() if shores(p, c))
    for part in shored:
        for k, charge in part.own():
            if part not in towers and shores(part, charge):
                part.factors[k] = 0.0
                part.done_by[charge.stage] = towers[0]
            elif shores(part, charge) and charge.norm and part.case.batch == 1:
                part.factors[k] *= batch_factor(part.case.book, len(towers))
    together = sum(p.amount(k) for p in shored for k, c in p.own() if shores(p, c))
    held = "a tower a truss, alike ones in a row; what lies across them is held from these"
    return _row(STANDS_UNDER.replace("_", " "), held, together, alone, [p.index for p in shored])


def _dictated(part: str, method: str) -> Callable[[Part, Charge], bool]:
    """Charges of one part of the price that one method dictated."""
    return lambda plan, charge: charge.part == part and plan.method_of(charge) == method


def _set_up(ending: str) -> Callable[[Part, Charge], bool]:
    """Charges of set-up whose row ends so."""
    return lambda _, charge: charge.part == "package" and _ends(charge, ending)


def _ends(charge: Charge, ending: str | tuple[str, ...]) -> bool:
    return charge.resource.endswith(ending) or (charge.norm or "").endswith(ending)


def _by_coming(parts: Sequence[Part]) -> list[list[Part]]:
    """Plans that the crew works on in the same coming: what is struck before a winter serves nobody after it (E24)."""
    return [[p for p in parts if p.coming == coming] for coming in sorted({p.coming for p in parts})]


def _roof_openings(parts: Sequence[Part]) -> list[SharedCost | None]:
    """One roof opening: the union of the areas, not their sum."""
    rows = []
    areas = sorted({roof_area_of(p.defect) for p in parts} - {""})
    for area, now in ((area, now) for area in areas for now in _by_coming(parts)):
        inside = [p for p in now if roof_area_of(p.defect) == area and p.opens_roof()]
        if len(inside) < 2:
            continue
        sizes = [float(p.case.opening_ft2) for p in inside]
        union = union_ft2([(stretch_of(p.defect), size) for p, size in zip(inside, sizes, strict=True)])
        share_of_sum = union / sum(sizes) if sum(sizes) > 0.0 else 1.0
        alone = together = 0.0
        for part in inside:
            for k, charge in part.own():
                if charge.part == "roof_opening":
                    alone += part.amount(k)
                    part.factors[k] *= share_of_sum
                    together += part.amount(k)
        basis = f"one opening of {union:.0f} ft2 in place of {sum(sizes):.0f} ft2"
        rows.append(_row(f"roof opening {area}", basis, together, alone, [p.index for p in inside]))
    return rows


def _access(parts: Sequence[Part]) -> list[SharedCost | None]:
    """One scaffold a wall or a roof area: the union of its stretches at the greatest height."""
    rows = []
    faces = sorted({face_of(p.defect) for p in parts})
    for wall, now in ((wall, now) for wall in faces for now in _by_coming(parts)):
        inside = [p for p in now if face_of(p.defect) == wall and any(c.part == "access" for _, c in p.own())]
        if len(inside) < 2:
            continue
        alone = [_access_of(inside, hours=hours) for hours in (True, False)]
        keeps = _keeps(alone, _one_access(inside))
        for part in inside:
            for k, charge in part.own():
                if charge.part == "access":
                    part.factors[k] *= keeps[0] if charge.norm else keeps[1]
        together = sum(_access_of(inside, hours=hours) for hours in (True, False))
        rows.append(_row(f"access, {wall}", "one access for the face", together, sum(alone), [p.index for p in inside]))
    return rows


def _access_of(parts: Sequence[Part], *, hours: bool) -> float:
    """What these plans pay for their ways up as it stands now: for the hours of putting them up, or for their hire."""
    own = ((p, k) for p in parts for k, c in p.own() if c.part == "access" and (c.norm is not None) == hours)
    return sum(p.amount(k) for p, k in own)


def _keeps(alone: Sequence[float], together: Sequence[float]) -> tuple[float, float]:
    """Shares of hours and hire that are left of several ways up where one serves all; a long rent adds no hours."""
    if sum(together) >= sum(alone):
        return 1.0, 1.0
    if any(one > 0.0 >= before for before, one in zip(alone, together, strict=True)):
        return sum(together) / sum(alone), sum(together) / sum(alone)  # another way up than each alone would take
    hours, hire = (one / before if before else 0.0 for before, one in zip(alone, together, strict=True))
    return hours, hire


def _refinish(parts: Sequence[Part]) -> list[SharedCost | None]:
    """A wall that is finished anew needs no spots blended: one refinish a face (E16)."""
    rows = []
    for whole in parts:
        if whole.plan.code != "wall_refinish":
            continue
        spots = [
            (p, k) for p in parts if p is not whole and wall_of(p.defect) and wall_of(p.defect) == wall_of(whole.defect)
            for k, c in p.own() if _ends(c, SPOT) and p.factors[k] > 0.0
        ]
        alone = sum(p.amount(k) for p, k in spots)
        for p, k in spots:
            p.factors[k] = 0.0
        rows.append(_row("spot finish", "the wall is finished as a whole", 0.0, alone, [p.index for p, _ in spots]))
    return rows


def face_of(defect: Defect) -> str:
    """The wall or roof area from which a defect is reached; where nobody said, the pieces of one defect stand together."""
    if wall_of(defect):
        return f"wall {wall_of(defect)}"
    return f"roof {roof_area_of(defect)}" if roof_area_of(defect) else f"defect {defect.index + 1}"


def _one_access(parts: Sequence[Part]) -> tuple[float, float]:
    """Cost of one access that serves all of these: hours and hire."""
    highest = max(parts, key=lambda p: float(p.case.height_ft)).case
    works = [p.plan.stated for p in parts if p.plan.stated is not None]
    days = sum(float(site_days(work)) for work in works)
    waits = max((float(site_waits(work.stages)) for work in works), default=0.0)
    case = highest.but(count=1, batch=1)
    trial = Work(case, 1.0)
    face = max(float(finished_ft2(p.case)) for p in parts)
    way_up = means_of_access(case, days, waits)
    put_access(trial, way_up, days, waits, width_ft=_width_ft(parts), face_ft2=face)
    hours = sum(float(c.amount) for c in trial.charges if c.norm is not None)
    return hours, sum(float(c.amount) for c in trial.charges) - hours


def _width_ft(parts: Sequence[Part]) -> float:
    """Width of the wall that the work takes [ft]; where a position is missing the stretches stand side by side."""
    stretches = [stretch_of(p.defect) for p in parts]
    if all(s is not None for s in stretches):
        known: list[Interval] = [s for s in stretches if s is not None]
        return max(s.end for s in known) - min(s.start for s in known)
    beside = sum(_length_ft(p) for p in parts)
    # Joints and checks run in several courses over each other: no wall is wider than its longest log.
    longest = max((float(p.case.clear_length_in) / 12.0 for p in parts if "clear_length" in p.case.known), default=beside)
    return min(beside, longest)


def _length_ft(part: Part) -> float:
    """Length along the wall that a part takes [ft]; joints lie above each other."""
    said = number(part.defect, "length")
    return float(width_of(part.case.but(length_in=said) if said else part.case))


def saved(rows: Sequence[SharedCost]) -> Decimal:
    """What sharing saves in all."""
    return sum((row.alone - row.together for row in rows), Decimal(0))
