"""Causes of moisture: ranked from the evidence, with their state, and what their correction takes (B4, R17).

Water is stopped first, then the place dries, then it is closed (G23, B9). A correction that is part of the main method
is not charged twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from service.engine.array import Number, maximum, where
from service.engine.case import Case
from service.engine.cause_evidence import seen_in, weight_of
from service.engine.knowledge import Cause, Knowledge
from service.engine.method import Method
from service.engine.methods.corrections import GONE, TREATMENTS, insect, run_ft
from service.engine.outcome import CauseFound, Conditional
from service.engine.pricing import price_line
from service.engine.rates import RateBook
from service.engine.schedule import LeadTime
from service.engine.work import Wait, Work

REPORTED, SUSPECTED = 10.0, 5.0
"""Weight of a cause that somebody saw, or thinks of, beside the evidence (J)."""
NOTHING_TO_CORRECT = "K21"
PECKED = "woodpecker"
"""Damage that speaks for insects inside the wood (B3: woodpecker = insects inside)."""
ORDER = (
    "insects", "K10", "K11", "K01", "K18", "K02", "K14", "K20", "K12", "K09", "K04", "K03", "K15", "K05", "K17", "K16",
    "K19", "K07", "K08", "K06", "K13",
)
"""Order of corrections: pests, roof, gutter, pipes, openings, ground, deck, feet, tops, joints, finish (B9, G23)."""
COVERED: Mapping[str, frozenset[str]] = {
    "K01": frozenset(("end_trim_cap", "end_splice", "tail_renew", "cap_slope")),
    "K05": frozenset(("deck_gap", "ledger_rebuild", "deck_replace")),
    "K06": frozenset(("check_seal",)),
    "K07": frozenset(("cap_slope", "end_trim_cap", "tail_renew", "sister", "deck_replace", "stair_replace")),
    "K08": frozenset(("recaulk", "rechink")),
    "K09": frozenset(("buck_trim", "flashing")),
    "K13": frozenset(("wall_refinish", "spot_refinish")),
    "K16": frozenset(("sill_needle", "sill_to_masonry")),
    "K17": frozenset((
        "post_epoxy_foot", "post_pedestal", "post_foot_splice", "post_replace", "stringer_foot", "stair_replace",
    )),
}
"""Main methods that hold the correction of a cause in their own steps (B4, B6)."""
WORDS_ONLY = frozenset(("K13", "K16", "K17", "K19", NOTHING_TO_CORRECT))
"""Causes whose correction is part of a repair or of the finish: nothing is bought for them alone."""
LEADS = {
    "K10": "lead.roofer", "K11": "lead.roofer", "K18": "lead.roofer", "K14": "lead.plumber", "insects": "lead.insect",
}
"""Rows of waits until whoever corrects it can come."""
BOUGHT = "Whoever is bought for it has done it"
"""Said of the days of a correction that is bought as a whole."""
INSECTS = Cause(
    code="insects", title="live insects", tell_tale="fresh dust, rebuilt tubes, noise, swarms",
    test="clear the dust away and break a tube; look again in a week",
    correction_words="treated by a licensed firm where the law asks for one, before any wood is closed in",
    correction="insect_treat", price_line="", unit_fact="one", evidence={}, source="common practice, no source",
)
"""Live insects, which are treated like a cause: before the wood, and beside the repair (M40, B9)."""


@dataclass(frozen=True, slots=True)
class CauseWork:
    """A cause for one group.

    Attributes:
        state: in_price, by_others, declined or corrected where it was reported; suspected where nobody did.
        reported: whether somebody named it. assumed: whether it stands in the price because nobody said otherwise.
        weight, likelihood: evidence, and its share of all evidence.
    """

    cause: Cause
    state: str
    by: str | None = None
    on: date | None = None
    reported: bool = True
    assumed: bool = False
    weight: float = 0.0
    likelihood: float = 0.0


def causes_of(case: Case, knowledge: Knowledge) -> tuple[CauseWork, ...]:
    """Causes that anything speaks for, the likeliest first."""
    seen = seen_in(case)
    reported = {c.code: c for c in case.causes}
    found = []
    for code, cause in knowledge.causes.items():
        weight, said = weight_of(cause, seen), reported.get(code)
        if said is not None:
            open_still = said.state in ("open", "suspected")
            weight += SUSPECTED if said.state == "suspected" else REPORTED
            state = "in_price" if open_still else said.state
            found.append(CauseWork(cause, state, said.by, said.on, assumed=open_still, weight=weight))
        elif weight > 0.0:
            found.append(CauseWork(cause, "suspected", reported=False, weight=weight))
    if insects_live(case):
        found.append(CauseWork(INSECTS, "in_price", assumed=True, weight=REPORTED))
    elif case.damage.code == PECKED and not case.word("insects"):
        found.append(CauseWork(INSECTS, "suspected", reported=False, weight=SUSPECTED))
    total = sum(one.weight for one in found)
    ranked = sorted(found, key=lambda one: (-one.weight, one.cause.code))
    return tuple(replace(one, likelihood=round(one.weight / total, 4)) for one in ranked)


def insects_live(case: Case) -> bool:
    """Whether live insects were seen: named, or as the damage, and not said to be gone (unknown counts as live)."""
    kind = insect(case)
    named = case.word("insects") not in ("", "none", "unknown")
    return (named or case.damage.kind == "insect") and kind in TREATMENTS and kind not in GONE and bool(case.live)


def to_price(causes: Sequence[CauseWork]) -> tuple[CauseWork, ...]:
    """Those whose correction stands in our price, water first."""
    ours = [c for c in causes if c.reported and c.state == "in_price" and c.cause.code != NOTHING_TO_CORRECT]
    return tuple(sorted(ours, key=lambda c: ORDER.index(c.cause.code)))


def declined(causes: Sequence[CauseWork]) -> bool:
    """Whether a cause stays open at the owner's wish."""
    return bool(declined_titles(causes))


