"""Which readings are bad: the largest one set aside, the rest adjusted anew, and again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray
from sumpwright.rail.adjust import Adjusted, Cofactors, cofactors
from sumpwright.rail.formulas import LARGEST_NORMALISED
from sumpwright.rail.network import GIVEN, LOOSE, Network
from sumpwright.rail.shape import Datum, adjust_shape

LEAST_REDUNDANCY = 0.1
"""Below this share of an error showing, a reading counts as unchecked."""

_SAME_EVIDENCE = 0.999  # correlation of two test values beyond which they are one and the same
_NEARLY_AS_LIKELY = 6.0  # difference of squared test values: odds of twenty to one


@dataclass(frozen=True, slots=True, eq=False)
class Removed:
    """One row set aside, as it stood when it was."""

    row: int
    normalised: float
    redundancy: float
    rivals: tuple[int, ...]  # rows nearly as likely to be the bad one


@dataclass(frozen=True, slots=True, eq=False)
class Sifted:
    """The shape from the readings that were kept."""

    unknowns: FloatArray
    fit: Adjusted
    cofactors: Cofactors
    weights: FloatArray  # (m,) zero where set aside
    normalised: FloatArray  # (m,) of the kept; nan where it cannot be told
    removed: tuple[Removed, ...]
    not_told_apart: tuple[int, ...]  # rows of which one is wrong
    is_general: bool  # too many would have to go: it is not a matter of single readings
    dropped: BoolArray = field(repr=False)


def normalised(fit_residual: FloatArray, u: FloatArray, redundancy: FloatArray) -> FloatArray:
    """Test values of all rows, nan where nothing checks the reading."""
    out = np.full(u.size, np.nan)
    has = redundancy > 1e-6
    out[has] = np.abs(fit_residual[has]) / (u[has] * np.sqrt(redundancy[has]))
    return out


def sift(network: Network, start: FloatArray, datum: Datum, *, is_wild: bool) -> Sifted:
    """Set aside the largest normalised residual beyond 3.29, adjust anew, repeat."""
    everything = 1.0 / network.u**2
    dropped = np.zeros(network.value.size, dtype=np.bool_)
    removed: list[Removed] = []
    unknowns = start
    most = max(3, -(-int((network.source >= 0).sum()) // 10))
    free = datum.free(network.unknown_count)
    tied: tuple[int, ...] = ()
    is_general = False
    while True:
        weights = np.where(dropped, 0.0, everything)
        if is_wild:
            # A wild reading bends a full fit; judge it on the linear forecast from where the others agree.
            miss = network.computed(unknowns) - network.value
            J = network.jacobian(unknowns)[:, free]
            c = cofactors(J, weights)
            root = np.sqrt(weights)
            weighted = root * miss
            v = np.where(root > 0.0, (weighted - c.weighted_basis @ (c.weighted_basis.T @ weighted)), 0.0)
            v = v * network.u
        else:
            unknowns, fit = adjust_shape(network, unknowns, datum, weights)
            c = cofactors(fit.jacobian, weights)
            v = fit.residual
        w = normalised(v, network.u, c.redundancy)
        at = _worst(network, w, c, dropped)
        if at is None:
            if is_wild:
                is_wild = False
                continue
            break
        tied, rivals = _alike(network, w, c, at, dropped)
        if tied:
            if is_wild:
                is_wild = False
                continue
            break
        if len(removed) == most:
            is_general = True
            break
        removed.append(Removed(at, float(w[at]), float(c.redundancy[at]), rivals))
        dropped[at] = True
    if is_general:
        removed = []
        dropped[:] = False
        weights = everything
        unknowns, fit = adjust_shape(network, unknowns, datum, weights)
        c = cofactors(fit.jacobian, weights)
    w = normalised(fit.residual, network.u, c.redundancy)
    w[dropped] = np.nan
    return Sifted(unknowns, fit, c, weights, w, tuple(removed), tied, is_general, dropped)


def _worst(network: Network, w: FloatArray, c: Cofactors, dropped: BoolArray) -> int | None:
    able = (network.source != LOOSE) & ~dropped & np.isfinite(w) & (c.redundancy > 1e-4)
    if not able.any():
        return None
    shown = np.where(able, w, -1.0)
    at = int(np.argmax(shown))
    if shown[at] <= LARGEST_NORMALISED:
        return None
    if network.source[at] == GIVEN:
        # A slip in one reading is likelier than a diameter given wrong, unless the odds are clear.
        read = np.where(able & (network.source >= 0), w, -1.0)
        best = int(np.argmax(read))
        if w[at] ** 2 - max(read[best], 0.0) ** 2 < _NEARLY_AS_LIKELY and read[best] > LARGEST_NORMALISED:
            at = best
    return at


def _correlation(c: Cofactors, at: int) -> FloatArray:
    """How far each row's test value says the same as row ``at``'s, 0 to 1."""
    common = -(c.weighted_basis @ c.weighted_basis[at])
    common[at] += 1.0
    with np.errstate(divide="ignore", invalid="ignore"):
        out = np.abs(common) / np.sqrt(np.maximum(c.redundancy, 0.0) * c.redundancy[at])
    return np.where(np.isfinite(out), out, 0.0)


def _alike(
    network: Network, w: FloatArray, c: Cofactors, at: int, dropped: BoolArray
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    able = (network.source >= 0) & ~dropped & (c.redundancy > 1e-4)
    able[at] = False
    same = np.nonzero(able & (_correlation(c, at) > _SAME_EVIDENCE))[0]
    if same.size:
        return tuple(sorted({at, *(int(k) for k in same)})), ()
    with np.errstate(invalid="ignore"):
        near = np.nonzero(able & (w[at] ** 2 - w**2 < _NEARLY_AS_LIKELY))[0]
    return (), tuple(int(k) for k in near)
