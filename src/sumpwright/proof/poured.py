"""The volume model put right by what was really poured in.

Measured: litres in the pan and what the stick then shows. Computed: the volume for every
reading. Between them stand two numbers: a scale (the pan is a little bigger or smaller than
drawn) and a shift (the stick or its tube sits a little high or low). Both are known beforehand
within what sheet, weld and tape allow; every pour makes them surer.
"""

from __future__ import annotations

import numpy as np

from sumpwright.proof.model import Pour, StickCorrection
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, Ratio

SCALE_U: Ratio = 0.02
"""Standard uncertainty of the drawn volume before anything is poured: common practice."""
SHIFT_U: Metre = 0.002
"""The same of where the stick's shoulder sits: common practice."""
POUR_U: Ratio = 0.005
"""Of one measured pour: a litre jug read with care."""
READ_U: Metre = 0.0007
"""Of one reading of the stick."""


def corrected(
    stick: FloatArray, pours: tuple[Pour, ...], marks: tuple[tuple[str, CubicMetre], ...]
) -> StickCorrection | None:
    """Scale and shift from the pours, and where the marks then belong.

    Args:
        stick: (n, 2) reading from the shoulder [m] and computed volume [m3], ascending volume.
        pours: what was poured and read; those beyond the table's ends are left out.
        marks: names and volumes of the marks [m3].

    Returns:
        None where no pour lies within the table.
    """
    reading, volume = stick[:, 0], stick[:, 1]
    use = [pour for pour in pours if reading.min() <= pour.reading <= reading.max()]
    if not use:
        return None
    # Weighted least squares with what is known beforehand as two more readings; linearised
    # about the present answer, which settles in a few rounds.
    scale, shift = 1.0, 0.0
    prior = np.diag([1.0 / SCALE_U**2, 1.0 / SHIFT_U**2])
    normal = prior
    for _ in range(20):
        rows, left, weight = [], [], []
        for pour in use:
            computed, slope = _volume_at(reading, volume, pour.reading - shift)
            sigma2 = (POUR_U * pour.poured) ** 2 + (scale * slope * READ_U) ** 2
            rows.append([computed, -scale * slope])
            left.append(pour.poured - scale * computed)
            weight.append(1.0 / sigma2)
        jacobian, w = np.array(rows), np.diag(weight)
        normal = jacobian.T @ w @ jacobian + prior
        gradient = jacobian.T @ w @ np.array(left) + prior @ np.array([1.0 - scale, -shift])
        step = np.linalg.solve(normal, gradient)
        scale, shift = scale + float(step[0]), shift + float(step[1])
        if abs(step[0]) < 1e-12 and abs(step[1]) < 1e-12:
            break
    covariance = np.linalg.inv(normal)
    residuals = tuple(
        float(pour.poured - scale * _volume_at(reading, volume, pour.reading - shift)[0]) for pour in use
    )
    spread = sum(r * r * w for r, w in zip(residuals, weight, strict=True))
    spread += ((scale - 1.0) / SCALE_U) ** 2 + (shift / SHIFT_U) ** 2
    moved = []
    for name, wanted in marks:
        before = float(np.interp(wanted, volume, reading))
        at = float(np.interp(wanted / scale, volume, reading)) + shift
        slope = _reading_slope(reading, volume, wanted / scale)
        row = np.array([-slope * wanted / scale**2, 1.0])
        u = float(np.sqrt(row @ covariance @ row + READ_U**2))
        moved.append((name, before, at, u))
    return StickCorrection(
        scale=scale,
        scale_u=float(np.sqrt(covariance[0, 0])),
        shift=shift,
        shift_u=float(np.sqrt(covariance[1, 1])),
        residuals=residuals,
        marks=tuple(moved),
        fits=spread <= _largest_chi_square(len(use)),
    )


def _volume_at(reading: FloatArray, volume: FloatArray, place: Metre) -> tuple[CubicMetre, float]:
    """Computed volume at a reading, and its change along the stick."""
    order = np.argsort(reading, kind="stable")
    r, v = reading[order], volume[order]
    k = int(np.clip(np.searchsorted(r, place) - 1, 0, len(r) - 2))
    slope = float((v[k + 1] - v[k]) / (r[k + 1] - r[k]))
    return float(v[k] + slope * (place - r[k])), slope


def _reading_slope(reading: FloatArray, volume: FloatArray, wanted: CubicMetre) -> float:
    k = int(np.clip(np.searchsorted(volume, wanted) - 1, 0, len(volume) - 2))
    return float((reading[k + 1] - reading[k]) / (volume[k + 1] - volume[k]))


def _largest_chi_square(count: int) -> float:
    """What the sum of squares stays below 999 times in 1,000."""
    from scipy.stats import chi2

    return float(chi2.ppf(0.999, count))