def declined_titles(causes: Sequence[CauseWork]) -> tuple[str, ...]:
    """Titles of the causes that stay open."""
    return tuple(c.cause.title for c in causes if c.state == "declined")


def waits(causes: Sequence[CauseWork], day: date) -> list[LeadTime]:
    """Days until others have corrected what they took on; nothing is closed over it before (G23)."""
    return [
        LeadTime(
            c.cause.code, f"Wait until the cause is put right by {c.by or 'others'}: {c.cause.title}",
            float((c.on - day).days),
        )
        for c in causes
        if c.state == "by_others" and c.on is not None and c.on > day
    ]


def correction_leads(causes: Sequence[CauseWork], main: str = "") -> tuple[str, ...]:
    """Rows of waits until whoever makes the corrections in our price can come."""
    rows = [LEADS[c.cause.code] for c in to_price(causes) if c.cause.code in LEADS and not _in_main(c.cause, main)]
    return tuple(dict.fromkeys(rows))


# ---- work --------------------------------------------------------------------------------------------------------


def put_corrections(
    work: Work, causes: Sequence[CauseWork], knowledge: Knowledge, registry: Mapping[str, Method], main: str = ""
) -> None:
    """Dictate the corrections in our price into a scope, water first, each a stage of its own.

    Args:
        work: takes them down, in the part "correction".
        causes: of the group.
        knowledge: for the words of the corrections.
        registry: methods, for corrections that are priced by their own scope.
        main: main method of the plan, which may hold a correction already.
    """
    before, work.part = work.part, "correction"
    ours = to_price(causes)
    codes = {one.cause.code for one in ours}
    for one in ours:
        with_ground = one.cause.code == "K03" and "K04" in codes
        if not with_ground and not _in_main(one.cause, main):
            _put(work, one.cause, registry, knowledge)
    work.part = before


def _in_main(cause: Cause, main: str) -> bool:
    return bool(main) and (cause.correction == main or main in COVERED.get(cause.code, ()))


def _put(work: Work, cause: Cause, registry: Mapping[str, Method], knowledge: Knowledge) -> None:
    if words_only(work.case, cause):
        work.note(f"{_sentence(cause.title)}: {cause.correction_words}; that goes with the repair or the next one.")
    elif cause.price_line:
        record = knowledge.methods.get(cause.correction)
        work.stage(cause.correction or cause.code.lower(), (), phase="correction")
        work.task(f"{_sentence(record.title if record else cause.title)}: {cause.correction_words}", 1.0)
        work.buy(cause.price_line, quantity_of(work.case, cause), once=cause.unit_fact != "opening")
        work.wait("trade", BOUGHT, days_of(work.case, cause))
        if cause.code in LEADS:
            work.lead(LEADS[cause.code])
    else:
        first = len(work.stages)
        method = registry[_method_of(work.case, cause)]
        method.scope(_as_correction(work.case, cause), work)
        for stage in work.stages[first:]:
            # The wood dries once, before the repair; the correction does not wait for it as well.
            stage.phase, stage.return_visit = "correction", False
            stage.parts = [p for p in stage.parts if not (isinstance(p, Wait) and p.kind == "drying")]


def days_of(case: Case, cause: Cause) -> Number:
    """Days that a correction takes which is bought as a whole: whoever makes it works, the crew does not."""
    days = case.book.likely("waits", f"correct.{cause.code.lower()}")
    return days * maximum(case.openings, 1.0) * case.count if cause.unit_fact == "opening" else days


