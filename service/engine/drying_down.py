"""How long the wood that stays takes to come down to where it can be closed up."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from service.engine.array import Number, maximum, minimum
from service.engine.case import Case
from service.engine.rates import RateBook
from service.engine.science.drying import slab_fourier_number, transverse_diffusivity_m2_s
from service.engine.season import outdoor_equilibrium_pct

SECONDS_A_DAY = 86_400.0


@lru_cache(maxsize=64)
def _fourier_table() -> tuple[np.ndarray, np.ndarray]:
    """Fourier number of a slab by the share of moisture lost, worked out once."""
    shares = np.linspace(0.0, 0.98, 99)
    return shares, np.array([slab_fourier_number(float(s)) if s else 0.0 for s in shares])


def days_to_dry(case: Case, moisture_pct: Number, limit_pct: float) -> Number:
    """Days until wood dries to a limit, by diffusion through the wet layer behind the cut; 0 where it is dry enough.

    t = Fo a2 / D with the layer of `dry.layer` [in] drying from its face (Crank, The Mathematics of Diffusion; Siau's
    transverse diffusivity). An order of magnitude: x0.5 to x3 (R28).

    Args:
        case: for the climate and the temperature.
        moisture_pct: moisture of the wood that stays [%].
        limit_pct: moisture at which it may be closed up [%].

    Returns:
        Calendar days.
    """
    book = case.book
    dry = minimum_limit(book, limit_pct)
    layer_m = book.likely("waits", "dry.layer") * 0.0254
    work_degf = book.likely("waits", "dry.temperature")
    loss = (moisture_pct - limit_pct) / maximum(moisture_pct - dry, 1.0)
    share = minimum(maximum(loss, 0.0), 0.98)
    mean_pct = (maximum(moisture_pct, limit_pct) + limit_pct) / 2.0
    speed = transverse_diffusivity_m2_s(minimum(mean_pct, 28.0), (work_degf - 32.0) / 1.8, porosity_of(case))
    shares, table = _fourier_table()
    if isinstance(share, np.ndarray):
        fourier: Number = np.interp(share, shares, table)
    else:
        fourier = float(np.interp(share, shares, table)) if share else 0.0
    return fourier * layer_m**2 / speed / SECONDS_A_DAY


def minimum_limit(book: RateBook, limit_pct: float) -> float:
    """Moisture that the open recess tends to [%]: that of the climate, below the limit by at least 2 points (J)."""
    return min(outdoor_equilibrium_pct(book), limit_pct - 2.0)


def porosity_of(case: Case) -> float:
    """Share of the wood that is hollow, from its specific gravity (cell walls weigh 1.54 of water; Wood Handbook ch. 4)."""
    return 1.0 - case.species.specific_gravity / 1.54
