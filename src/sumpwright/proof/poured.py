"""The volume model put right by what was really poured in.

Measured: litres in the pan and what the stick then shows. Computed: the volume for every
reading. Between them stands what nobody knows beforehand but within limits: the whole pan a
little bigger or smaller than drawn; a floor that bulges, below anything the stick reads;
stretches of the height that are wider or narrower than drawn, neighbours much alike; a stick
that sits high or low; a jug that is off. Every pour makes all of it surer.

    V(r) = (1 + s) v + e0 v0 + sum e_k part_k(v),   v = computed volume at r - d

with r the reading, d the shift of the stick, v0 what lies below its lowest reading and
part_k what lies in stretch k below v. The jug reads V / (1 + j).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.proof.model import CorrectedVolume, Pour, StickCorrection
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, Ratio, frozen_array

SCALE_U: Ratio = 0.02
"""Standard uncertainty of the drawn volume before anything is poured: common practice."""
FLOOR_U: Ratio = 0.02
"""The same of what lies below the stick's lowest reading, on top: common practice."""
STRETCH_U: Ratio = 0.015
"""The same of the volume in one stretch of the height, on top: common practice."""
SHIFT_U: Metre = 0.002
"""The same of where the stick's shoulder sits: common practice."""
POUR_U: Ratio = 0.003
"""Of one measured pour, what differs from pour to pour: common practice."""
STRETCHES = 6
_ALIKE = 1.5
"""Stretches over which two of them become strangers."""
CURVE_ROWS = 12


@dataclass(frozen=True, slots=True, eq=False)
class _Pan:
    """The computed curve, ascending in volume, and its stretches."""

    reading: FloatArray  # (n,) m from the shoulder
    volume: FloatArray  # (n,) m3
    ends: FloatArray  # (STRETCHES + 1,) m3

    def volume_at(self, reading: Metre) -> tuple[CubicMetre, float]:
        """Computed volume at a reading, and its change along the stick; drawn on beyond the ends.

        The change is taken over what the stick may be off, since the pan may step within it.
        """
        above, below = (self._drawn_on(reading + step) for step in (SHIFT_U, -SHIFT_U))
        return self._drawn_on(reading), (above - below) / (2.0 * SHIFT_U)

    def _drawn_on(self, reading: Metre) -> CubicMetre:
        r, v = self.reading, self.volume
        if r[0] > r[-1]:
            r, v = r[::-1], v[::-1]
        k = int(np.clip(np.searchsorted(r, reading) - 1, 0, len(r) - 2))
        return float(v[k] + (v[k + 1] - v[k]) / (r[k + 1] - r[k]) * (reading - r[k]))

    def reading_at(self, volume: CubicMetre) -> tuple[Metre, float]:
        """The other way round."""
        k = int(np.clip(np.searchsorted(self.volume, volume) - 1, 0, len(self.volume) - 2))
        slope = float((self.reading[k + 1] - self.reading[k]) / (self.volume[k + 1] - self.volume[k]))
        return float(self.reading[k] + slope * (volume - self.volume[k])), slope

    def parts(self, volume: CubicMetre) -> FloatArray:
        """What each unknown adds to the volume for one unit of it (2 + STRETCHES,)."""
        low, high = self.ends[:-1], self.ends[1:]
        within = np.clip(volume - low, 0.0, high - low)
        # Beyond the ends of the table the last stretch and the floor go on.
        within[-1] += max(0.0, volume - float(self.ends[-1]))
        return np.concatenate([[volume, min(volume, float(self.ends[0]))], within])

    def growth(self, volume: CubicMetre, unknowns: FloatArray) -> float:
        """Change of the true volume with the computed one."""
        step = 1e-6 * float(self.ends[-1])
        change = (self.parts(volume + step) - self.parts(volume - step)) / (2.0 * step)
        return 1.0 + float(change @ unknowns)


