"""From the engine to the wire: an answer's values in the units that were asked for, money as decimal text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from math import isfinite
from typing import Any, TypeVar

from msgspec import UNSET

from service.engine import outcome
from service.web import answers
from service.web.decoding import pointer
from service.web.requests import SITE_FACTS
from service.web.units import Units

X = TypeVar("X")
Y = TypeVar("Y")

SIGN_OFF = ("none", "lead", "engineer_letter", "engineer_stamp")
NO_MONEY = "0.00"


def money(amount: Decimal) -> str:
    """Money as decimal text, never with an exponent, two decimals or more."""
    text = plain(amount)
    if text[-3:-2] == ".":
        return text
    whole, _, cents = text.partition(".")
    return f"{whole}.{cents:0<2}"


def plain(amount: Decimal) -> str:
    """A number as decimal text without an exponent."""
    text = str(amount)
    return f"{amount:f}" if "E" in text else text


def number(value: float, digits: int = 3) -> float:
    """A number of the answer.

    Raises:
        ValueError: where it is no finite number; JSON has none, and null would be a lie.
    """
    value = float(value)
    if not isfinite(value):
        raise ValueError(f"{value} in an answer")
    return round(value, digits)


class Presenter:
    """Writes one answer."""

    def __init__(self, answer: outcome.Answer, request: Any) -> None:
        """Bind the answer and the request it is for (pointers lead into the request)."""
        self._answer, self._request = answer, request
        self._units = Units(answer.units)

    def quote(self, engine: str, digest: str) -> answers.Quote:
        """The full view."""
        a = self._answer
        return answers.Quote(
            region=a.region, currency=a.currency, units=a.units, level=a.level, priced_on=a.priced_on, rates=a.rates,
            engine=engine, input_digest=digest, slips=[self._house_slip(s) for s in a.house_slips],
            defects=[self._defect(d) for d in a.defects], job=self._job(a.job),
            caution_texts={code: self._units.words(text) for code, text in a.caution_texts.items()},
        )

    # ---- slips -------------------------------------------------------------------------------------------------------

    def _house_slip(self, slip: outcome.Slip) -> answers.Slip:
        where = "site" if slip.path and slip.path[0] in SITE_FACTS else "building"
        return _slip(slip, pointer((where, *slip.path)))

    def slips(self, defect: outcome.DefectAnswer) -> list[answers.Slip]:
        """The slips of one defect, with pointers that lead into the request."""
        sent = self._request.defects[defect.index]
        return [_slip(s, pointer(("defects", defect.index, *_within(sent, s.path)))) for s in defect.slips]

    # ---- a defect ----------------------------------------------------------------------------------------------------

    def _defect(self, d: outcome.DefectAnswer) -> answers.DefectAnswer:
        slips = self.slips(d)
        groups = [self._group(f) for f in d.findings]
        one = groups[0] if len(groups) == 1 else None
        return answers.DefectAnswer(
            id=str(d.index + 1) if d.id is None else d.id, element=d.element, damage=d.damage, status=d.status,
            headline=_headline(d), pieces=sorted(p for f in d.findings for p in f.pieces), slips=slips,
            notes=[self._units.words(n) for n in d.notes], facts=one.facts if one else [],
            assessment=one.assessment if one else None,
            options=one.options if one else [], ruled_out=one.ruled_out if one else [],
            questions=one.questions if one else _asked(d), groups=[] if one else groups,
            causes=[self._cause(c) for c in d.causes], cautions=list(d.cautions),
            escalations=[answers.Escalation(e.code, e.send_to, e.before, e.text) for e in d.escalations],
        )

    def _group(self, f: outcome.Findings) -> answers.Group:
        return answers.Group(
            pieces=list(f.pieces), headline=f.headline, facts=[self._fact(x) for x in f.facts],
            assessment=self._assessment(f.assessment), options=[self._option(o) for o in f.options],
            ruled_out=[
                answers.RuledOut(r.method, r.title, r.gate, r.kind, self._units.words(r.why)) for r in f.ruled_out
            ],
            questions=[answers.Question(q.fact, q.ask, number(q.narrows), q.because) for q in f.questions],
        )

    def _fact(self, f: outcome.FactUsed) -> answers.Fact:
        value: answers.Quantity | answers.QuantityRange | str
        if isinstance(f.value, str):
            value = f.value
        elif f.value.low == f.value.high:
            value = self._units.quantity(f.value.low, f.value.unit)
        else:
            value = self._units.bracket(f.value)
        return answers.Fact(f.name, value, f.origin, self._units.words(f.why))

    def _assessment(self, a: outcome.Assessment) -> answers.Assessment:
        q = self._units.measure
        return answers.Assessment(
            urgency=a.urgency, urgency_words=a.urgency_words, depth_ratio=_maybe(number, a.depth_ratio),
            section=self._section(a.section) if a.section else None,
            checks=[
                answers.Check(c.name, q(c.stress), q(c.allowable), number(c.ratio), list(c.assumptions)) for c in a.checks
            ],
            moisture_words=a.moisture_words, equilibrium_moisture=q(a.equilibrium_moisture),
            fibre_saturation=q(a.fibre_saturation), hazard_index=number(a.hazard_index), hazard_zone=a.hazard_zone,
            hazard_words=a.hazard_words, suspects=[self._units.words(s) for s in a.suspects],
            spread_a_year=answers.Spread(q(a.spread_a_year[0]), q(a.spread_a_year[1])),
            waiting=[answers.Waiting(w.years, q(w.depth), q(w.length), w.method, money(w.whole)) for w in a.waiting],
            best_plan_ends_in_years=a.best_plan_ends_in_years, waiting_words=a.waiting_words,
        )

    def _section(self, s: outcome.Section) -> answers.Section:
        q = self._units.measure
        return answers.Section(
            q(s.area), q(s.second_moment), q(s.section_modulus), number(s.area_left), number(s.second_moment_left),
            number(s.section_modulus_left), number(s.strength_left), s.governed_by,
        )

    def _cause(self, c: outcome.CauseFound) -> answers.CauseAnswer:
        w = self._units.words
        return answers.CauseAnswer(
            c.code, c.title, number(c.likelihood), c.state, c.assumed, c.by, c.on, w(c.test), w(c.correction),
            _maybe(money, c.price), c.priced,
        )

    def _conditional(self, c: outcome.Conditional) -> answers.Conditional:
        return answers.Conditional(c.code, self._units.words(c.what), money(c.price), number(c.probability))

    # ---- a plan ------------------------------------------------------------------------------------------------------

    def _option(self, o: outcome.Option) -> answers.Option:
        return answers.Option(
            method=o.method, variant=o.variant, title=o.title, rank=o.rank, comparison_only=o.comparison_only,
            stop_gap=o.stop_gap, provisional=o.provisional, holds=number(o.holds), otherwise=o.otherwise,
            fork=self._fork(o.fork) if o.fork else None, package=_price(o.package), whole=_price(o.whole),
            parts=_parts(o.parts), lines=[_line(x) for x in o.lines],
            conditional=[self._conditional(c) for c in o.conditional],
            if_more=[answers.IfMore(u.what, u.unit, money(u.price)) for u in o.if_more],
            steps=[self._step(s) for s in o.steps], clocks=_clocks(o.clocks),
            delays=[answers.Delay(d.reason, number(d.days), d.until, d.text) for d in o.delays],
            wood=[self._wood(w) for w in o.wood], preservative=[self._preservative(p) for p in o.preservative],
            joints=[self._joint(j) for j in o.joints],
            life=answers.Life(
                [number(x) for x in o.life.corrected], [number(x) for x in o.life.not_corrected], o.life.used
            ),
            cost_a_year=answers.CostAYear(money(o.cost_a_year), money(o.cost_a_year_not_corrected)),
            life_cycle=_maybe(money, o.life_cycle),
            score=answers.Score(
                [answers.Term(t.code, t.what, money(t.amount)) for t in o.score.terms], money(o.score.total)
            ),
            sign_off=SIGN_OFF[o.sign_off], match=o.match, heritage=o.heritage,
            follow_up=[answers.FollowUp(f.on, f.what) for f in o.follow_up], price_good_until=o.price_good_until,
            warranty=o.warranty, waiver=o.waiver, cautions=list(o.cautions),
            notes=[self._units.words(n) for n in o.notes], why=o.why,
        )

    def _step(self, s: outcome.Step) -> answers.Step:
        return answers.Step(
            s.n, s.phase, s.method, self._units.words(s.text), list(s.crew), number(s.hours), list(s.after),
            number(s.starts_day), number(s.ends_day), s.critical, s.hold_point,
        )

    def _fork(self, f: outcome.Fork) -> answers.Fork:
        return answers.Fork(
            f.plan_a, f.plan_b, f.decides, _maybe(self._units.measure, f.threshold), number(f.probability_b),
            money(f.price_a), money(f.price_b), money(f.expected), f.open_up_first, f.text,
        )

    def _wood(self, w: outcome.WoodPiece) -> answers.WoodPiece:
        q = self._units.measure
        return answers.WoodPiece(
            w.piece, w.count, w.form, q(w.thickness), q(w.width), q(w.length), q(w.stock_length),
            self._units.volumes(w.volume), w.species, q(w.moisture_max), w.grain, number(w.waste), w.met_by,
            list(w.yard), number(w.ready_in_days), w.green_instead,
        )

    def _preservative(self, p: outcome.Preservative) -> answers.Preservative:
        return answers.Preservative(
            p.product, p.rods, self._units.measure(p.liquid), number(p.boric_acid_equivalent_g),
            number(p.retention_kg_m3), p.note,
        )

    def _joint(self, j: outcome.Joint) -> answers.Joint:
        q = self._units.measure
        return answers.Joint(j.where, q(j.length), q(j.gap), q(j.backer), q(j.bead_depth), q(j.movement), j.tubes)

    # ---- the job -----------------------------------------------------------------------------------------------------

    def _job(self, j: outcome.Job) -> answers.Job:
        return answers.Job(
            headline=self._units.words(j.headline), complete=j.complete, completeness=j.completeness,
            chosen=[answers.Chosen(index, list(methods)) for index, methods in j.chosen.items()], parts=_parts(j.parts),
            lines=[_line(x) for x in j.lines],
            shared=[
                answers.SharedCost(s.what, s.basis, money(s.together), money(s.alone), list(s.defects)) for s in j.shared
            ],
            order=[
                answers.JobStep(
                    s.n, s.phase, s.method, list(s.defects), self._units.words(s.text), number(s.starts_day), number(s.ends_day),
                    list(s.after),
                )
                for s in j.order
            ],
            total=money(j.total.as_described), range=_range(j.total.range), stand_alone_sum=money(j.stand_alone_sum),
            clocks=_maybe(_clocks, j.clocks), while_access_stands=list(j.while_access_stands),
            wood_volume=self._units.volumes(j.wood_volume), wood_notes=list(j.wood_notes), cautions=list(j.cautions),
            conditional=[self._conditional(c) for c in j.conditional],
        )


# ---- pieces that need no units -----------------------------------------------------------------------------------------


def _maybe(write: Callable[[X], Y], value: X | None) -> Y | None:
    return None if value is None else write(value)


def _within(sent: Any, path: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """The path as far as the request has it: a single value for all pieces has no numbered entries."""
    if len(path) > 1 and isinstance(path[1], int):
        said = getattr(sent, str(path[0]), UNSET)
        if not isinstance(said, list) or path[1] >= len(said):
            return path[:1]
    return path


def _slip(s: outcome.Slip, where: str) -> answers.Slip:
    return answers.Slip(where, s.value, s.wrong, s.right, s.code, s.fatal)


def _headline(d: outcome.DefectAnswer) -> str:
    """The answer in a sentence; of a rejected defect what stands in the way."""
    if d.findings:
        if len(d.findings) == 1:
            return d.findings[0].headline
        alike: dict[str, list[int]] = {}
        for f in d.findings:
            alike.setdefault(f.headline, []).extend(f.pieces)
        if len(alike) == 1:
            return next(iter(alike))
        told = "; ".join(f"{_pieces(tuple(sorted(pieces)))}: {said}" for said, pieces in alike.items())
        return told[:1].upper() + told[1:]
    first = next((s for s in d.slips if s.fatal), None)
    return f"Not priced: {first.path[0]}: {first.wrong}. {first.right}" if first else "Not priced."


def _pieces(pieces: tuple[int, ...]) -> str:
    """Pieces by number, as people name them."""
    return f"{'piece' if len(pieces) == 1 else 'pieces'} {', '.join(map(str, pieces))}"


def _asked(d: outcome.DefectAnswer) -> list[answers.Question]:
    """What a rejected defect has to be asked before anything can be said."""
    return [
        answers.Question(str(s.path[0]), s.right, 1.0, f"Without it there is no price: {s.wrong}.")
        for s in d.slips
        if s.fatal and not d.findings
    ][:3]


def _range(r: outcome.Range | None) -> answers.PriceRange | None:
    return None if r is None else answers.PriceRange(money(r.p10), money(r.p50), money(r.p90))


def _price(p: outcome.Price) -> answers.Price:
    return answers.Price(money(p.as_described), _range(p.range))


def _parts(parts: Mapping[str, Decimal]) -> answers.Parts:
    unknown = parts.keys() - set(answers.Parts.__struct_fields__)
    if unknown:
        raise ValueError(f"parts of a price that the contract does not know: {', '.join(sorted(unknown))}")
    return answers.Parts(**{n: money(parts[n]) if n in parts else NO_MONEY for n in answers.Parts.__struct_fields__})


def _line(x: outcome.PriceLine) -> answers.Line:
    return answers.Line(
        part=x.part, step=x.step, resource=x.resource, what=x.what,
        quantity=answers.Quantity(float(x.quantity), x.unit), rate=money(x.rate), markup=plain(x.markup),
        amount=money(x.amount), from_region=x.region, norm=x.norm,
    )


def _clocks(c: outcome.Clocks) -> answers.Clocks:
    return answers.Clocks(
        number(c.days_from_today), number(c.lead_days), number(c.crew_days), number(c.calendar_days),
        number(c.room_out_days), number(c.roof_open_days), number(c.load_restricted_days),
        [number(x) for x in c.calendar_range], c.earliest_start, c.finish,
    )
