"""The rate book: everything regional that has a number, for one region and one day, frozen.

A book is compiled once from the tables of a region and of its parents and shared by all requests. There is no
silent zero: a line that is not there is an error that names the code, the region and the day.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple, TypeVar

from service.engine.chance import pert_moments

Figure = TypeVar("Figure")
SECTIONS = ("resources", "norms", "lives", "waits", "terms", "access", "weights", "climate")
"""Sections of a rate book, in the order in which people read it."""

KINDS = ("labour", "wood", "material", "hire", "subcontract", "fee")
"""Kinds of resource. Prices of one kind rise and fall together (R19); markup goes on all but labour and fee (R20)."""


class MissingRateError(LookupError):
    """A line that the work needs stands nowhere in the region's chain of books."""

    def __init__(self, section: str, code: str, region: str, day: date) -> None:
        """Name the line, the region and the day."""
        super().__init__(f"no line {section}/{code} in the books of {region} on {day.isoformat()}")
        self.section, self.code, self.region, self.day = section, code, region, day


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the book: low, likely and high with its unit and the region it came from.

    Attributes:
        section: one of SECTIONS.
        code: unique in its section.
        unit: what the number counts (h, h/ft, ft, bd ft, each, yr, d, wk, %, ...).
        low, likely, high: ends and mode of a PERT distribution (R19), as the operator typed them.
        kind: for resources one of KINDS, else "".
        region: whose line it is.
        source: where the number comes from ("common practice, from memory", "J", ...).
        what: in words.
        locked: whether no region below may override it.
    """

    section: str
    code: str
    unit: str
    low: Decimal
    likely: Decimal
    high: Decimal
    kind: str
    region: str
    source: str
    what: str
    locked: bool = False


@dataclass(frozen=True, slots=True)
class Stick:
    """A piece of wood in the yard.

    Attributes:
        moisture_depth_in: how deep the meter was read; None where nobody said.
        held_for: the job that it is kept for; None for none.
        held_until: the last day on which it is kept; None for until somebody lets it go.
    """

    code: str
    form: str
    section_in: float
    second_in: float | None
    length_in: float
    moisture_pct: float
    moisture_depth_in: float | None
    read_on: date | None
    species: str
    cut: str
    where: str
    held_for: str | None
    region: str
    held_until: date | None = None

    def is_held_on(self, day: date) -> bool:
        """Whether it is kept for a job on that day."""
        return self.held_for is not None and (self.held_until is None or day <= self.held_until)

    def is_held_for(self, job: str) -> bool:
        """Whether the job that it is kept for is this one, however the name is spaced and cased."""
        return self.held_for is not None and _plain_name(self.held_for) == _plain_name(job) != ""


class Tariff(NamedTuple):
    """A resource as the arithmetic over the worlds needs it.

    Attributes:
        kind: one of KINDS.
        labour: whether its units are hours of people.
        one: likely price of one unit, markup in.
        mean, sd: mean and standard deviation of the price, relative to its likely value.
    """

    kind: str
    labour: bool
    one: float
    mean: float
    sd: float


class Pace(NamedTuple):
    """A norm as the arithmetic over the worlds needs it: likely value, relative mean and standard deviation."""

    likely: float
    mean: float
    sd: float


class Swing(NamedTuple):
    """How a purchase may come out, all relative to its amount at likely norm and price.

    Attributes:
        kind: the kind of price that it rises and falls with.
        mean: mean of its amount.
        of_price, of_norm: standard deviations that its price and its norm bring.
        norm: that it is counted by; "" for none.
    """

    kind: str
    mean: float
    of_price: float
    of_norm: float
    norm: str

    def times(self, share: float) -> Swing:
        """Of a share of the purchase."""
        return Swing(self.kind, self.mean * share, self.of_price * share, self.of_norm * share, self.norm)


@dataclass(frozen=True)
class RateBook:
    """One region's effective book on one day.

    Attributes:
        region, region_name: code and name of the region.
        currency: ISO 4217.
        units: "imperial" or "metric".
        revision: names the revision of every book in the chain, parents first, stock included (R37).
        day: the day of the prices.
        lines: (section, code) -> line.
        yard: seasoned and green wood in stock.
        holidays: days on which nobody works.
    """

    region: str
    region_name: str
    currency: str
    units: str
    revision: str
    day: date
    lines: Mapping[tuple[str, str], Line]
    yard: tuple[Stick, ...]
    holidays: frozenset[date]
    _offers: dict[str, tuple[Line, Decimal, Decimal]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _tariffs: dict[str, Tariff] = field(default_factory=dict, init=False, repr=False, compare=False)
    _paces: dict[str, Pace] = field(default_factory=dict, init=False, repr=False, compare=False)
    _swings: dict[tuple[str, str | None], Swing] = field(default_factory=dict, init=False, repr=False, compare=False)
    _derived: dict[Hashable, Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    _likely: dict[tuple[str, str], float] = field(default_factory=dict, init=False, repr=False, compare=False)

    def line(self, section: str, code: str) -> Line:
        """The line, or MissingRateError."""
        try:
            return self.lines[section, code]
        except KeyError:
            raise MissingRateError(section, code, self.region, self.day) from None

    def likely(self, section: str, code: str) -> float:
        """Likely value of a line as a float, worked out once a book."""
        found = self._likely.get((section, code))
        if found is None:
            found = self._likely[section, code] = float(self.line(section, code).likely)
        return found

    def once(self, name: Hashable, worked_out: Callable[[RateBook], Figure]) -> Figure:
        """A figure that follows from the book alone, worked out once a book."""
        if name not in self._derived:
            self._derived[name] = worked_out(self)
        found: Figure = self._derived[name]
        return found

    def markup(self, line: Line) -> Decimal:
        """Markup on a resource: on wood, materials, hire and subcontract; never on a sell rate or a fee (R20)."""
        if line.kind in ("labour", "fee"):
            return Decimal(0)
        return self.line("terms", f"markup.{line.kind}").likely

    def offer(self, resource: str) -> tuple[Line, Decimal, Decimal]:
        """A resource as a price line shows it: its line, its markup, and the price of one unit with the markup in."""
        found = self._offers.get(resource)
        if found is None:
            line = self.line("resources", resource)
            markup = self.markup(line)
            found = self._offers[resource] = line, markup, line.likely * (1 + markup)
        return found

    def tariff(self, resource: str) -> Tariff:
        """A resource for the arithmetic over the worlds."""
        found = self._tariffs.get(resource)
        if found is None:
            line = self.line("resources", resource)
            mean, sd = _relative(line)
            one = float(line.likely * (1 + self.markup(line)))
            found = self._tariffs[resource] = Tariff(line.kind, line.kind == "labour", one, mean, sd)
        return found

    def pace(self, norm: str) -> Pace:
        """A norm for the arithmetic over the worlds."""
        found = self._paces.get(norm)
        if found is None:
            line = self.line("norms", norm)
            found = self._paces[norm] = Pace(float(line.likely), *_relative(line))
        return found

    def swing(self, resource: str, norm: str | None) -> Swing:
        """What a resource and the norm that it is counted by bring to a range."""
        found = self._swings.get((resource, norm))
        if found is None:
            tariff, pace = self.tariff(resource), self.pace(norm) if norm else None
            mean = tariff.mean * pace.mean if pace else tariff.mean
            of_norm = mean * (pace.sd / pace.mean) if pace and pace.sd else 0.0
            of_price = mean * (tariff.sd / tariff.mean) if tariff.sd else 0.0
            found = self._swings[resource, norm] = Swing(tariff.kind, mean, of_price, of_norm, norm or "")
        return found


def _plain_name(job: str) -> str:
    return " ".join(job.split()).casefold()


def _relative(line: Line) -> tuple[float, float]:
    """Mean and standard deviation of a line relative to its likely value (PERT, R19)."""
    likely = float(line.likely)
    if likely == 0.0:
        return 1.0, 0.0
    mean, sd = pert_moments(float(line.low), likely, float(line.high))
    return mean / likely, sd / likely
