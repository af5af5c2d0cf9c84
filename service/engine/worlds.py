"""From what was seen to a `Case`: in the world as stated, or in all possible worlds at once.

A missing fact is drawn from its first guess (a PERT), a stated range evenly between its ends, and before a place is
opened up the decay is larger than what shows (R13). In the world as stated each missing fact stands at its median, a
range at its middle, and nothing has grown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from service.engine.array import Number, Truth, either, maximum, minimum
from service.engine.case import Case
from service.engine.chance import Column, pert_quantile
from service.engine.knowledge import ACROSS_BOARDS, Element, FirstGuess, Knowledge
from service.engine.outcome import Bracket, FactUsed
from service.engine.rates import RateBook
from service.engine.science.section import segment_depth_ratio
from service.engine.season import mean_degf
from service.engine.survey import Defect, House, Span, Survey

DIMENSIONS = (
    "depth", "length", "width", "growth_depth", "growth_length", "section", "height", "moisture", "inner_face",
    "clear_length", "stops", "to_joint", "from_end", "tail", "check_width", "clock", "course", "span", "load", "joists",
    "post_height", "area", "openings", "point_loads", "wood_temperature", "distance", "ground_slope", "hazard_lead",
    "section_other", "opening_area", "hazard_other", "cause", "drip_line", "line_load", "sag", "floor_drop", "of",
    "treads", "soil_above", "overhang",
)
"""Axis of the Sobol points that each unknown moves along. Only ever append: an answer must not change with the list."""

DEEP = 1.0 / 3.0
"""Share of the member from which outside rot makes a soft inside as likely as the first guess says (J)."""
CANTILEVERS = ("flyway_log",)
"""Members held at one end only: their span is how far they stick out, not how long they are."""
INDOORS = ("post_interior",)
"""Members that stand in a room."""
HOUSE_DEGF = 65.0
"""Temperature of wood in a house that is lived in (J) [degF]."""
NOT_SAID: Mapping[str, float] = {
    "to_joint": 1e6, "stop_left": 1e6, "stop_right": 1e6, "clear_length": 1e6, "drip_line": 1e6, "tail": 1e6,
}
"""Facts that mean "far away" where the member has no such thing; every other one means none of it."""


@dataclass(slots=True)
class Draw:
    """One point or all points of the Sobol table, and what was drawn along which axis.

    Attributes:
        table: worlds x axes, or None in the world as stated.
        used: fact -> its column, for the worth of an answer.
    """

    table: Column | None
    used: dict[str, Column] = field(default_factory=dict)

    def at(self, axis: str) -> Column | float:
        """Probability along an axis: the median in the world as stated."""
        if self.table is None:
            return 0.5
        column: Column = self.table[:, DIMENSIONS.index(axis)]
        self.used[axis] = column
        return column


@lru_cache(maxsize=4)
def sobol(points: tuple[tuple[float, ...], ...]) -> Column:
    """The worlds as an array, made once."""
    return np.array(points, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Group:
    """Alike pieces of one defect: their numbers from 1, and the facts they share."""

    pieces: tuple[int, ...]
    numbers: Mapping[str, Span]
    words: Mapping[str, str]


def groups_of(defect: Defect) -> list[Group]:
    """Pieces whose facts are alike, in the order of their first piece (R35)."""
    together: dict[tuple[object, ...], list[int]] = {}
    for k in range(defect.count):
        facts = tuple((n, v[k] if len(v) > 1 else v[0]) for n, v in sorted(defect.numbers.items()))
        codes = tuple((n, v[k] if len(v) > 1 else v[0]) for n, v in sorted(defect.words.items()))
        together.setdefault((facts, codes), []).append(k + 1)
    return [
        Group(tuple(pieces), dict(key[0]), dict(key[1]))  # type: ignore[call-overload]
        for key, pieces in together.items()
    ]


class Facts:
    """Reads the facts of one group in one draw, and writes down what was assumed and why."""

    def __init__(
        self, survey: Survey, defect: Defect, group: Group, book: RateBook, knowledge: Knowledge, draw: Draw
    ) -> None:
        """Bind a group to its survey, its book and its draw."""
        self.survey, self.defect, self.group = survey, defect, group
        self.book, self.knowledge, self.draw = book, knowledge, draw
        self.element = knowledge.elements[defect.element]
        self.damage = knowledge.damages[defect.damage]
        self.used: list[FactUsed] = []
        self.known: set[str] = set()
        self._values: dict[str, Number] = {}

    def span(self, name: str) -> Span | None:
        """What was said of a number, by the defect or by the house."""
        return self.group.numbers.get(name) or self.survey.house.numbers.get(name)

    def number(self, name: str, axis: str | None = None) -> Number:
        """The number in this draw: as stated, within its range, or from its first guess."""
        said = self.span(name)
        unit = self.knowledge.facts[name].unit
        if said is not None:
            self.known.add(name)
            value = self._within(said, axis or name)
            self.used.append(FactUsed(name, Bracket(said.low, said.middle, said.high, unit), "stated", "as stated"))
            return value
        guess = self.guess(name)
        if guess is None:
            return NOT_SAID.get(name, 0.0)
        times: Number = self._values[guess.of] if guess.of else 1.0
        share = pert_quantile(guess.low, guess.likely, guess.high, self.draw.at(axis or name))
        if self.draw.table is None:  # what was assumed is said once, of the world as stated
            size = float(times)
            bracket = Bracket(guess.low * size, float(share) * size, guess.high * size, unit)
            self.used.append(FactUsed(name, bracket, "assumed", guess.why))
        return share * times

    def whole(self, name: str) -> Number:
        """A count: the number, rounded."""
        value = self.number(name)
        return np.round(value) if isinstance(value, np.ndarray) else float(round(value))

    def remember(self, name: str, value: Number) -> Number:
        """Keep a number that first guesses of other facts multiply."""
        self._values[name] = value
        return value

    def guess(self, name: str) -> FirstGuess | None:
        """The first row that fits this member and this damage."""
        return self.knowledge.guesses_of(self.element, self.damage).get(name)

    def word(self, name: str) -> str:
        """A code, by the defect or by the house."""
        return self.group.words.get(name) or self.survey.house.words.get(name) or ""

    def _within(self, said: Span, axis: str) -> Number:
        if said.is_exact:
            return said.low
        return said.low + (said.high - said.low) * self.draw.at(axis)

    def growth(self, of: str) -> Number:
        """Factor by which decay turns out larger than what shows, by level of information (R13)."""
        if self.draw.table is None or self.damage.kind == "fire":
            return 1.0
        row = self.book.line("norms", f"growth.{of}.{self.survey.level}")
        return pert_quantile(float(row.low), float(row.likely), float(row.high), self.draw.at(f"growth_{of}"))


def build_case(facts: Facts, *, batch: int, adjacent_courses: int) -> Case:
    """Read every fact of a group into a case.

    Args:
        facts: the reader, bound to its draw.
        batch: pieces of the whole defect.
        adjacent_courses: neighbouring courses of the same wall that are past a third, this one counted.
    """
    f = facts
    section = f.remember("section", f.number("section"))
    depth, from_end = _depth(f, section)
    inner_soft = _inner_soft(f, depth / section)
    clear = f.remember("clear_length", f.number("clear_length"))
    length, left, right = _length(f, clear, from_end)
    wood, cold = _temperatures(f)
    height = f.number("height")
    if f.damage.code == "foot_rot" and f.element.family == "stair":
        height = 0.0  # the foot of a stair stands where people stand, however high its head is
    species = f.knowledge.species.get(f.word("species")) or f.knowledge.species["softwood_unknown"]
    joint = f.number("to_joint")
    if f.span("to_joint") is None and (f.element.family == "truss" or f.element.code == "deck_ledger"):
        joint = 0.0  # R15: not said means within one D
    tail, other = f.number("tail"), _other(f, section)
    width = _width(f, section, other)
    loss = f.span("section_loss")
    if loss is not None:
        f.known.add("section_loss")
    case = Case(
        element=f.element, damage=f.damage, level=f.survey.level, book=f.book, day=f.survey.priced_on,
        wishes=f.survey.wishes, species=species, words={**f.survey.house.words, **f.group.words},
        flags={**f.survey.house.flags, **f.defect.flags}, bears=f.defect.many.get("bears", ()),
        soft_neighbours=f.defect.many.get("soft_neighbours", ()), causes=f.defect.causes,
        wood=f.defect.wood + f.survey.house.wood, job=f.survey.job, count=len(f.group.pieces), batch=batch,
        year_built=_year(f.survey.house), known=frozenset(),
        section_in=section, other_in=other, depth_in=depth, length_in=length, width_in=width,
        from_end_in=from_end, check_width_in=f.number("check_width"), clock=f.number("clock"), course=f.whole("course"),
        clear_length_in=clear, stop_left_in=left, stop_right_in=right, to_joint_in=joint, tail_in=tail,
        drip_line_in=f.number("drip_line"), height_ft=height,
        overhang_ft=f.number("overhang"), slope_deg=f.number("ground_slope"),
        span_ft=_span(f, clear), load_lb=f.number("load"), line_load_plf=f.number("line_load"),
        joists=f.whole("joists"), floor_drop_in=f.number("floor_drop"), sag_in=f.number("sag"),
        post_height_in=f.remember("post_height", f.number("post_height")),
        section_loss=loss.middle / 100.0 if loss else minimum(depth / section, 1.0),
        area_ft2=_area(f, length, width), opening_ft2=f.number("opening_area"), openings=f.whole("openings"),
        point_loads=f.whole("point_loads"), moisture_pct=f.number("moisture"), soil_above_in=f.number("soil_above"),
        of=f.whole("of"), treads=f.whole("treads"), wood_degf=wood, cold_degf=cold, distance_mi=f.number("distance"),
        adjacent_courses=adjacent_courses, inner_soft=inner_soft, live=_live(f),
        near_joint=False, in_notch=_in_notch(f, from_end, tail), end_grain=f.word("side") == "end",
    )
    case.known = frozenset(f.known)  # only now is every number read
    return case


def _span(f: Facts, clear: Number) -> Number:
    """How far it spans [ft]: as stated, else the clear length of a beam.

    Not of a header, which is longer than its opening, nor of what is held at one end only.
    """
    if f.span("span") is not None or f.span("clear_length") is None or f.element.family != "beam":
        return f.number("span")
    if f.element.code in CANTILEVERS:
        return f.number("span")
    span = clear / 12.0
    if f.draw.table is None:
        said = f.span("clear_length")
        assert said is not None
        bracket = Bracket(said.low / 12.0, said.middle / 12.0, said.high / 12.0, "ft")
        f.used.append(FactUsed("span", bracket, "derived", "the clear length, taken as the span"))
    f.known.add("span")
    return span


def _inner_soft(f: Facts, depth_ratio: Number) -> Truth:
    """Whether the inner face is gone too: as seen, or by chance where nobody looked.

    Rot on the outside says nothing of the inside, but the shallower it is, the less likely it is to come through.
    """
    seen, side = f.word("inner_face"), f.word("side")
    if side == "both" or seen == "soft" or f.damage.code == "through":
        return True
    if seen or side in ("top", "bottom") or not f.damage.decayed:
        return False
    guess = f.guess("inner_face")
    if guess is None or f.draw.table is None:
        return False
    chance = f.draw.at("inner_face")
    f.used.append(FactUsed("inner_face", "not looked at", "assumed", guess.why))
    return chance < guess.likely * minimum(depth_ratio / DEEP, 1.0)


def _depth(f: Facts, section: Number) -> tuple[Number, Number]:
    """Depth across the grain and along it from the end, grown, never past the member."""
    end = f.number("from_end") * (f.growth("depth") if f.damage.decayed else 1.0)
    if f.damage.code == "through":
        f.used.append(FactUsed("depth", "through", "derived", "rotted through: as deep as the member"))
        return section, end
    if not f.damage.decayed and f.span("depth") is None and f.guess("depth") is None:
        return 0.0 * section, end
    share = f.span("section_loss") if f.damage.decayed and f.span("depth") is None else None
    depth = f.number("depth") if share is None else _depth_of_share(f, share, section)
    if f.damage.decayed:
        depth = minimum(depth * f.growth("depth"), section)
    return depth, end


def _depth_of_share(f: Facts, share: Span, section: Number) -> Number:
    """How deep a flat cut from one side goes that takes the stated share of the section; nobody measured the depth."""
    profile, ratio = f.word("profile"), share.middle / 100.0
    if profile in ("round", "d_log") if profile else f.element.round_by_default:
        ratio = segment_depth_ratio(ratio)
    depth = ratio * section
    if f.draw.table is None:
        at = float(depth)
        why = "the depth of a cut from one side that takes the share that is gone"
        f.used.append(FactUsed("depth", Bracket(at, at, at, "in"), "derived", why))
    f.known.add("depth")
    return depth


def _length(f: Facts, clear: Number, from_end: Number) -> tuple[Number, Number, Number]:
    """Length of the decay, grown up to the next stop, and what is left to the stops each way.

    Rot that was measured in from the end of a beam is as long as it goes in.
    """
    at_end = f.damage.code == "end_rot" and f.element.family == "beam"
    if at_end and f.span("length") is None and f.span("from_end") is not None:
        seen = grown = from_end
    else:
        seen = f.number("length")
        grown = seen * f.growth("length") if f.damage.decayed else seen
    length = minimum(grown, maximum(clear, seen))
    spare = maximum(clear - length, 0.0)
    more = length - seen
    said_left, said_right = f.span("stop_left"), f.span("stop_right")
    left = maximum(said_left.middle - more / 2.0, 0.0) if said_left else None
    right = maximum(said_right.middle - more / 2.0, 0.0) if said_right else None
    if left is None:
        left = maximum(spare - right, 0.0) if right is not None else spare / 2.0
    if right is None:
        right = maximum(spare - left, 0.0) if said_left else spare / 2.0
    return length, left, right


def _other(f: Facts, section: Number) -> Number:
    """Second dimension: as stated, else as the first; a round one has none of its own."""
    if f.word("profile") in ("round", "d_log") and f.span("section_other") is None:
        return section
    return f.number("section_other") if f.span("section_other") or f.guess("section_other") else section


def _width(f: Facts, section: Number, other: Number) -> Number:
    """Width around the face, never more than half the girth of a log, or of what has another side; boards have neighbours."""
    if f.element.family in ACROSS_BOARDS:
        return f.number("width")
    squared = f.span("section_other") or f.guess("section_other")
    half = maximum(section * 1.5708, section + other) if squared else section * 1.5708
    return minimum(f.number("width"), half)


def _area(f: Facts, length: Number, width: Number) -> Number:
    """Area: as stated, else of boards whose length and width were stated; else as such members are."""
    measured = f.span("length") is not None and f.span("width") is not None
    if f.element.family in ACROSS_BOARDS and f.span("area") is None and measured:
        return length * width / 144.0
    return f.number("area")


def in_a_heated_house(element: Element, flags: Mapping[str, bool]) -> bool:
    """Whether the wood stands in a house that is lived in."""
    return element.code in INDOORS and not flags.get("vacant", False)


def _temperatures(f: Facts) -> tuple[Number, Number]:
    """Temperature of the wood now, and the lowest forecast over a cure [degF]; a lived-in house is heated."""
    if in_a_heated_house(f.element, f.survey.house.flags) and "wood_temperature" not in f.group.numbers:
        bracket = Bracket(HOUSE_DEGF, HOUSE_DEGF, HOUSE_DEGF, "degF")
        f.used.append(FactUsed("wood_temperature", bracket, "assumed", "it stands in a heated house"))
        return HOUSE_DEGF, HOUSE_DEGF
    if f.span("wood_temperature") is not None:
        now = f.number("wood_temperature")
    else:
        said = f.span("month")
        month = int(said.middle) if said else f.survey.priced_on.month
        likely = mean_degf(f.book, month)
        now = pert_quantile(likely - 10.0, likely, likely + 10.0, f.draw.at("wood_temperature"))
        bracket = Bracket(likely - 10.0, likely, likely + 10.0, "degF")
        f.used.append(FactUsed("wood_temperature", bracket, "assumed", "mean of the month in this region's climate"))
    low = f.number("forecast_low") if f.span("forecast_low") is not None else now
    return now, minimum(low, now)


def _in_notch(f: Facts, from_end: Number, tail: Number) -> Truth:
    """Whether rot runs inside the notch."""
    said = f.defect.flags.get("past_notch", False) or f.damage.code == "notch_rot" or f.element.code == "notch"
    if f.element.code != "log_tail":
        return said
    return either(said, from_end > tail)


def _live(f: Facts) -> bool:
    """Whether it goes on: unknown counts as live (R16); char does not go on by itself."""
    said = f.word("activity")
    return said == "live" or (said != "old" and f.damage.kind != "fire")


def _year(house: House) -> int | None:
    said = house.numbers.get("year_built")
    return int(said.middle) if said else None


def unknown_axes(draw: Draw) -> Iterator[tuple[str, Column]]:
    """Axes along which this case varies, in the order of DIMENSIONS."""
    for axis in DIMENSIONS:
        if axis in draw.used:
            yield axis, draw.used[axis]
