"""Smooth splines over the tables of one refrigerant."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline, RectBivariateSpline

from diagnostics.engine.errors import FloatArray
from diagnostics.engine.refrigerants.tables import SaturationLine, VapourGrid


def spline(x: FloatArray, y: FloatArray) -> CubicSpline:
    """Return the cubic spline of y over x, whichever way x runs; NaN outside."""
    order = np.argsort(x)
    return CubicSpline(x[order], y[order], extrapolate=False)


class LineSplines:
    """Along bubble or dew: ln p over 1/T and back, enthalpy over T."""

    def __init__(self, line: SaturationLine) -> None:
        inverse, log = 1.0 / line.temperature_k, np.log(line.pressure_pa)
        self.log_pressure = spline(inverse, log)
        self.inverse_temperature = spline(log, inverse)
        self.enthalpy = spline(line.temperature_k, line.enthalpy_j_per_kg)
        self.low_k, self.high_k = float(line.temperature_k[0]), float(line.temperature_k[-1])
        self.low_pa, self.high_pa = float(line.pressure_pa[0]), float(line.pressure_pa[-1])


class VapourSplines:
    """Enthalpy, entropy, ln density over (ln p, superheat); superheat over (ln p, share of entropy span)."""

    def __init__(self, grid: VapourGrid) -> None:
        log = np.log(grid.pressure_pa)
        self.enthalpy = RectBivariateSpline(log, grid.superheat_k, grid.enthalpy_j_per_kg)
        self.entropy = RectBivariateSpline(log, grid.superheat_k, grid.entropy_j_per_kg_k)
        self.log_density = RectBivariateSpline(log, grid.superheat_k, np.log(grid.density_kg_per_m3))
        self.lowest_entropy = spline(log, grid.entropy_j_per_kg_k[:, 0])
        self.highest_entropy = spline(log, grid.entropy_j_per_kg_k[:, -1])
        shares = np.linspace(0.0, 1.0, 40)
        rows = [_superheats(row, grid.superheat_k, shares) for row in grid.entropy_j_per_kg_k]
        self.superheat = RectBivariateSpline(log, shares, np.array(rows))


def _superheats(entropies: FloatArray, superheats: FloatArray, shares: FloatArray) -> FloatArray:
    """Return the superheats at which one row's entropy has run through the given shares of its span."""
    fine = np.linspace(superheats[0], superheats[-1], 400)
    entropy_at = CubicSpline(superheats, entropies)(fine)
    wanted = entropies[0] + shares * (entropies[-1] - entropies[0])
    return np.asarray(CubicSpline(entropy_at, fine)(wanted), dtype=float)
