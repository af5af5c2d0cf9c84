"""Borate doses: what a compound is worth, how much a volume of wood wants, how many rods that is.

A mass balance over-estimates: boron does not spread evenly, moves only in wood above about 25 to 30 % moisture, and
protects only where it arrives. Where a dose exceeds the product's label, the label governs.

Source: molar masses by IUPAC atomic weights (from memory); stoichiometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.engine.array import Number, ceil

KG_M3_A_LB_FT3 = 16.018463
"""Conversion [kg/m3 per lb/ft3]."""

WOOD_FT3_A_ROD = 0.25
"""At-risk wood that one rod of 1/2 x 3 in serves [ft3] (E5; common practice, no source)."""

_CM_AN_INCH = 2.54


@dataclass(frozen=True, slots=True)
class BoronCompound:
    """A boron compound.

    Attributes:
        formula: sum formula.
        molar_mass_g: molar mass [g/mol].
        boron_atoms: boron atoms in the formula [1].
    """

    formula: str
    molar_mass_g: float
    boron_atoms: int


BORON = BoronCompound("B", 10.811, 1)
"""Boron itself."""
BORIC_ACID = BoronCompound("H3BO3", 61.833, 1)
"""Boric acid, in which thresholds are stated (boric acid equivalent)."""
BORIC_OXIDE = BoronCompound("B2O3", 69.620, 2)
"""Boric oxide, in which retentions are stated in the United States."""
OCTABORATE = BoronCompound("Na2B8O13.4H2O", 412.521, 8)
"""Disodium octaborate tetrahydrate, the powder and liquid of the trade."""
ANHYDROUS_OCTABORATE = BoronCompound("Na2B8O13", 340.460, 8)
"""Anhydrous disodium octaborate: what fused rods are close to (from memory)."""
BORAX = BoronCompound("Na2B4O7.10H2O", 381.372, 4)
"""Borax decahydrate."""


def conversion_factor(source: BoronCompound, target: BoronCompound) -> float:
    """Return the mass of one compound that holds as much boron as one unit of mass of another [1].

    Args:
        source: compound that is known.
        target: compound asked for.

    Source: stoichiometry.
    """
    return (source.boron_atoms / source.molar_mass_g) * (target.molar_mass_g / target.boron_atoms)


ANHYDROUS_OCTABORATE_TO_BORIC_ACID = conversion_factor(ANHYDROUS_OCTABORATE, BORIC_ACID)
"""Boric acid equivalent of fused rods [1]; the tetrahydrate's factor would be a fifth too low."""


def boric_acid_equivalent_g(product_g: Number, factor: float = ANHYDROUS_OCTABORATE_TO_BORIC_ACID) -> Number:
    """Return the boric acid that holds as much boron as a mass of product [g].

    Args:
        product_g: mass of product [g].
        factor: boric acid per unit of product, by `conversion_factor` [1].

    Source: stoichiometry.
    """
    return product_g * factor


def retention_kg_m3(retention_lb_ft3: Number) -> Number:
    """Return a retention in metric units [kg/m3].

    Args:
        retention_lb_ft3: retention [lb/ft3].
    """
    return retention_lb_ft3 * KG_M3_A_LB_FT3


def dose_kg(
    wood_m3: Number, target_kg_m3: Number, product: BoronCompound = ANHYDROUS_OCTABORATE, efficiency: float = 1.0
) -> Number:
    """Return the mass of product that brings wood to a mean loading [kg].

    Args:
        wood_m3: volume of wood to be protected [m3].
        target_kg_m3: loading as boric acid equivalent [kg/m3].
        product: what is put in; fused rods are anhydrous octaborate, not the tetrahydrate.
        efficiency: share of the product that ends up in that wood, above 0 [1].

    Source: mass balance.
    """
    return wood_m3 * target_kg_m3 / (conversion_factor(product, BORIC_ACID) * efficiency)


def rod_mass_kg(diameter_in: Number, length_in: Number, density_g_cm3: float) -> Number:
    """Return the mass of one rod [kg].

    Args:
        diameter_in: diameter [in].
        length_in: length [in].
        density_g_cm3: density of the rod [g/cm3].

    Source: geometry.
    """
    radius_cm = diameter_in * _CM_AN_INCH / 2.0
    return math.pi * radius_cm * radius_cm * length_in * _CM_AN_INCH * density_g_cm3 / 1000.0


def rods_for_dose(mass_kg: Number, one_rod_kg: Number) -> Number:
    """Return the number of whole rods that hold a dose [1].

    Args:
        mass_kg: dose [kg].
        one_rod_kg: mass of one rod [kg].

    Source: mass balance.
    """
    return ceil(mass_kg / one_rod_kg)


def rods_for_volume(wood_ft3: Number) -> Number:
    """Return the number of 1/2 x 3 in rods by the rule of thumb, as a cross-check [1].

    Args:
        wood_ft3: at-risk wood [ft3].

    Source: E5, common practice, no source.
    """
    return ceil(wood_ft3 / WOOD_FT3_A_ROD)
