"""Plane shapes: outlines of straight lines and arcs, circles, strokes.

All coordinates are metres in some flat's own two axes.
"""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.quantities.units import FloatArray, Metre


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A closed line of straight pieces and arcs, anticlockwise when it bounds metal.

    ``bulges[k]`` belongs to the piece from point k to point k+1 (the last closes):
    0 is straight, otherwise tan(quarter of the arc's angle), positive when the arc
    turns left. Holes are outlines of their own, clockwise.
    """

    points: FloatArray  # (n, 2) m
    bulges: FloatArray  # (n,)


@dataclass(frozen=True, slots=True)
class Circle:
    """A round hole."""

    x: Metre
    y: Metre
    diameter: Metre
    label: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """An open line of straight pieces (marks, centre lines, single-stroke letters)."""

    points: FloatArray  # (n, 2) m
