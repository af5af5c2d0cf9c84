"""From the wire to the engine: a request of the right form becomes a survey, units and all."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from msgspec import UNSET

from service.engine.knowledge import FactRecord
from service.engine.survey import CauseSeen, Defect, House, Span, Survey, Wishes, WoodOnHand
from service.web.decoding import Path, Wrong, invalid
from service.web.quantities import read
from service.web.requests import RequestTypes

BARE = frozenset(("number", "year"))
WORDS = frozenset(("word", "text"))


class Converter:
    """Turns requests of one type into surveys. The facts are sorted by kind once, not once a request."""

    def __init__(self, types: RequestTypes) -> None:
        """Sort the facts by how they are read."""
        self._defect = _Sorted(types.defect_facts)
        self._building = _Sorted(types.building_facts)
        self._site = _Sorted(types.site_facts)

    def survey(self, request: Any, today: date) -> Survey:
        """The survey that a request describes. `units` is "" where the region's shall be used.

        Raises:
            QuantityError: where a quantity has not its form; the slow path names all such fields.
        """
        return Survey(
            defects=tuple(self._one(k, d) for k, d in enumerate(request.defects)),
            house=self._house(request),
            wishes=_wishes(request.wishes),
            level="told" if request.level is UNSET else request.level,
            units="" if request.units is UNSET else request.units,
            priced_on=today if request.priced_on is UNSET else request.priced_on,
            job="" if request.job is UNSET else request.job,
        )

    def _one(self, index: int, sent: Any) -> Defect:
        numbers, words, flags, many = self._defect.read(sent)
        longest = max((len(v) for v in (*numbers.values(), *words.values())), default=1)
        return Defect(
            index=index,
            id=None if sent.id is UNSET else sent.id,
            element=sent.element,
            damage=sent.damage,
            numbers=numbers,
            words=words,
            flags=flags,
            many=many,
            count=longest if sent.count is UNSET else sent.count,
            causes=() if sent.causes is UNSET else tuple(map(_cause, sent.causes)),
            wood=() if sent.wood is UNSET else tuple(map(_wood, sent.wood)),
            listed=tuple(name for name in (*numbers, *words) if isinstance(getattr(sent, name), list)),
        )

    def _house(self, request: Any) -> House:
        """Building and site together: one value a fact."""
        numbers: dict[str, Span] = {}
        words: dict[str, str] = {}
        flags: dict[str, bool] = {}
        many: dict[str, tuple[str, ...]] = {}
        for sent, facts in ((request.building, self._building), (request.site, self._site)):
            if sent is UNSET:
                continue
            some = facts.read(sent)
            numbers.update({name: spans[0] for name, spans in some[0].items()})
            words.update({name: said[0] for name, said in some[1].items()})
            flags.update(some[2])
            many.update(some[3])
        wood = UNSET if request.building is UNSET else request.building.wood
        return House(numbers, words, flags, many, () if wood is UNSET else tuple(map(_wood, wood)))


def check_groups(survey: Survey, most: int, path: Path = ("defects",)) -> None:
    """Refuse a survey that would take too long: a list of one value a piece can make every piece a case of its own.

    Raises:
        ProblemError: 400.
    """
    if survey.most_groups > most:
        said = f"fall into {survey.most_groups} groups of alike pieces; at most {most} are taken here: send several requests."
        raise invalid([Wrong(path, said)])


class _Sorted:
    """Facts by kind: quantities, bare numbers, words, flags, several codes."""

    def __init__(self, facts: Iterable[FactRecord]) -> None:
        facts = tuple(facts)
        self.bare = tuple(f.name for f in facts if f.dimension in BARE)
        self.words = tuple(f.name for f in facts if f.dimension in WORDS)
        self.flags = tuple(f.name for f in facts if f.dimension == "flag")
        self.many = tuple(f.name for f in facts if f.dimension == "words")
        others = BARE | WORDS | {"flag", "words"}
        self.quantities = tuple((f.name, f.dimension, f.unit) for f in facts if f.dimension not in others)

    def read(
        self, sent: Any
    ) -> tuple[
        dict[str, tuple[Span, ...]], dict[str, tuple[str, ...]], dict[str, bool], dict[str, tuple[str, ...]]
    ]:
        """What was said of each: numbers, words, flags, several codes; in that order."""
        numbers: dict[str, tuple[Span, ...]] = {}
        for name, dimension, unit in self.quantities:
            said = getattr(sent, name)
            if said is UNSET:
                continue
            if isinstance(said, str):
                numbers[name] = (read(said, dimension, unit),)
            else:
                numbers[name] = tuple(read(one, dimension, unit) for one in said)
        for name in self.bare:
            said = getattr(sent, name)
            if said is not UNSET:
                numbers[name] = tuple(map(_exact, said)) if isinstance(said, list) else (_exact(said),)
        words: dict[str, tuple[str, ...]] = {}
        for name in self.words:
            said = getattr(sent, name)
            if said is not UNSET:
                words[name] = (said,) if isinstance(said, str) else tuple(said)
        flags = {name: said for name in self.flags if (said := getattr(sent, name)) is not UNSET}
        many = {name: tuple(said) for name in self.many if (said := getattr(sent, name)) is not UNSET}
        return numbers, words, flags, many


def _exact(number: float) -> Span:
    return Span(float(number), float(number))


def _cause(sent: Any) -> CauseSeen:
    return CauseSeen(
        code=sent.code,
        state="open" if sent.state is UNSET else sent.state,
        by=None if sent.by is UNSET else sent.by,
        on=None if sent.on is UNSET else sent.on,
    )


def _wood(sent: Any) -> WoodOnHand:
    """Wood on hand; of a range the smaller size and the wetter end."""
    return WoodOnHand(
        form=sent.form,
        section_in=read(sent.section, "length", "in").low,
        length_in=read(sent.length, "length", "in").low,
        moisture_pct=None if sent.moisture is UNSET else read(sent.moisture, "moisture", "%").high,
        species=None if sent.species is UNSET else sent.species,
        count=1 if sent.count is UNSET else sent.count,
        core_checked=sent.core_checked is True,
    )


def _wishes(sent: Any) -> Wishes:
    if sent is UNSET:
        return Wishes()
    weights = {
        name: value
        for name in ("first_cost", "lifetime_cost", "time_out_of_use", "look", "heritage")
        if (value := getattr(sent, name)) is not UNSET
    }
    return Wishes(**weights, latest=None if sent.latest is UNSET else sent.latest)
