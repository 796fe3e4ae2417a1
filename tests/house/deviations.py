"""How close a test came: the largest deviation against what it allows, by test."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

KINDS = ("published", "closed form", "convergence", "property", "pinned")


@dataclass
class Deviations:
    """The largest deviation of each test while it ran."""

    test: str = ""
    worst: dict[str, tuple[float, float, float]] = field(default_factory=dict)  # deviation, allowed, expected

    def note(self, got: Any, expected: Any, allowed: Any) -> None:
        """Keep a comparison if it is the one nearest to its tolerance.

        A comparison that fails is none (``assert x != approx(y)``): a failed test stops the page anyway.
        """
        try:
            deviation, allowed, expected = abs(float(got) - float(expected)), float(allowed), float(expected)
        except (TypeError, ValueError):
            return
        if not (math.isfinite(deviation) and math.isfinite(allowed)) or deviation > allowed:
            return
        old = self.worst.get(self.test)
        if old is None or _share(deviation, allowed) > _share(old[0], old[1]):
            self.worst[self.test] = (deviation, allowed, expected)

    def watch(self) -> None:
        """Listen to pytest.approx and numpy's assert_allclose from here on."""
        scalar = type(pytest.approx(1.0))
        plain_equal = scalar.__eq__
        plain_allclose = np.testing.assert_allclose

        def listening_equal(approx: Any, actual: Any) -> bool:
            is_equal = bool(plain_equal(approx, actual))
            if is_equal and not isinstance(approx.expected, bool):
                self.note(actual, approx.expected, approx.tolerance)
            return is_equal

        def listening_allclose(
            actual: Any, desired: Any, rtol: float = 1e-7, atol: float = 0, *more: Any, **named: Any
        ) -> None:
            plain_allclose(actual, desired, rtol, atol, *more, **named)
            got, expected = np.broadcast_arrays(np.asarray(actual, float), np.asarray(desired, float))
            allowed = atol + rtol * np.abs(expected)
            for one in np.ndindex(got.shape):
                self.note(got[one], expected[one], allowed[one])

        scalar.__eq__ = listening_equal
        np.testing.assert_allclose = listening_allclose

    def rows(self) -> dict[str, dict[str, str]]:
        """By test: deviation, what was allowed and the number it stood at, in two or three digits."""
        return {
            test: {
                "deviation": f"{deviation:.1e}" if deviation else "0",
                "allowed": f"{allowed:.1e}" if allowed else "0",
                "expected": f"{expected:.6g}",
            }
            for test, (deviation, allowed, expected) in sorted(self.worst.items())
        }


def _share(deviation: float, allowed: float) -> float:
    return deviation / allowed if allowed > 0.0 else 0.0


class Evidence:
    """For tests that compare without ``pytest.approx``."""

    def __init__(self, deviations: Deviations | None) -> None:
        self._deviations = deviations

    def record(self, name: str, got: float, expected: float, tolerance: float) -> None:
        """Assert that ``got`` is within ``tolerance`` of ``expected``, and keep how close it came."""
        assert abs(got - expected) <= tolerance, f"{name}: {got} against {expected} +- {tolerance}"
        if self._deviations is not None:
            self._deviations.note(got, expected, tolerance)