def words_only(case: Case, cause: Cause) -> bool:
    """Whether nothing is bought for the correction alone; a tail in the rain is trimmed, no roof grows for it."""
    return cause.code in WORDS_ONLY or (cause.code == "K01" and case.element.family == "tail")


def _method_of(case: Case, cause: Cause) -> str:
    """The correction's method; an open joint of a chinked wall is chinked."""
    chinked = case.word("wall_system") == "chinked" or case.element.code == "chink_line"
    return "rechink" if cause.correction == "recaulk" and chinked else cause.correction


def _as_correction(case: Case, cause: Cause) -> Case:
    """The case as the correction sees it: a joint is as wide as joints are, not as the rot."""
    if cause.correction != "recaulk":
        return case
    row = "cause.chink_width" if _method_of(case, cause) == "rechink" else "cause.joint_gap"
    return case.but(width_in=case.book.likely("norms", row))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def quantity_of(case: Case, cause: Cause) -> Number:
    """How many units of its price a correction takes for this defect."""

    def norm(row: str) -> float:
        return case.book.likely("norms", row)

    by_unit: dict[str, Callable[[], Number]] = {
        "ft_of_wall": lambda: _wall_ft(case, "gutter" if cause.code == "K02" else "grade_veg"),
        "opening": lambda: maximum(case.openings, 1.0),
        "ft2_of_roof": lambda: run_ft(case, "gutter") * norm("cause.roof_strip"),
        "ft2_of_crawl": lambda: norm("cause.crawl"),
    }
    return by_unit[cause.unit_fact]() if cause.unit_fact in by_unit else 1.0


def _wall_ft(case: Case, what: str) -> Number:
    """Stretch of wall: what was damaged and some more; along a sill the whole log, as the soil lies along it."""
    stretch = run_ft(case, what)
    if case.element.family != "sill" or "clear_length" not in case.known:
        return stretch
    return where(case.clear_length_in / 12.0 > stretch, case.clear_length_in / 12.0, stretch)


# ---- what is said ------------------------------------------------------------------------------------------------


def price_of(case: Case, cause: Cause, book: RateBook) -> Decimal | None:
    """Price of a correction bought by its own line, at likely rates; None where it has no line."""
    if not cause.price_line or words_only(case, cause):
        return None
    trial = Work(case, 1.0)
    trial.buy(cause.price_line, quantity_of(case, cause), once=cause.unit_fact != "opening")
    line = price_line(trial.charges[0], book, None)
    return line.amount if line else None


def found(causes: Sequence[CauseWork], book: RateBook, case: Case) -> tuple[CauseFound, ...]:
    """Causes as they are said, each with its test, its correction, its price and its state."""
    return tuple(
        CauseFound(
            code=c.cause.code, title=c.cause.title, likelihood=c.likelihood, state=c.state, assumed=c.assumed, by=c.by,
            on=c.on, test=c.cause.test, correction=c.cause.correction_words, price=price_of(case, c.cause, book),
            priced=_priced(c, case),
        )
        for c in causes
    )


def _priced(one: CauseWork, case: Case) -> str:
    if one.cause.code == NOTHING_TO_CORRECT:
        return "nothing to correct"
    match one.state:
        case "in_price":
            if words_only(case, one.cause):
                return "part of the repair or of the finish"
            return "in the price, on lines of its own, where the main method does not hold it already"
        case "by_others":
            return "by others, not in the price"
        case "declined":
            return "declined, not in the price: shorter life, no warranty"
        case "corrected":
            return "corrected already"
        case _ if words_only(case, one.cause):
            return "to be looked for; where it is the cause, it goes with the repair or the finish"
        case _:
            return "not in the price; to be looked for"


def most_likely_unreported(causes: Sequence[CauseWork], case: Case) -> Conditional | None:
    """The likeliest cause that nobody reported, priced outside the sum (R17).

    None where somebody named the cause, where no wood is lost, or where the likeliest takes no correction of its own.
    """
    if not case.rotten or any(c.reported and c.cause.code != INSECTS.code for c in causes):
        return None
    open_ones = [c for c in causes if not c.reported and c.cause.code != INSECTS.code]
    if not open_ones:
        return None
    cause = open_ones[0].cause
    price = price_of(case, cause, case.book)
    if price is None or price <= 0:
        return None
    chance = case.book.likely("terms", "probability.cause")
    what = f"If the cause is this: {cause.title}. {_sentence(cause.correction_words)}"
    return Conditional(cause.code, what, price, chance)
