"""Takes down a scope of work: labour, materials, steps, waits and wood, as a method dictates it.

A method says what has to be done in the trade's terms ("so many feet of facing, two carpenters, then dry down to
18 %"); nothing here knows a price. Hours come from norms of the rate book, never from code.

A scope is made of stages in order. The labour of a stage's crew is shared out over its tasks by `share`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.array import Number, both, where
from service.engine.case import Case
from service.engine.rates import RateBook

LEAD = ("lead",)
CARPENTER = ("carpenter",)
LEAD_CARPENTER = ("lead", "carpenter")
CARPENTER_HELPER = ("carpenter", "helper")
LEAD_HELPER = ("lead", "helper")
CREW_OF_THREE = ("lead", "carpenter", "helper")
CREW_OF_FOUR = ("lead", "carpenter", "carpenter", "helper")
HELPER = ("helper",)
FINISHER = ("finisher",)


@dataclass(slots=True)
class Charge:
    """Something to be paid: `units` x norm (where there is one) x `factor` of a resource, in one part of the price (R4).

    Attributes:
        hours: person-hours on site that it stands for; 0 for things and for time on the road.
        amount: at likely norm and price, markup in, not rounded.
    """

    part: str
    resource: str
    units: Number
    norm: str | None
    factor: Number
    stage: int
    hours: Number
    amount: Number


@dataclass(slots=True)
class Task:
    """A step in which people work.

    Attributes:
        share: share of the stage's hours. room, roof, load: share of its duration that a room is out of use, a roof is
            open, or a porch, stair, deck or floor must not be loaded.
        hold: whether work stops here until somebody has looked.
        over_seals: whether it comes after the sealing of joints beside it (B9).
    """

    text: str
    share: float
    room: float = 0.0
    roof: float = 0.0
    load: float = 0.0
    hold: bool = False
    over_seals: bool = False


@dataclass(slots=True)
class Wait:
    """A step in which nobody works: a cure, drying, a dry day. `days` are calendar days."""

    kind: str
    text: str
    days: Number
    room: float = 0.0
    roof: float = 0.0
    load: float = 0.0


@dataclass(slots=True)
class Stage:
    """Tasks and waits of one crew, one after the other.

    Attributes:
        climbs: whether it opens a plan and yet needs the way up.
        hours: person-hours on site, added up as its labour is dictated.
    """

    phase: str
    method: str
    crew: tuple[str, ...]
    parts: list[Task | Wait] = field(default_factory=list)
    return_visit: bool = False
    climbs: bool = False
    hours: Number = 0.0


@dataclass(slots=True)
class WoodNeed:
    """A piece of dry wood that has to be on the truck (G17). Net sizes; `waste` is a norm of the book."""

    piece: str
    form: str
    thickness_in: Number
    width_in: Number
    length_in: Number
    net_ft3: Number
    waste: str
    grain: str
    treated: bool
    each: Number


@dataclass(slots=True)
class JointNeed:
    """A joint to be sealed: how long, and how much it moves."""

    where: str
    length_in: Number
    gap_in: Number
    material: str


@dataclass(slots=True)
class Dose:
    """Preservative: rods and surface liquid, and the wood they protect."""

    rods: Number
    surface_ft2: Number
    wood_ft3: Number


class Work:
    """The scope of one plan for one case. A method is handed one and dictates into it.

    Attributes:
        case: the case it is for.
        factor: what access, season, heritage and the rest do to the hours on site (D3, D7).
        spent: amounts of the charges, added up by part of the price.
        leads: rows of `waits` that must be over before the main work starts: engineer, permit, consent, lab.
        needs: wood. joints, doses: sealing and preservative. notes: sentences for the reader.
        cures: glues, fillers and coats used, each a group of rows `cure.<material>.*` of the book.
        sound_wood_ft3: sound wood that this method removes.
    """

    def __init__(self, case: Case, factor: Number) -> None:
        """Start an empty scope."""
        self.case, self.book = case, case.book
        self.factor = factor
        self.charges: list[Charge] = []
        self.spent: dict[str, Number] = {}
        self.stages: list[Stage] = []
        self.leads: list[str] = []
        self.needs: list[WoodNeed] = []
        self.joints: list[JointNeed] = []
        self.doses: list[Dose] = []
        self.cures: list[str] = []
        self.notes: list[str] = []
        self.sound_wood_ft3: Number = 0.0
        self.part = "package"

    # ---- people ----------------------------------------------------------------------------------------------------

    def stage(
        self, method: str, crew: tuple[str, ...], *, phase: str = "main", return_visit: bool = False, climbs: bool = False
    ) -> None:
        """Begin a stage: what follows is done by this crew.

        Args:
            method: code of the method that dictates it.
            crew: trades on site together.
            phase: interim, correction, main or finish.
            return_visit: whether the crew has to come back for it.
            climbs: whether it opens a plan and yet needs the way up.
        """
        self.stages.append(Stage(phase, method, crew, return_visit=return_visit, climbs=climbs))

    def labour(self, norm: str, units: Number = 1.0, *, once: bool = False, on_site: bool = True) -> None:
        """Hours of this stage's crew: norm x units, shared equally by its trades.

        Args:
            norm: row of the norms, in hours or hours a unit.
            units: feet, pieces, cubic inches ... for ONE piece of the group.
            once: set-up that serves all pieces together (R21), not one a piece.
            on_site: whether access and season slow it down.
        """
        factor: Number = self.factor if on_site else 1.0
        factor = factor * (self._once() if once else self.case.count * self._batch())
        stage = self.stages[-1]
        hours = units * factor * self.book.pace(norm).likely
        stage.hours = stage.hours + hours
        for trade, share, wage in self.book.once(("wages", stage.crew), lambda book: _wages(book, stage.crew)):
            its = hours * share
            self._pay(Charge(self.part, trade, units, norm, factor * share, len(self.stages) - 1, its, its * wage))

    def labour_first(self, first: str, each: str, *, on_site: bool = True) -> None:
        """Hours where the first piece of a batch takes `first` in all and every other takes `each` (R21)."""
        case = self.case
        self.labour(first, 1.0, once=True, on_site=on_site)
        if case.batch > 1:
            others = (case.batch - 1) / case.batch
            self.labour(each, others, on_site=on_site)

    def task(
        self, text: str, share: float, *, room: float = 0.0, roof: float = 0.0, load: float = 0.0, hold: bool = False,
        over_seals: bool = False,
    ) -> None:
        """A step of this stage; the shares of a stage add up to 1. Work on the inner face stands in the room."""
        stage = self.stages[-1]
        inside = stage.phase in ("main", "finish") and self.case.on_inner_face
        stage.parts.append(Task(text, share, 1.0 if inside else room, roof, load, hold, over_seals))

    def wait(self, kind: str, text: str, days: Number, *, room: float = 0.0, roof: float = 0.0, load: float = 0.0) -> None:
        """A wait in calendar days: kind is cure, drying or weather."""
        self.stages[-1].parts.append(Wait(kind, text, days, room, roof, load))

    # ---- things ----------------------------------------------------------------------------------------------------

    def buy(self, resource: str, quantity: Number = 1.0, *, norm: str | None = None, once: bool = False) -> None:
        """A material, hire, fee or subcontract.

        Args:
            resource: row of the resources.
            quantity: for ONE piece of the group, in the row's unit (or units of the norm).
            norm: consumption norm that the quantity is multiplied by, if any.
            once: one for all pieces of the defect.
        """
        self._charge(resource, quantity, norm, self._once() if once else float(self.case.count))

    def lead(self, row: str) -> None:
        """A wait before anybody arrives, a row of `waits` in weeks: lead.engineer_letter, lead.permit ..."""
        if row not in self.leads:
            self.leads.append(row)

    def cure(self, material: str) -> None:
        """A material with limits of temperature (B7); the planner waits for warmth or heats a tent."""
        if material not in self.cures:
            self.cures.append(material)

    def wood(
        self,
        piece: str,
        form: str,
        *,
        thickness_in: Number,
        width_in: Number,
        length_in: Number,
        net_ft3: Number,
        waste: str,
        grain: str = "any",
        treated: bool = False,
        each: Number = 1.0,
        bought_as: tuple[str, Number] | None = None,
    ) -> None:
        """A piece of seasoned wood, bought at the book's price for its form, waste in.

        Args:
            piece: what it becomes ("facing slab").
            form: log, slab, timber, quarter_sawn, lumber, board or decking.
            thickness_in, width_in, length_in: net size; a log has its diameter twice; a slab its recess and flat back.
            net_ft3: net volume of one piece.
            waste: norm with the waste as a share.
            grain: any, quarter_sawn, clear.
            treated: whether it must be treated or of a durable species.
            each: pieces of this kind for ONE piece of the group.
            bought_as: row of the resources and net quantity in its unit, where the form does not say it.
        """
        self.needs.append(
            WoodNeed(piece, form, thickness_in, width_in, length_in, net_ft3, waste, grain, treated, each)
        )
        gross = 1.0 + self.case.book.likely("norms", waste)
        rows = [bought_as] if bought_as else _wood_rows(form, thickness_in, length_in, net_ft3)
        for resource, quantity in rows:
            self._charge(resource, quantity * each * gross, None, self._premium() * self.case.count)

    def joint(self, where_: str, length_in: Number, gap_in: Number, material: str = "sealant") -> None:
        """A joint to seal on each piece; its sealant has limits of temperature like every other cure (B7)."""
        self.joints.append(JointNeed(where_, length_in, gap_in, material))
        self.cure(material)

    def note(self, text: str) -> None:
        """A sentence that goes with the plan."""
        self.notes.append(text)

    def take_in(self, other: Work) -> None:
        """Add a scope that was dictated apart, behind what stands here already."""
        before = len(self.stages)
        for charge in other.charges:
            charge.stage += before
        self.charges += other.charges
        for part, amount in other.spent.items():
            self.spent[part] = self.spent.get(part, 0.0) + amount
        self.stages += other.stages
        self.needs += other.needs
        self.joints += other.joints
        self.doses += other.doses
        self.leads += [row for row in other.leads if row not in self.leads]
        self.cures += [material for material in other.cures if material not in self.cures]
        self.notes += other.notes
        self.sound_wood_ft3 = self.sound_wood_ft3 + other.sound_wood_ft3

    # ---- inside ----------------------------------------------------------------------------------------------------

    def _charge(self, resource: str, units: Number, norm: str | None, factor: Number) -> None:
        quantity = units * factor
        if norm:
            quantity = quantity * self.book.pace(norm).likely
        amount = quantity * self.book.tariff(resource).one
        self._pay(Charge(self.part, resource, units, norm, factor, max(len(self.stages) - 1, 0), 0.0, amount))

    def _pay(self, charge: Charge) -> None:
        self.charges.append(charge)
        part = charge.part
        self.spent[part] = self.spent[part] + charge.amount if part in self.spent else charge.amount

    def _once(self) -> float:
        """This group's share of what serves all pieces of the defect."""
        return self.case.count / self.case.batch

    def _batch(self) -> float:
        """What a batch of alike pieces saves on the hours of each (R21)."""
        return batch_factor(self.case.book, self.case.batch)

    def _premium(self) -> float:
        """Price of this species against common softwood."""
        row = self.case.species.premium
        return self.case.book.likely("terms", row) if row else 1.0


