"""New bolts for a thicker flange: length, thread held, room at the bottom."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.quantities.units import Metre, Ratio
from sumpwright.rail.formulas import clamped_stack, needed_engagement, stud_standing, thread_engagement
from sumpwright.rail.model import BoltLine, RailHole, RailInputs
from sumpwright.tables.materials import find_material

LEAST_BOTTOM: Metre = 0.002
"""Room a bolt must leave to the bottom of a blind hole (common practice)."""

_TIMES: dict[str, tuple[Ratio, Ratio]] = {
    "steel": (1.0, 1.0),
    "stainless": (1.0, 1.0),
    "iron": (1.25, 1.5),
    "aluminium": (2.0, 2.0),
}
"""Thread held, in diameters: least, and what one likes to have (common practice)."""


@dataclass(frozen=True, slots=True)
class LengthWindow:
    """Which bolt lengths would do at one hole."""

    least: Metre
    liked: Metre
    most: Metre | None  # None = the hole goes through, or its depth is not given


def engagement_times(thread_material: str) -> tuple[Ratio, Ratio] | None:
    """Diameters of thread needed and liked in a metal, or None for a metal not known."""
    material = find_material(thread_material)
    return None if material is None else _TIMES[material.family]


def clamped_at(inputs: RailInputs, hole: RailHole) -> Metre:
    """Flange, washer and the seal of the hole's land together."""
    seal = next((land.seal.thickness for land in inputs.lands if land.name == hole.land), 0.0)
    return clamped_stack(inputs.flange_thickness, inputs.washer, seal)


def length_window(inputs: RailInputs, hole: RailHole) -> LengthWindow | None:
    """Lengths under the head that hold enough thread and do not bottom; None for a metal not known."""
    times = engagement_times(inputs.thread_material)
    if times is None:
        return None
    clamped = clamped_at(inputs, hole)
    fastener = hole.fastener
    depth = None if fastener.is_through else fastener.blind_depth
    return LengthWindow(
        least=clamped + needed_engagement(fastener.diameter, times[0]),
        liked=clamped + needed_engagement(fastener.diameter, times[1]),
        most=None if depth is None else clamped + depth - LEAST_BOTTOM,
    )


def bolt_lines(inputs: RailInputs) -> tuple[BoltLine, ...]:
    """New fastener for every bolt and stud hole, in ring order."""
    if inputs.flange_thickness <= 0.0:
        return ()
    lines = []
    for hole in inputs.holes:
        if hole.fastener.kind == "dowel":
            continue
        window = length_window(inputs, hole)
        if window is None:
            continue
        lines.append(
            _stud_line(inputs, hole) if hole.fastener.kind == "stud" else _bolt_line(inputs, hole, window)
        )
    return tuple(lines)


def _bolt_line(inputs: RailInputs, hole: RailHole, window: LengthWindow) -> BoltLine:
    fastener = hole.fastener
    clamped = clamped_at(inputs, hole)
    tiny = 1e-9
    fitting = [
        length
        for length in sorted(inputs.new_bolt_lengths)
        if length >= window.least - tiny and (window.most is None or length <= window.most + tiny)
    ]
    liked = [length for length in fitting if length >= window.liked - tiny]
    # Shortest that holds as much thread as one likes; failing that the longest that does not bottom.
    new = liked[0] if liked else (fitting[-1] if fitting else None)
    engagement = None if new is None else thread_engagement(new, clamped)
    depth = None if fastener.is_through else fastener.blind_depth
    return BoltLine(
        hole=hole.name,
        thread=fastener.thread or "",
        old_length=fastener.old_bolt_length,
        old_engagement=_old_engagement(inputs, hole),
        clamped=clamped,
        needed_engagement=window.least - clamped,
        new_length=new,
        new_engagement=engagement,
        bottom_clearance=None if depth is None or engagement is None else depth - engagement,
        is_stud=False,
    )


def _stud_line(inputs: RailInputs, hole: RailHole) -> BoltLine:
    """Lengths of a stud are what stands out of the rail face: its block end stays as it is."""
    fastener = hole.fastener
    clamped = clamped_at(inputs, hole)
    pitch = fastener.pitch if fastener.pitch is not None else 0.15 * fastener.diameter
    needed = stud_standing(clamped, fastener.diameter, pitch)
    old = fastener.old_bolt_length
    return BoltLine(
        hole=hole.name,
        thread=fastener.thread or "",
        old_length=old,
        old_engagement=None,
        clamped=clamped,
        needed_engagement=needed - clamped,
        new_length=old if old is not None and old >= needed - 1e-9 else needed,
        new_engagement=None,
        bottom_clearance=None,
        is_stud=True,
    )


def _old_engagement(inputs: RailInputs, hole: RailHole) -> Metre | None:
    old = hole.fastener.old_bolt_length
    if old is None or inputs.old_clamped is None:
        return None
    return thread_engagement(old, inputs.old_clamped)
