"""A number that knows how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

COVERAGE_95 = 1.959963984540054
"""Two-sided 95 % factor of the normal distribution: u95 = 1.96 u."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its standard uncertainty, both in ``unit`` (base SI).

    ``u`` is None where no uncertainty is known; it is never made up. Findings
    print ``u95``.
    """

    value: float
    u: float | None
    unit: str

    @property
    def u95(self) -> float | None:
        """Half width of the 95 % interval in ``unit``, or None if unknown."""
        return None if self.u is None else COVERAGE_95 * self.u
