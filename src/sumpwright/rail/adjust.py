"""Nonlinear least squares with step control: one function for every fit of the rail."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray

Residual = Callable[[FloatArray], FloatArray]
Jacobian = Callable[[FloatArray], FloatArray]

_FIRST_REACH = 1.0
"""First longest step, in sizes of the start (all unknowns brought to one size)."""


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
    most_steps: int = 1000,
    tolerance: float = 1e-11,
) -> Adjusted:
    """Least weighted sum of squares of ``residual``, from ``start``.

    Each step is the plain linearised one as long as it is no longer than what the
    linear forecast has proved good for; beyond that it is shortened and turned
    downhill (damping on columns brought to one size, chosen so that the step is just
    that long). The allowed length grows as forecasts come true and shrinks as they do
    not. Solved by orthogonal reduction, never by squaring the matrix.

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
        allowed = 0.0
        damping = 0.0
        for step in range(1, most_steps + 1):
            A = root[:, None] * J
            scale = np.maximum(scale, np.sqrt(np.einsum("ij,ij->j", A, A)))
            scale[scale == 0.0] = 1.0
            upper = _triangle(np.column_stack((A / scale, root * v)))
            R, z = upper[:count, :count], upper[:count, count]
            size = float(np.linalg.norm(scale * x))
            if step == 1:
                allowed = _FIRST_REACH * size if size > 0.0 else math.inf
            while True:
                s, damping = _bounded_step(R, z, allowed, damping)
                length = float(np.linalg.norm(s))
                left = R @ s + z
                forecast = float(z @ z - left @ left)
                trial = x + s / scale
                v_trial = residual(trial)
                reached = _sum_of_squares(root, v_trial)
                is_last = length <= tolerance * (size + tolerance) and damping == 0.0
                # Less left to win than the sum is known to: this is the bottom too.
                if is_last or (forecast <= 1e-9 * best and damping == 0.0 and not reached < best):
                    if reached <= best * (1.0 + 1e-9):
                        x, v = trial, v_trial
                    return _finish(x, v, jacobian, root, step, has_converged=True)
                gain = (best - reached) / forecast if forecast > 0.0 else -1.0
                if not math.isfinite(gain):
                    gain = -1.0
                if gain < 0.25:
                    allowed = (0.25 if gain >= 0.0 else 0.1) * min(allowed, length)
                elif gain > 0.75:
                    allowed = max(allowed, 2.0 * length)
                if gain > 1e-4:
                    J_trial = jacobian(trial)
                    if np.all(np.isfinite(J_trial)):
                        break
                    allowed = 0.1 * length
                if allowed <= 1e-15 * (size + 1e-300):
                    return _finish(x, v, jacobian, root, step, has_converged=forecast <= 1e-9 * best)
            x, v, J, best = trial, v_trial, J_trial, reached
    return _finish(x, v, jacobian, root, most_steps, has_converged=False)


def _sum_of_squares(root: FloatArray, v: FloatArray) -> float:
    weighted = root * v
    return float(weighted @ weighted)


def _triangle(A: FloatArray) -> FloatArray:
    """The triangle of an orthogonal reduction."""
    return np.asarray(np.linalg.qr(A, mode="r"))


def _bounded_step(R: FloatArray, z: FloatArray, allowed: float, damping: float) -> tuple[FloatArray, float]:
    """Step s that makes |R s + z| least among those no longer than ``allowed``, and its damping."""
    plain = _plain_step(R, z)
    length = float(np.linalg.norm(plain))
    if length <= 1.1 * allowed:
        return plain, 0.0
    gradient = float(np.linalg.norm(R.T @ z))
    high, low = gradient / allowed, 0.0
    damping = min(max(damping, 1e-3 * high), high)
    s = plain
    for _ in range(12):
        upper = _triangle(
            np.column_stack(
                (
                    np.vstack((R, math.sqrt(damping) * np.eye(R.shape[1]))),
                    np.concatenate((z, np.zeros(R.shape[1]))),
                )
            )
        )
        T = upper[: R.shape[1], : R.shape[1]]
        s = np.asarray(-np.linalg.solve(T, upper[: R.shape[1], R.shape[1]]))
        length = float(np.linalg.norm(s))
        over = length - allowed
        if abs(over) <= 0.1 * allowed:
            break
        if over > 0.0:
            low = max(low, damping)
        else:
            high = min(high, damping)
        # Newton on 1 / length against damping, which is nearly a straight line.
        q = np.linalg.solve(T.T, s / length)
        damping += over / allowed / float(q @ q)
        if not low < damping < high:
            damping = max(1e-3 * high, math.sqrt(max(low, 1e-300) * high))
    return s, damping


def _plain_step(R: FloatArray, z: FloatArray) -> FloatArray:
    if R.shape[0] == R.shape[1]:
        diagonal = np.abs(np.diagonal(R))
        if diagonal.min() > 1e-13 * diagonal.max():
            return np.asarray(-np.linalg.solve(R, z))
    return np.asarray(-np.linalg.lstsq(R, z, rcond=1e-13)[0])


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


def cofactors(J: FloatArray, weights: FloatArray, *, with_unknowns: bool = True) -> Cofactors:
    """Covariance of the unknowns for unit variance, and redundancy numbers.

    J must have full column rank where the weights are positive. Without the unknowns'
    covariance (then empty) it costs half.
    """
    root = np.sqrt(weights)
    A = root[:, None] * J
    scale = np.sqrt(np.einsum("ij,ij->j", A, A))
    scale[scale == 0.0] = 1.0
    Q, R = np.linalg.qr(A / scale)
    inverse = np.linalg.inv(R) / scale[:, None] if with_unknowns else np.zeros((0, 0))
    redundancy = 1.0 - np.einsum("ij,ij->i", Q, Q)
    return Cofactors(inverse @ inverse.T, np.where(weights > 0.0, redundancy, 0.0), Q)
