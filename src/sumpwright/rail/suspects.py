"""Which readings are bad: the largest one set aside, the rest adjusted anew, and again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray
from sumpwright.rail.adjust import Adjusted, Cofactors, cofactors
from sumpwright.rail.formulas import LARGEST_NORMALISED
from sumpwright.rail.network import GIVEN, Network
from sumpwright.rail.shape import Datum, adjust_shape

LEAST_REDUNDANCY = 0.1
"""Below this share of an error showing, a reading counts as unchecked."""

_MOST_FOR_PAIRS = 400  # rows tried two by two
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
    """Set aside the largest normalised residual beyond 3.29, adjust anew, repeat.

    Two bad readings can hide behind a good one, and so can a slip that was read again and
    again. Where taking them one by one ends in trouble, or took several that others rival,
    the best two together, and all repeats of one reading, are tried as a first step too,
    and the account with fewer bad readings is kept.
    """
    single = _sift_from(network, start, datum, (), is_wild=is_wild)
    is_clear = not any(removed.rivals for removed in single.removed) or len(single.removed) < 2
    if not single.is_general and not single.not_told_apart and is_clear:
        return single
    best = single
    for first in (
        _best_two(network, start, datum, is_wild=is_wild),
        _best_repeats(network, start, datum, is_wild=is_wild),
    ):
        if first is not None:
            other = _sift_from(network, start, datum, first, is_wild=is_wild)
            if _trouble(other) < _trouble(best):
                best = other
    return best


def _trouble(sifted: Sifted) -> tuple[bool, int, float]:
    """How bad an account is: unsettled, then many set aside, then a poor fit."""
    unsettled = sifted.is_general or bool(sifted.not_told_apart)
    return unsettled, len(sifted.removed), round(sifted.fit.weighted_sum, 6)


def _sift_from(
    network: Network, start: FloatArray, datum: Datum, first: tuple[int, ...], *, is_wild: bool
) -> Sifted:
    """Sift, with the rows ``first`` set aside before anything is judged."""
    everything = 1.0 / network.u**2
    dropped = np.zeros(network.value.size, dtype=np.bool_)
    dropped[list(first)] = True
    removed: list[Removed] = []
    unknowns = start
    most = max(3, -(-int((network.source >= 0).sum()) // 10))
    free = datum.free(network)
    tied: tuple[int, ...] = ()
    is_general = False
    while True:
        weights = np.where(dropped, 0.0, everything)
        if is_wild:
            v, c = _forecast(network, unknowns, free, weights)
        else:
            unknowns, fit = adjust_shape(network, unknowns, datum, weights)
            c = cofactors(fit.jacobian, weights, with_unknowns=False)
            v = fit.residual
        w = normalised(v, network.u, c.redundancy)
        at = _worst(network, w, c, dropped)
        rivals: tuple[int, ...] = ()
        if at is not None:
            tied, rivals = _alike(network, w, c, at, dropped)
        if at is None or tied:
            if is_wild:
                # Nothing wild is left: from here on the full fit judges.
                is_wild, tied = False, ()
                continue
            break
        if len(removed) + len(first) >= most:
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
    if not is_general:
        removed = [*(_as_removed(network, fit, c, row) for row in first), *removed]
    w = normalised(fit.residual, network.u, c.redundancy)
    w[dropped] = np.nan
    return Sifted(unknowns, fit, c, weights, w, tuple(removed), tied, is_general, dropped)


def _forecast(
    network: Network, unknowns: FloatArray, free: IntArray, weights: FloatArray
) -> tuple[FloatArray, Cofactors]:
    """Residuals on the linear forecast from where the others agree: a wild reading bends a full fit."""
    miss = network.computed(unknowns) - network.value
    c = cofactors(network.jacobian(unknowns)[:, free], weights, with_unknowns=False)
    root = np.sqrt(weights)
    weighted = root * miss
    v = (weighted - c.weighted_basis @ (c.weighted_basis.T @ weighted)) * network.u
    return np.where(root > 0.0, v, 0.0), c


def _best_two(network: Network, start: FloatArray, datum: Datum, *, is_wild: bool) -> tuple[int, int] | None:
    """The two readings that together explain most, if each is bad even with the other gone."""
    weights = 1.0 / network.u**2
    unknowns = start
    if not is_wild:
        unknowns, _ = adjust_shape(network, start, datum, weights)
    v, c = _forecast(network, unknowns, datum.free(network), weights)
    y = v / network.u
    able = np.nonzero((network.source >= 0) & (c.redundancy > 1e-4))[0]
    if able.size > _MOST_FOR_PAIRS:
        w = normalised(v, network.u, c.redundancy)
        able = able[np.argsort(-w[able], kind="stable")[:_MOST_FOR_PAIRS]]
    Q = c.weighted_basis[able]
    M = np.eye(able.size) - Q @ Q.T
    m, z = np.diagonal(M), y[able]
    with np.errstate(divide="ignore", invalid="ignore"):
        det = np.outer(m, m) - M**2
        drop = (np.outer(z**2, m) + np.outer(m, z**2) - 2.0 * np.outer(z, z) * M) / det
        alone = z**2 / m
    # Each must be bad by itself once the other is gone.
    least = np.minimum(drop - alone[:, None], drop - alone[None, :])
    good = (det > 1e-6) & (least > LARGEST_NORMALISED**2) & ~np.eye(able.size, dtype=np.bool_)
    if not good.any():
        return None
    i, j = divmod(int(np.argmax(np.where(good, drop, -1.0))), able.size)
    return int(able[i]), int(able[j])


def _best_repeats(
    network: Network, start: FloatArray, datum: Datum, *, is_wild: bool
) -> tuple[int, ...] | None:
    """All rows that read the same thing, where their common error is the largest and beyond chance."""
    weights = 1.0 / network.u**2
    unknowns = start
    if not is_wild:
        unknowns, _ = adjust_shape(network, start, datum, weights)
    v, c = _forecast(network, unknowns, datum.free(network), weights)
    rows = np.nonzero(network.source >= 0)[0]
    same = np.unique(np.round(network.jacobian(unknowns)[rows], 9), axis=0, return_inverse=True)[1].reshape(
        -1
    )
    best: tuple[float, tuple[int, ...]] | None = None
    for lot in np.nonzero(np.bincount(same) > 1)[0].tolist():
        mine = rows[same == lot]
        share = weights[mine] ** 0.5
        # One error common to all of them: its test value.
        Q = c.weighted_basis[mine].T @ share
        spare = float(share @ share) - float(Q @ Q)
        if spare <= 1e-4 * float(share @ share):
            continue
        value = abs(float(share @ (v[mine] / network.u[mine]))) / float(np.sqrt(spare))
        if value > LARGEST_NORMALISED and (best is None or value > best[0]):
            best = value, tuple(int(k) for k in mine)
    return None if best is None else best[1]


def _as_removed(network: Network, fit: Adjusted, c: Cofactors, row: int) -> Removed:
    """A row set aside beforehand, judged by what the others say of it."""
    a = fit.jacobian[row]
    spread = float(a @ c.unknowns @ a)
    u2 = float(network.u[row]) ** 2
    return Removed(row, abs(float(fit.residual[row])) / float(np.sqrt(u2 + spread)), u2 / (u2 + spread), ())


def _worst(network: Network, w: FloatArray, c: Cofactors, dropped: BoolArray) -> int | None:
    able = (network.source >= GIVEN) & ~dropped & np.isfinite(w) & (c.redundancy > 1e-4)
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
