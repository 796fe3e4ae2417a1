"""Formulas of rolled strips."""

from __future__ import annotations

from sumpwright.quantities.units import Metre, Radian


def rolled_length(turn: Radian, neutral_radius: Metre) -> Metre:
    """Length of flat strip that a round of sheet takes.

    L = phi r_n

    Args:
        turn: phi, angle at the round's centre [rad].
        neutral_radius: r_n, radius of the sheet's neutral line, its middle where the
            radius is more than three thicknesses [m].
    Returns:
        L, length of the flat strip [m].
    Valid for: inside radius above three thicknesses.
    Source: sheet-metal-bends, K 0.50 for R/t above 3
    """
    return turn * neutral_radius
