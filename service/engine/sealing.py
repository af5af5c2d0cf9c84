"""Sizes of sealant joints and doses of preservative, from what a method asked for."""

from __future__ import annotations

import math

from service.engine.outcome import Joint, Measure, Preservative
from service.engine.science.borate import ANHYDROUS_OCTABORATE_TO_BORIC_ACID, boric_acid_equivalent_g
from service.engine.science.joints import backer_rod_in, bead_depth_in, sealant_feet_per_unit
from service.engine.science.movement import shrink_gap_in
from service.engine.work import Work


def joints_of(work: Work) -> tuple[Joint, ...]:
    """Joints of a plan, sized: backer rod, bead, movement and tubes."""
    book = work.case.book
    found = []
    for need in work.joints:
        gap, feet = float(need.gap_in), float(need.length_in) / 12.0 * work.case.count
        depth = float(bead_depth_in(gap))
        tube_in3 = book.likely("norms", f"unit.{need.material}_in3")
        run = float(sealant_feet_per_unit(tube_in3, gap, depth))
        change = book.likely("climate", "moisture_swing")
        movement = float(shrink_gap_in(float(work.case.section_in), change, 0.0))
        found.append(
            Joint(
                where=need.where, length=Measure(feet, "ft"), gap=Measure(gap, "in"),
                backer=Measure(float(backer_rod_in(gap)), "in"), bead_depth=Measure(depth, "in"),
                movement=Measure(movement, "in"), tubes=max(math.ceil(feet / run - 1e-9), 1),
            )
        )
    return tuple(found)


def doses_of(work: Work) -> tuple[Preservative, ...]:
    """Borate that goes in, and what it comes to in the wood that it protects."""
    book = work.case.book
    if not work.doses:
        return ()
    rods = sum(float(d.rods) for d in work.doses) * work.case.count
    surface = sum(float(d.surface_ft2) for d in work.doses) * work.case.count
    wood_ft3 = sum(float(d.wood_ft3) for d in work.doses) * work.case.count
    gallons = surface * book.likely("norms", "borate.concentrate_per_ft2")
    rod_g = book.likely("norms", "borate.rod_grams")
    acid_g = float(boric_acid_equivalent_g(rods * rod_g, ANHYDROUS_OCTABORATE_TO_BORIC_ACID))
    wood_m3 = wood_ft3 * 0.0283168466
    return (
        Preservative(
            product="borate rod and liquid", rods=round(rods), liquid=Measure(gallons, "gal"),
            boric_acid_equivalent_g=round(acid_g, 1),
            retention_kg_m3=round(acid_g / 1000.0 / wood_m3, 2) if wood_m3 > 0.0 else 0.0,
            note=(
                "Spread evenly this would be the retention shown; in the wood it is not even. Rods move only in wet wood. "
                "Where this and the label differ, the label governs."
            ),
        ),
    )