def corrected(
    stick: FloatArray,
    pours: tuple[Pour, ...],
    marks: tuple[tuple[str, CubicMetre], ...],
    *,
    jug_u: Ratio = 0.003,
    read_u: Metre = 0.0007,
    capacity: CubicMetre | None = None,
) -> StickCorrection | None:
    """The volume curve put right by the pours, and where the marks then belong.

    Args:
        stick: (n, 2) reading from the shoulder [m] and computed volume [m3], ascending volume.
        pours: what was poured and read; those beyond the table's ends are left out.
        marks: names and volumes of the marks [m3].
        jug_u: standard uncertainty of the jug's own size [1], the same for all pours.
        read_u: of one reading of the stick [m].
        capacity: computed, level oil up to the rail [m3]; the table's largest volume where None.

    Returns:
        None where no pour lies within the table. Uncertainties are standard ones.
    """
    reading, volume = stick[:, 0], stick[:, 1]
    use = [pour for pour in pours if reading.min() <= pour.reading <= reading.max()]
    if not use:
        return None
    pan = _Pan(reading, volume, np.linspace(volume[0], volume[-1], STRETCHES + 1))
    prior = _prior(jug_u)
    known = np.linalg.inv(prior)
    count = len(prior)
    x = np.zeros(count)  # s, e0, e_k, d, j
    normal = known
    # Weighted least squares with what is known beforehand as more readings; linearised about
    # the present answer, which settles in a few rounds.
    for _ in range(30):
        rows, left, weights = _equations(pan, use, x, read_u)
        normal = rows.T @ (weights[:, None] * rows) + known
        step = np.linalg.solve(normal, rows.T @ (weights * left) - known @ x)
        x = x + step
        if float(np.abs(step).max()) < 1e-13:
            break
    covariance = np.linalg.inv(normal)
    rows, left, weights = _equations(pan, use, x, read_u)
    spread = float((weights * left**2).sum() + x @ known @ x)
    whole = float(volume[-1]) if capacity is None else capacity
    held = _volume(pan, whole, x, covariance)
    return StickCorrection(
        scale=held.volume / whole,
        scale_u=held.volume_u / whole,
        shift=float(x[-2]),
        shift_u=float(np.sqrt(covariance[-2, -2])),
        residuals=tuple(float(rest) for rest in left),
        marks=tuple(_mark(pan, name, wanted, x, covariance, read_u) for name, wanted in marks),
        fits=spread <= _largest_chi_square(len(use)),
        capacity=held,
        curve=tuple(
            _volume(pan, float(v), x, covariance) for v in np.linspace(volume[0], volume[-1], CURVE_ROWS)
        ),
        pours=len(use),
        jug=float(x[-1]),
        unknowns=frozen_array(x),
    )


def _prior(jug_u: Ratio) -> FloatArray:
    """Covariance of the unknowns before any pour."""
    stretch = np.arange(STRETCHES)
    alike = np.exp(-np.abs(stretch[:, None] - stretch[None, :]) / _ALIKE)
    prior = np.zeros((STRETCHES + 4, STRETCHES + 4))
    prior[0, 0], prior[1, 1] = SCALE_U**2, FLOOR_U**2
    prior[2:-2, 2:-2] = STRETCH_U**2 * alike
    prior[-2, -2], prior[-1, -1] = SHIFT_U**2, jug_u**2
    return prior


def _equations(
    pan: _Pan, pours: list[Pour], x: FloatArray, read_u: Metre
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Rows, what is left and weights of the pours about the present answer."""
    rows, left, weights = [], [], []
    for pour in pours:
        computed, slope = pan.volume_at(pour.reading - x[-2])
        parts = pan.parts(computed)
        true = computed + float(parts @ x[:-2])
        along = pan.growth(computed, x[:-2]) * slope
        jug = 1.0 + x[-1]
        rows.append(np.concatenate([parts, [-along, -true / jug]]) / jug)
        left.append(pour.poured - true / jug)
        weights.append(1.0 / ((POUR_U * pour.poured) ** 2 + (along * read_u) ** 2))
    return np.array(rows), np.array(left), np.array(weights)


def _volume(pan: _Pan, computed: CubicMetre, x: FloatArray, covariance: FloatArray) -> CorrectedVolume:
    """The true volume for a computed one, where the stick then reads, and how sure."""
    parts = pan.parts(computed)
    row = np.concatenate([parts, [0.0, 0.0]])
    reading, _ = pan.reading_at(computed)
    return CorrectedVolume(
        reading=reading + float(x[-2]),
        drawn=computed,
        volume=computed + float(parts @ x[:-2]),
        volume_u=float(np.sqrt(row @ covariance @ row)),
    )


def _mark(
    pan: _Pan, name: str, wanted: CubicMetre, x: FloatArray, covariance: FloatArray, read_u: Metre
) -> tuple[str, Metre, Metre, Metre]:
    """Where a mark was, where it belongs, and how sure that is."""
    before, _ = pan.reading_at(wanted)
    computed = wanted
    for _ in range(30):
        off = computed + float(pan.parts(computed) @ x[:-2]) - wanted
        computed -= off / pan.growth(computed, x[:-2])
        if abs(off) < 1e-12:
            break
    at, slope = pan.reading_at(computed)
    along = -slope / pan.growth(computed, x[:-2])
    row = np.concatenate([along * pan.parts(computed), [1.0, 0.0]])
    u = float(np.sqrt(row @ covariance @ row + read_u**2))
    return name, before, at + float(x[-2]), u


def _largest_chi_square(count: int) -> float:
    """What the sum of squares stays below 999 times in 1,000."""
    from scipy.stats import chi2

    return float(chi2.ppf(0.999, count))