def batch_factor(book: RateBook, pieces: int) -> float:
    """What is left of the hours of each of several alike pieces (R21)."""
    if pieces <= 1:
        return 1.0
    many = int(book.line("norms", "batch.many").likely)
    return 1.0 - book.likely("norms", "batch.from_5" if pieces >= many else "batch.from_2")


def _wages(book: RateBook, crew: tuple[str, ...]) -> tuple[tuple[str, float, float], ...]:
    """Trades of a crew, each with its share of the hours and its price an hour."""
    return tuple((trade, crew.count(trade) / len(crew), book.tariff(trade).one) for trade in sorted(set(crew)))


LOG_ROWS = ((9.5, "log_dry_7_9"), (12.5, "log_dry_10_12"), (16.5, "log_dry_13_16"), (1e9, "log_dry_17_24"))
"""Diameters up to which a row of the book holds [in]: the book prices logs by classes of diameter."""


def _wood_rows(form: str, thickness_in: Number, length_in: Number, net_ft3: Number) -> list[tuple[str, Number]]:
    """Resource rows and net quantities that one piece of this form is bought by."""
    if form == "log":
        rows: list[tuple[str, Number]] = []
        above = 0.0
        for up_to, row in LOG_ROWS:
            in_class = both(thickness_in > above, thickness_in <= up_to)
            rows.append((row, where(in_class, length_in / 12.0, 0.0)))
            above = up_to
        return rows
    if form == "slab":
        return [("slab_dry", length_in / 12.0)]
    by_volume = {"timber": "timber_dry", "quarter_sawn": "clear_quarter_sawn", "lumber": "lumber_treated"}
    return [(by_volume[form], net_ft3 * 12.0)]
