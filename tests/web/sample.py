"""An answer of the engine made by hand: every shape is there once, every number is easy to recognise."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from service.engine.outcome import (
    Answer,
    Assessment,
    Bracket,
    CauseFound,
    Check,
    Clocks,
    Conditional,
    DefectAnswer,
    Delay,
    Escalation,
    FactUsed,
    Findings,
    FollowUp,
    Fork,
    Job,
    JobStep,
    Joint,
    Life,
    Measure,
    Option,
    Preservative,
    Price,
    PriceLine,
    Question,
    Range,
    RuledOut,
    Score,
    Section,
    SharedCost,
    Slip,
    Step,
    Term,
    Unit,
    Waiting,
    WoodPiece,
)

DAY = date(2026, 5, 4)


def inches(value: float) -> Measure:
    """A length of the engine."""
    return Measure(value, "in")


PRICE = Price(Decimal("2312.00"), Range(Decimal("1740.00"), Decimal("2490.00"), Decimal("3110.00")))
CLOCKS = Clocks(20.0, 14.0, 1.25, 4.0, 0.0, 0.0, 0.0, (3.0, 7.0), date(2026, 5, 18), date(2026, 5, 22))
LINE = PriceLine(
    "package", 1, "carpenter", "carpenter", Decimal("8.4"), "h", Decimal(78), Decimal(0), Decimal("655.20"), "base",
    "face_veneer.per_ft",
)


def option(rank: int, method: str) -> Option:
    """A plan."""
    return Option(
        method=method, variant="", title=method.replace("_", " "), rank=rank, comparison_only=False, stop_gap=False,
        provisional=True, holds=0.82, otherwise="log_partial",
        fork=Fork(method, "log_partial", "depth", inches(5.5), 0.18, Decimal("2312.00"), Decimal("7200.00"),
                  Decimal("3191.84"), open_up_first=False, text="If it is deeper than half, it becomes a new part."),
        package=PRICE, whole=PRICE, parts={"package": Decimal("2312.00"), "shared": Decimal(0)}, lines=(LINE,),
        conditional=(Conditional("lead", "lead containment", Decimal("900.00"), 0.3),),
        if_more=(Unit("ft of facing", "ft", Decimal("205.00")),),
        steps=(Step(1, "main", method, "Cut back to sound wood.", ("lead", "carpenter"), 8.4, (), 14.0, 15.0,
                    critical=True, hold_point=True),),
        clocks=CLOCKS, delays=(Delay("wood", 14.0, date(2026, 5, 18), "Dry wood has to come first."),),
        wood=(WoodPiece("facing slab", 1, "slab", inches(4.0), inches(10.0), inches(96.0), inches(108.0),
                        (Measure(24.0, "bd ft"), Measure(2.0, "ft3")), "lodgepole_pine", Measure(16.0, "%"), "any", 0.1,
                        "supply", (), 14.0, "A gap of 0.3 in within a year."),),
        preservative=(Preservative("borate rod", 6, Measure(0.5, "gal"), 90.0, 4.0, "The label governs."),),
        joints=(Joint("top of the slab", inches(96.0), inches(0.375), inches(0.5), inches(0.25), inches(0.1), 2),),
        life=Life((20.0, 30.0, 45.0), (5.0, 8.0, 15.0), "corrected"), cost_a_year=Decimal("118.00"),
        cost_a_year_not_corrected=Decimal("330.00"), life_cycle=Decimal("2900.00"),
        score=Score((Term("cost", "price over life", Decimal("77.07")),), Decimal("77.07")), sign_off=1, match=4,
        heritage="B", follow_up=(FollowUp(date(2027, 5, 4), "moisture"),), price_good_until=date(2026, 6, 3),
        warranty=True, waiver=None, cautions=("dust",), notes=("Sweep up.",), why="It lasts longest for the money.",
    )


def findings(pieces: tuple[int, ...] = (1,), plans: int = 4) -> Findings:
    """What alike pieces are answered."""
    return Findings(
        pieces=pieces, headline="A new face, about $2,310.",
        facts=(
            FactUsed("depth", Bracket(2.0, 3.0, 5.0, "in"), "assumed", "usual under a window"),
            FactUsed("length", Bracket(96.0, 96.0, 96.0, "in"), "stated", "as stated"),
            FactUsed("side", "outer", "assumed", "most are"),
        ),
        assessment=Assessment(
            urgency="U2", urgency_words="This season.", depth_ratio=0.27,
            section=Section(Measure(70.0, "in2"), Measure(400.0, "in4"), Measure(80.0, "in3"), 0.8, 0.6, 0.55, 0.55,
                            "section modulus at the far face"),
            checks=(Check("bending", Measure(500.0, "psi"), Measure(1000.0, "psi"), 0.5, ("grade assumed",)),),
            moisture_words="Not measured.", equilibrium_moisture=Measure(12.0, "%"),
            fibre_saturation=Measure(28.0, "%"), hazard_index=55.0, hazard_zone="moderate", hazard_words="Wet sill.",
            suspects=("log below",), spread_a_year=(inches(0.25), inches(4.0)),
            waiting=(Waiting(3, inches(4.0), inches(110.0), "log_partial", Decimal("7200.00")),),
            best_plan_ends_in_years=3, waiting_words="In three years it is another repair.",
        ),
        options=tuple(option(n + 1, f"plan_{n + 1}") for n in range(plans)),
        ruled_out=(RuledOut("epoxy_fill", "epoxy filling", "G04", "cannot", "It is too large to fill."),),
        questions=(Question("depth", "How far in does a screwdriver go?", 0.61, "it can change which plan is first"),),
    )


def priced(index: int, *groups: Findings, own_id: str | None = None) -> DefectAnswer:
    """A priced defect."""
    return DefectAnswer(
        index=index, id=own_id, element="under_window", damage="soft_wood", status="priced", slips=(), notes=(),
        findings=groups or (findings(),),
        causes=(CauseFound("K09", "leaking sill", 0.6, "in_price", assumed=True, by=None, on=None, test="Hose test.",
                           correction="New flashing.", price=Decimal("220.00"), priced="in the plan"),),
        cautions=("dust",), escalations=(Escalation("engineer", "an engineer", "work starts", "A bearing is involved."),),
    )


def rejected(index: int, *slips: Slip) -> DefectAnswer:
    """A rejected defect."""
    return DefectAnswer(
        index=index, id=None, element="wall_low", damage="band", status="rejected", slips=slips, notes=(), findings=(),
        causes=(), cautions=(), escalations=(),
    )


def answer(*defects: DefectAnswer, units: str = "imperial", region: str = "kestrel-range", day: date = DAY) -> Answer:
    """A whole answer."""
    total = Price(Decimal("2312.00"), PRICE.range)
    return Answer(
        region=region, currency="USD", units=units, level="told", priced_on=day, rates=f"base@1/{region}@1",
        house_slips=(), defects=defects,
        job=Job(
            headline="One defect: about $2,312.", complete=True, completeness="All defects are priced.", chosen={0: ("plan_1",)},
            parts={"package": Decimal("2312.00")}, lines=(LINE,),
            shared=(SharedCost("travel", "one visit", Decimal("80.00"), Decimal("160.00"), (0,)),), total=total,
            stand_alone_sum=Decimal("2392.00"), clocks=CLOCKS,
            order=(JobStep(1, "main", "plan_1", (0,), "New face.", 14.0, 18.0, ()),),
            while_access_stands=("Look at the gutter.",), wood_volume=(Measure(24.0, "bd ft"), Measure(2.0, "ft3")),
            wood_notes=(), cautions=("dust",), conditional=(),
        ),
        caution_texts={"dust": "Wear a mask."},
    )
