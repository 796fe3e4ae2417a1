"""Nonlinear least squares with step control: one function for every fit of the rail."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray

Residual = Callable[[FloatArray], FloatArray]
Jacobian = Callable[[FloatArray], FloatArray]

_SMALLEST_DAMPING = 1e-8
_LARGEST_DAMPING = 1e12


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """Where the weighted sum of squares is least."""

    x: FloatArray  # (k,) unknowns
    residual: FloatArray  # (m,) computed - observed
    jacobian: FloatArray  # (m, k) at x
    weighted_sum: float  # sum of weight * residual**2
    steps: int
    has_converged: bool


def gauss_newton(
    residual: Residual,
    jacobian: Jacobian,
    start: FloatArray,
    weights: FloatArray,
    *,
    most_steps: int = 500,
    tolerance: float = 1e-11,
) -> Adjusted:
    """Least weighted sum of squares of ``residual``, from ``start``.

    Each step is the plain linearised one; where that does not lower the sum it is
    shortened and turned downhill (damping on columns brought to one size), and the
    damping is taken away again as the linear forecast comes true. Solved by
    orthogonal reduction, never by squaring the matrix.

    Args:
        residual: computed minus observed, (m,), of the unknowns (k,).
        jacobian: derivative of ``residual``, (m, k).
        start: first guess of the unknowns, (k,).
        weights: one over variance, (m,); zero leaves a row out.
        most_steps: accepted steps after which it stops, not converged.
        tolerance: step against size of the unknowns at which it stops.
    """
    root = np.sqrt(weights)
    x = np.array(start, dtype=np.float64)
    count = x.size
    with np.errstate(all="ignore"):
        v = residual(x)
        J = jacobian(x)
        best = _sum_of_squares(root, v)
        if not math.isfinite(best) or not np.all(np.isfinite(J)):
            return Adjusted(x, v, J, best, 0, has_converged=False)
        scale = np.zeros(count)
        damping = 0.0
        growth = 2.0
        for step in range(most_steps):
            A = root[:, None] * J
            scale = np.maximum(scale, np.sqrt(np.einsum("ij,ij->j", A, A)))
            scale[scale == 0.0] = 1.0
            upper = _triangle(np.column_stack((A / scale, root * v)))
            R, z = upper[:count, :count], upper[:count, count]
            size = float(np.linalg.norm(scale * x))
            while True:
                s = _solve(R, z, damping)
                length = float(np.linalg.norm(s))
                forecast_v = R @ s + z
                forecast = float(z @ z - forecast_v @ forecast_v)
                if length <= tolerance * (size + tolerance) and damping < 1.0:
                    x_end = x + s / scale
                    v_end = residual(x_end)
                    if _sum_of_squares(root, v_end) <= best * (1.0 + 1e-9):
                        x, v = x_end, v_end
                    return _finish(x, v, jacobian, root, step + 1, has_converged=True)
                trial = x + s / scale
                v_trial = residual(trial)
                reached = _sum_of_squares(root, v_trial)
                gain = (best - reached) / forecast if forecast > 0.0 else -1.0
                if math.isfinite(reached) and gain > 1e-4:
                    J_trial = jacobian(trial)
                    if np.all(np.isfinite(J_trial)):
                        break
                # Less left to win than the sum is known to: this is the bottom.
                if forecast <= 1e-9 * best and damping <= 1.0:
                    if reached <= best * (1.0 + 1e-9):
                        x, v = trial, v_trial
                    return _finish(x, v, jacobian, root, step + 1, has_converged=True)
                damping = max(1e-3, damping * growth)
                growth *= 2.0
                if damping > _LARGEST_DAMPING:
                    return _finish(x, v, jacobian, root, step + 1, has_converged=False)
            x, v, J, best = trial, v_trial, J_trial, reached
            growth = 2.0
            if gain > 0.75:
                damping *= 0.1
                if damping < _SMALLEST_DAMPING:
                    damping = 0.0
            elif gain < 0.25:
                damping = max(1e-3, damping * 4.0)
    return _finish(x, v, jacobian, root, most_steps, has_converged=False)


def _sum_of_squares(root: FloatArray, v: FloatArray) -> float:
    weighted = root * v
    return float(weighted @ weighted)


def _triangle(A: FloatArray) -> FloatArray:
    """The triangle of an orthogonal reduction."""
    return np.asarray(np.linalg.qr(A, mode="r"))


def _solve(R: FloatArray, z: FloatArray, damping: float) -> FloatArray:
    """Step s that makes |R s + z|^2 + damping |s|^2 least."""
    count = R.shape[1]
    if damping == 0.0 and R.shape[0] == count:
        diagonal = np.abs(np.diagonal(R))
        if diagonal.min() > 1e-12 * diagonal.max():
            return np.asarray(-np.linalg.solve(R, z))
    if damping == 0.0:
        return np.asarray(-np.linalg.lstsq(R, z, rcond=1e-12)[0])
    both = np.vstack((R, math.sqrt(damping) * np.eye(count)))
    right = np.concatenate((z, np.zeros(count)))
    upper = _triangle(np.column_stack((both, right)))
    return np.asarray(-np.linalg.solve(upper[:count, :count], upper[:count, count]))


def _finish(
    x: FloatArray, v: FloatArray, jacobian: Jacobian, root: FloatArray, steps: int, *, has_converged: bool
) -> Adjusted:
    return Adjusted(x, v, jacobian(x), _sum_of_squares(root, v), steps, has_converged)


@dataclass(frozen=True, slots=True, eq=False)
class Cofactors:
    """How the unknowns and the residuals hang on the observations (unit variance 1)."""

    unknowns: FloatArray  # (k, k) (JT P J)^-1
    redundancy: FloatArray  # (m,) share of an error that shows in its own residual
    weighted_basis: FloatArray  # (m, k) orthonormal columns spanning sqrt(P) J


def cofactors(J: FloatArray, weights: FloatArray) -> Cofactors:
    """Covariance of the unknowns for unit variance, and redundancy numbers.

    J must have full column rank where the weights are positive.
    """
    root = np.sqrt(weights)
    A = root[:, None] * J
    scale = np.sqrt(np.einsum("ij,ij->j", A, A))
    scale[scale == 0.0] = 1.0
    Q, R = np.linalg.qr(A / scale)
    inverse = np.linalg.inv(R) / scale[:, None]
    redundancy = 1.0 - np.einsum("ij,ij->i", Q, Q)
    return Cofactors(inverse @ inverse.T, np.where(weights > 0.0, redundancy, 0.0), Q)
