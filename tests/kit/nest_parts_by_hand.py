"""Flat parts drawn by hand, in millimetres, for nests whose best answer is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.model import CutterRules, FlatPart, KitInputs, StockSheet
from sumpwright.kit.nest_model import Offcut
from sumpwright.quantities.units import frozen_array

MM = 1e-3
FLAT = FlatFrame(frozen_array([0.0, 0, 0]), frozen_array([1.0, 0, 0]), frozen_array([0.0, 1, 0]))


def kit_inputs() -> KitInputs:
    """Plain inputs: a cutter true to a tenth of a millimetre."""
    rules = CutterRules("laser", 1e-4, 3e-3, 3e-3, 4.5e-3, None)
    return KitInputs("5052-H32", "5052-H32", 2680.0, 2680.0, 23.8e-6, 11.4e-6, 90.0, rules, rules)


def line(corners: Sequence[tuple[float, float]]) -> Outline:
    """A closed line of straight pieces."""
    return Outline(frozen_array(np.array(corners, dtype=float) * MM), frozen_array(np.zeros(len(corners))))


def flat(
    name: str,
    corners: Sequence[tuple[float, float]],
    quantity: int = 1,
    thickness: float = 2.0,
    cut_outs: tuple[Outline, ...] = (),
    material: str = "mild",
) -> FlatPart:
    """A part with straight sides."""
    return FlatPart(name, 0, line(corners), cut_outs, (), (), FLAT, thickness * MM, material, quantity)


def rectangle(name: str, a: float, b: float, quantity: int = 1, thickness: float = 2.0) -> FlatPart:
    """A rectangle with its lower left corner at the origin."""
    return flat(name, [(0, 0), (a, 0), (a, b), (0, b)], quantity, thickness)


def ring(name: str, outer: float, inner: float) -> FlatPart:
    """A round ring; the outline is two half circles."""
    r, s = outer / 2 * MM, inner / 2 * MM
    outline = Outline(frozen_array([[-r, 0], [r, 0]]), frozen_array([1.0, 1.0]))
    hole = Outline(frozen_array([[-s, 0], [s, 0]]), frozen_array([-1.0, -1.0]))
    return FlatPart(name, 0, outline, (hole,), (), (), FLAT, 2 * MM, "mild")


def nest_inputs(
    *sizes: tuple[float, float],
    margin: float = 10.0,
    thickness: float = 2.0,
    offcuts: tuple[Offcut, ...] = (),
) -> KitInputs:
    """A shop with these sheets of mild steel."""
    stock = tuple(StockSheet("mild", thickness * MM, a * MM, b * MM) for a, b in sizes)
    return replace(kit_inputs(), nests=True, stock=stock, sheet_margin=margin * MM, offcuts=offcuts)


def wall_like(number: int) -> FlatPart:
    """A part such as a pan has: a wall with one sloping end and a notch, no two alike."""
    a = 60.0 + 17.0 * (number * 7 % 13)
    b = 40.0 + 11.0 * (number * 5 % 7)
    lean = 0.3 * b * math.sin(number)
    return flat(
        f"wall {number}",
        [
            (0, 0),
            (0.4 * a, 0),
            (0.4 * a, 3),
            (0.4 * a + 6, 3),
            (0.4 * a + 6, 0),
            (a, 0),
            (a + lean, b),
            (0, b),
        ],
    )
