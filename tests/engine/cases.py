"""Cases for tests of methods: say the facts that matter, the rest is a plain wall log on the ground in summer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache

from service.engine.case import Case
from service.engine.knowledge import Knowledge
from service.engine.rates import RateBook
from service.engine.survey import CauseSeen, Defect, House, Span, Survey, Wishes
from service.engine.worlds import Draw, Facts, Group, build_case, groups_of, sobol
from service.reference import load_knowledge
from tests.engine.books import DAY, book

FT = 12.0


@lru_cache(maxsize=1)
def knowledge() -> Knowledge:
    """The reference data, read once."""
    return load_knowledge()


def make_defect(
    element: str = "wall_mid", damage: str = "band", *, count: int = 1, words: Mapping[str, str] | None = None,
    flags: Mapping[str, bool] | None = None, bears: Sequence[str] = (), causes: Sequence[CauseSeen] = (),
    **numbers: float | tuple[float, float],
) -> Defect:
    """A defect from plain numbers in the engine's units; a pair is a range."""
    spans = {n: (Span(*v),) if isinstance(v, tuple) else (Span(v, v),) for n, v in numbers.items()}
    return Defect(
        index=0, id="1", element=element, damage=damage, numbers=spans,
        words={n: (v,) for n, v in (words or {}).items()}, flags=dict(flags or {}),
        many={"bears": tuple(bears)} if bears else {}, count=count, causes=tuple(causes),
    )


def make_survey(*defects: Defect, level: str = "visited", house: House | None = None, day: date = DAY) -> Survey:
    """A survey of these defects."""
    return Survey(defects, house or House(), Wishes(), level, "imperial", day)


def make_case(
    element: str = "wall_mid", damage: str = "band", *, many: bool = False, level: str = "visited", count: int = 1,
    words: Mapping[str, str] | None = None, flags: Mapping[str, bool] | None = None, bears: Sequence[str] = (),
    causes: Sequence[CauseSeen] = (), house: House | None = None, rates: RateBook | None = None,
    **numbers: float | tuple[float, float],
) -> Case:
    """A case in the world as stated, or over all worlds (`many`).

    Numbers are facts by name in the engine's units (section, depth, length in inches, height and span in feet); a pair
    is a range. Everything else is as the first guesses say.
    """
    defect = make_defect(
        element, damage, count=count, words=words, flags=flags, bears=bears, causes=causes, **numbers
    )
    survey = make_survey(defect, level=level, house=house)
    draw = Draw(sobol(knowledge().sobol) if many else None)
    group: Group = groups_of(defect)[0]
    return build_case(
        Facts(survey, defect, group, rates or book(), knowledge(), draw), batch=count, adjacent_courses=1
    )
