"""Hole pattern and lumps in, the pan's exact shape out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sumpwright.body.access import bolt_access
from sumpwright.body.clearance import clearances
from sumpwright.body.division import divide
from sumpwright.body.faces import exact_cavity
from sumpwright.body.flange import flange_outside
from sumpwright.body.flooding import TOUCHING, Trouble
from sumpwright.body.gate import gate_breaches
from sumpwright.body.ground import ground_clearance
from sumpwright.body.joining import JoinedMesh, join
from sumpwright.body.lumps import LumpSolid, LumpTrouble, build_lump
from sumpwright.body.model import BodyInputs, Cavity, Lump, PanBody
from sumpwright.body.rail_shape import uneven_rail
from sumpwright.body.snapping import share_planes
from sumpwright.body.surroundings import Fit
from sumpwright.body.withdrawal import withdrawal
from sumpwright.geometry.polygons import is_simple
from sumpwright.quantities.units import CubicMetre, Metre
from sumpwright.rail import HolePattern

NOTHING: CubicMetre = 1e-9
"""A lump that changes the oil space by less than a thousandth of a millilitre does nothing."""


def solve(inputs: BodyInputs, pattern: HolePattern) -> PanBody:
    """The body stage: the shape, and how it fits where it goes; what is wrong is said, never raised."""
    body = shape(inputs, pattern)
    return body if body.cavity is None else replace(body, fit=_fit(body, body.cavity))


def shape(inputs: BodyInputs, pattern: HolePattern) -> PanBody:
    """Cavity, gate, flange outline and compartments, without asking what stands round the pan."""
    cavity, trouble = _cavity(inputs)
    gate = gate_breaches(cavity, inputs.sheet) if cavity is not None else ()
    if len(pattern.xy) > 2 and not is_simple(pattern.xy):
        trouble += (
            (
                "the line from hole to hole round the rail crosses itself",
                "name the holes in the order in which they are met going once round the rail",
            ),
        )
    outside = flange_outside(pattern.xy, cavity, inputs) if cavity is not None else None
    if cavity is not None and outside is None:
        trouble += (
            (
                "the lumps lie beside the ring of rail holes, so no single flange covers both",
                "check the lumps' x and y against the hole positions; both count from the datum hole",
            ),
        )
    division = None
    if cavity is not None and inputs.walls:
        mouth = None if inputs.pickup is None else inputs.pickup.mouth
        division = divide(cavity, inputs.walls, mouth, inputs.snap_distance, inputs.snap_angle)
    uneven = uneven_rail(pattern, cavity) if cavity is not None else None
    return PanBody(inputs, pattern, cavity, trouble, gate, outside, division, uneven=uneven)


def _fit(body: PanBody, cavity: Cavity) -> Fit | None:
    """How the pan fits where it goes; None where nothing is known of that."""
    around = body.inputs.surroundings
    if not around.keep_outs and not around.unreadable and around.ground is None and around.tools is None:
        return None
    return Fit(
        clearances(body, cavity),
        ground_clearance(body, cavity),
        bolt_access(body, cavity),
        withdrawal(body, cavity),
    )


def _cavity(inputs: BodyInputs) -> tuple[Cavity | None, tuple[Trouble, ...]]:
    if not inputs.lumps:
        return None, (("there is no lump", "give at least one lump that adds"),)
    doubled = sorted({lump.name for lump in inputs.lumps if _count(inputs.lumps, lump.name) > 1})
    trouble: list[Trouble] = [
        (f"two lumps are both named '{name}'", "give every lump a name of its own") for name in doubled
    ]
    if not any(lump.adds for lump in inputs.lumps):
        return None, (*trouble, ("every lump cuts, none adds", "give at least one lump that adds"))
    lumps = list(inputs.lumps)
    numbers = list(range(len(lumps)))
    built: list[LumpSolid] = []
    while True:
        built = []
        refused = False
        for number, lump in zip(numbers, lumps, strict=True):
            solid = build_lump(lump, number, inputs.snap_distance, rail_open=True)
            if isinstance(solid, LumpTrouble):
                trouble.append((solid.what, solid.cure))
                refused = True
            else:
                built.append(solid)
        if refused:
            return None, tuple(trouble)
        shared, snapped, merged = share_planes(tuple(built), inputs.snap_distance, inputs.snap_angle)
        if not merged:
            break
        for at, corner in merged:
            lumps[at] = _without_corner(lumps[at], built[at], corner)
    mesh, changes = join(snapped, shared, inputs.snap_distance)
    if mesh is None:
        return None, (
            *trouble,
            ("nothing is left below the rail", "make the cutting lumps smaller, or the adding ones deeper"),
        )
    pieces = _piece_trouble(mesh, inputs.snap_distance)
    if pieces:
        return None, (*trouble, *pieces)
    cavity, exact_trouble = exact_cavity(mesh, shared, snapped, inputs.lumps, changes, inputs.snap_distance)
    trouble += exact_trouble
    if cavity is None or exact_trouble:
        return None, tuple(trouble)
    if not any(face.role == "rail" for face in cavity.faces):
        return None, (
            *trouble,
            ("the shape does not open at the rail", "let the top of at least one lump be at the rail"),
        )
    trouble += [
        (
            f"the floor of lump '{lump.name}' rises above its top inside its outline: part of it is missing",
            "make the lump deeper, or draw its outline in where the floor comes up",
        )
        for lump in inputs.lumps
        if lump.adds and _floor_rises_above_top(lump, inputs.snap_distance)
    ]
    for lump, change in zip(inputs.lumps, changes, strict=True):
        if abs(change) < NOTHING:
            trouble.append(
                (
                    f"lump '{lump.name}' adds nothing: it lies wholly inside the others",
                    "make it larger or leave it out",
                )
                if lump.adds
                else (
                    f"lump '{lump.name}' cuts nothing: it lies beside the others",
                    "move it, or leave it out",
                )
            )
    return cavity, tuple(trouble)


def _floor_rises_above_top(lump: Lump, snap: Metre) -> bool:
    """Whether a tilted floor comes out of the lump's top somewhere inside its outline."""
    if lump.view != "plan" or lump.floor is None:
        return False
    normal, offset = lump.floor.normal, lump.floor.offset
    heights = (offset - lump.outline @ normal[:2]) / normal[2]
    return bool(np.max(heights) > lump.top + snap)


def _count(lumps: tuple[Lump, ...], name: str) -> int:
    return sum(lump.name == name for lump in lumps)


def _without_corner(lump: Lump, solid: LumpSolid, corner: int) -> Lump:
    """The lump less one outline corner, named by its place among those still in use."""
    kept = np.delete(np.asarray(lump.outline), solid.corner_names[corner] - 1, axis=0)
    return replace(lump, outline=kept)


def _piece_trouble(mesh: JoinedMesh, snap: Metre) -> tuple[Trouble, ...]:
    if len(mesh.pieces) <= 1:
        return ()
    if any(volume < 0.0 for volume in mesh.pieces):
        return (
            (
                "a cutting lump floats inside the shape and would leave a closed hollow",
                "let the cut reach a wall, the floor or the rail, or leave it out",
            ),
        )
    if mesh.pieces_gap <= snap:
        return (TOUCHING,)
    return (
        (
            f"the lumps make {len(mesh.pieces)} separate solids",
            "let them overlap, or make the cut that parts them smaller; a pan is one oil space",
        ),
    )
