"""Lands out of the rail's plane: heights, and arches from chord and rise."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from sumpwright.quantities import Measured
from sumpwright.rail.formulas import arch_radius
from sumpwright.rail.model import Land, LandJoint, LandShape, RailInputs, Reading


def land_shapes(inputs: RailInputs) -> tuple[LandShape, ...]:
    """What was read of each land, in ring order; lands that nothing was read of are left out."""
    land_of = {hole.name: hole.land for hole in inputs.holes}
    shapes = []
    for land in inputs.lands:
        heights = [r for r in inputs.readings if r.kind == "height" and land_of.get(r.a, r.a) == land.name]
        chords = [r for r in inputs.readings if r.kind == "chord" and r.a == land.name]
        rises = [r for r in inputs.readings if r.kind == "rise" and r.a == land.name]
        if not heights and not chords and not rises:
            continue
        values = [r.value for r in heights]
        shapes.append(
            LandShape(
                land.name,
                _mean(heights) if heights else None,
                max(values) - min(values) if len(values) > 1 else None,
                _radius(_mean(chords), _mean(rises)) if chords and rises else None,
            )
        )
    return tuple(shapes)


def shaped_lands(inputs: RailInputs, shapes: tuple[LandShape, ...]) -> tuple[Land, ...]:
    """The lands with heights and radii as read where they were read."""
    by_name = {shape.land: shape for shape in shapes}
    out = []
    for land in inputs.lands:
        shape = by_name.get(land.name)
        if shape is not None and shape.height is not None:
            land = replace(land, height=shape.height.value)
        if shape is not None and shape.radius is not None:
            land = replace(land, radius=shape.radius.value)
        rises = [r for r in inputs.readings if r.kind == "rise" and r.a == land.name]
        if rises and land.height != 0.0 and (shape is None or shape.height is None):
            # A rise has no side of its own: the job says whether the arch hangs or stands.
            land = replace(land, height=math.copysign(_mean(rises).value, land.height))
        out.append(land)
    return tuple(out)


def land_joints(inputs: RailInputs) -> tuple[LandJoint, ...]:
    """Where lands meet whose seals, heights or kinds differ: three parts come together there."""
    by_name = {land.name: land for land in inputs.lands}
    rest = next((land for land in inputs.lands if land.from_hole is None), None)
    names = [hole.name for hole in inputs.holes]
    spans = [land for land in inputs.lands if land.from_hole in names and land.to_hole in names]
    found = []
    for land in spans:
        for end, at in (("from", land.from_hole), ("to", land.to_hole)):
            # A land that ends at the very hole where another begins meets that one.
            other = next(
                (s for s in spans if s is not land and (s.to_hole if end == "from" else s.from_hole) == at),
                rest,
            )
            if other is None or at is None or not _unlike(land, by_name[other.name]):
                continue
            found.append((names.index(at), LandJoint(at, land.name, other.name)))
    seen: set[tuple[str, frozenset[str]]] = set()
    out = []
    for _, joint in sorted(found, key=lambda entry: entry[0]):
        key = (joint.hole, frozenset((joint.inner, joint.outer)))
        if key not in seen:
            seen.add(key)
            out.append(joint)
    return tuple(out)


def _unlike(one: Land, other: Land) -> bool:
    return one.kind != other.kind or one.seal.kind != other.seal.kind or abs(one.height - other.height) > 1e-6


def _mean(readings: list[Reading]) -> Measured:
    """Weighted mean; its uncertainty never below what the scatter itself says."""
    value = np.array([r.value for r in readings])
    weight = 1.0 / np.array([r.u for r in readings]) ** 2
    mean = float(np.sum(weight * value) / weight.sum())
    u = 1.0 / math.sqrt(float(weight.sum()))
    if value.size > 1:
        u = max(u, float(value.std(ddof=1)) / math.sqrt(value.size))
    return Measured(mean, u, "m")


def _radius(chord: Measured, rise: Measured) -> Measured | None:
    c, h = chord.value, rise.value
    if h <= 0.0 or c <= 0.0 or h > c / 2.0 * (1.0 + 1e-6):
        return None
    by_chord, by_rise = c / (4.0 * h), 0.5 - c * c / (8.0 * h * h)
    return Measured(
        arch_radius(c, h), math.hypot(by_chord * (chord.u or 0.0), by_rise * (rise.u or 0.0)), "m"
    )
