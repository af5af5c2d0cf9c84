"""A fixed basket of cases that together bring out every repair method of the registry."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache

from service.engine.findings import inquire
from service.engine.inquiry import Inquiry
from service.engine.rates import RateBook
from service.engine.registry import all_methods
from service.engine.survey import CauseSeen, Defect, House, Span, Survey
from service.engine.worlds import groups_of
from tests.engine.books import DAY
from tests.engine.cases import FT, knowledge, make_defect, make_survey

WINTER = date(2026, 1, 12)


def _wall(
    damage: str = "band", *, clear_length: float = 20 * FT, words: Mapping[str, str] | None = None,
    flags: Mapping[str, bool] | None = None, causes: Sequence[CauseSeen] = (), **numbers: float,
) -> Defect:
    """Damage on a log of 10 in in the middle of a wall."""
    return make_defect(
        "wall_mid", damage, count=1, words=words, flags=flags, bears=(), causes=causes, section=10.0,
        clear_length=clear_length, **numbers,
    )


def _house(**numbers: float) -> House:
    return House({n: Span(v, v) for n, v in numbers.items()})


@lru_cache(maxsize=1)
def basket() -> tuple[Survey, ...]:
    """The surveys, each of one defect."""
    far = _house(distance=120.0, year_built=1960)
    outer = {"side": "outer", "inner_face": "sound"}
    leak = (CauseSeen("K09", "in_price"), CauseSeen("K02", "in_price"))
    return (
        make_survey(_wall("uv_grey", area=300.0)),
        make_survey(_wall("pocket_shallow", depth=0.25, length=8.0, width=3.0, moisture=14.0,
                          words={"activity": "old", **outer})),
        make_survey(_wall("pocket_deep", depth=2.0, length=6.0, width=4.0, words=outer), house=far),
        make_survey(_wall("pocket_deep", depth=1.5, length=20.0, width=4.0, words=outer)),
        make_survey(_wall(depth=3.0, length=96.0, width=9.0, height=14.0, words=outer, causes=leak), house=far),
        make_survey(_wall(depth=1.5, length=150.0, width=4.0, words={"profile": "square", **outer})),
        make_survey(_wall("through", length=60.0), level="opened"),
        make_survey(_wall("through", length=190.0, clear_length=200.0)),
        make_survey(_wall("through", length=190.0, clear_length=200.0, flags={"engineer_says_keep": True})),
        make_survey(_wall("check_up", length=60.0, check_width=0.5)),
        make_survey(_wall("core", depth=5.0, length=60.0)),
        make_survey(make_defect("sill_log", "through", section=12.0, length=120.0, joists=4.0, clear_length=20 * FT,
                                causes=(CauseSeen("K03", "in_price"),))),
        make_survey(make_defect("log_tail", "end_rot", count=3, from_end=8.0, tail=20.0, drip_line=4.0)),
        make_survey(make_defect("log_tail", "end_rot", from_end=15.0, tail=20.0, drip_line=16.0)),
        make_survey(make_defect("log_tail", "pocket_shallow", depth=0.5, length=6.0, flags={"holds_water": True})),
        make_survey(make_defect("notch", "notch_rot", section=12.0, depth=8.0)),
        make_survey(make_defect("post_porch", "foot_rot", count=2, section=8.0, depth=2.0, from_end=4.0, post_height=96.0)),
        make_survey(make_defect("post_porch", "foot_rot", section=8.0, depth=6.0, from_end=14.0, post_height=96.0)),
        make_survey(make_defect("post_porch", "through", section=8.0, length=60.0, from_end=70.0, post_height=96.0)),
        make_survey(make_defect("truss_bottom_chord", "joint_decay", section=10.0, depth=4.0, from_end=20.0, span=24.0,
                                opening_area=120.0, words={"roof_cover": "metal"})),
        make_survey(make_defect("truss_bottom_chord", "end_rot", section=10.0, depth=7.0, from_end=30.0, to_joint=60.0,
                                span=24.0)),
        make_survey(make_defect("truss_bottom_chord", "through", section=10.0, length=80.0, span=24.0,
                                flags={"bearing_failed": True}, words={"roof_cover": "metal"})),
        make_survey(make_defect("floor_joist", "pocket_deep", section=9.25, section_other=1.5, depth=5.0, span=12.0)),
        make_survey(make_defect("floor_joist", "pocket_deep", section=9.25, section_other=1.5, depth=3.0, length=24.0,
                                span=12.0)),
        make_survey(make_defect("rafter_tail", "end_rot", from_end=10.0, tail=24.0, count=4)),
        make_survey(make_defect("purlin", "through", section=10.0, length=60.0, span=16.0, opening_area=100.0,
                                causes=(CauseSeen("K10", "in_price"),))),
        make_survey(make_defect("girder", "pocket_deep", section=12.0, depth=1.5, length=20.0, width=4.0, span=12.0)),
        make_survey(make_defect("deck_ledger", "pocket_deep", depth=1.5, length=96.0, section=9.25)),
        make_survey(make_defect("deck_joist", "pocket_deep", section=9.25, depth=6.0, count=4, area=160.0)),
        make_survey(make_defect("deck", "through", area=160.0)),
        make_survey(make_defect("buck_window", "foot_rot", depth=2.5, from_end=14.0, width=6.0)),
        make_survey(make_defect("buck_window", "pocket_deep", depth=1.0, length=4.0, width=2.0, words={"finish": "paint"})),
        make_survey(make_defect("stringer", "foot_rot", depth=2.0, from_end=6.0, treads=8.0)),
        make_survey(make_defect("stair", "through", treads=8.0, flags={"tread_notch": True})),
        make_survey(make_defect("log_siding", "through", length=48.0)),
        make_survey(make_defect("roof_deck", "through", area=48.0, words={"roof_cover": "asphalt"})),
        make_survey(make_defect("chink_line", "seal_fail_adh", length=480.0)),
        make_survey(make_defect("caulk_line", "seal_fail_coh", length=480.0)),
        make_survey(_wall("ants", area=100.0)),
        make_survey(_wall("hung_up")),
        make_survey(_wall("pocket_deep", depth=2.0, length=6.0, width=4.0, words=outer), day=WINTER),
        make_survey(_wall("band", depth=3.0, length=60.0, words=outer, causes=(CauseSeen("K05", "in_price"),)), day=DAY),
    )


def looked_into(rates: RateBook) -> Iterator[tuple[int, Inquiry]]:
    """Every survey of the basket, looked into with this book: its number and the inquiry."""
    registry = all_methods()
    for k, survey in enumerate(basket()):
        for defect in survey.defects:
            group = groups_of(defect)[0]
            yield k, inquire(survey, defect, group, rates, knowledge(), registry, adjacent_courses=1)
