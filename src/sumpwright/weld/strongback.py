"""The strongback: a thick plate with the rail's holes that keeps the flange flat until it is cold.

Drawn as the flange is, seen from below, on the side that touches the flange. Bolts go
through it into nuts behind; dowels are the rail's own. Clamp places are marked where bolts
lie far apart, chill bars are listed for the long straight seams.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from sumpwright.geometry import Circle, FlatFrame, Outline, Stroke
from sumpwright.kit.flange import flange_opening
from sumpwright.kit.lettering import words_width, write
from sumpwright.kit.metal import chords, mirrored
from sumpwright.kit.model import FlatPart, Mark, SheetKit
from sumpwright.quantities.units import FloatArray, Metre, NewtonMetre, Pascal, frozen_array
from sumpwright.tables.fasteners import find_thread
from sumpwright.tables.materials import find_material
from sumpwright.weld.chill_bars import with_bars
from sumpwright.weld.model import Strongback
from sumpwright.weld.strongback_formulas import bolt_pull, bolt_torque, stress_area
from sumpwright.weld.strongback_model import ChillBar, StrongbackGear

PLATE_NAME = "strongback"

WIDER: Metre = 0.0004
"""By which a bolt hole of the plate is wider than its bolt, all over: common practice."""

FAR_APART: Metre = 0.080
"""Bolts farther apart than this get a clamp between them: common practice."""

CHILL_FROM: Metre = 0.120
"""Seams shorter than this get no chill bar: common practice."""

CHILL_SHORT: Metre = 0.010
"""A chill bar ends so far before the seam's corners."""

ALUMINIUM_BAR = "6061-T6"

PROOF: Pascal = 600e6
PROOF_SHARE = 0.75
DRY = 0.20
"""Of a bolt of class 8.8 that is used again: from memory."""


def strongback_gear(asked: Strongback, kit: SheetKit) -> StrongbackGear | None:
    """The plate for this flange; None where there is no flange."""
    body = kit.body
    if body.cavity is None or body.flange_outside is None or not kit.parts:
        return None
    steel = find_material("mild")
    flange_metal = find_material(next(p.material for p in kit.parts if p.name.startswith("flange")))
    assert steel is not None
    assert flange_metal is not None
    line = Polygon(chords(mirrored(body.flange_outside)))
    around = line.convex_hull.buffer(asked.beyond, join_style="mitre", mitre_limit=1.6).simplify(5e-4)
    assert isinstance(around, Polygon)
    outline = _outline(around)
    openings = [
        Polygon(chords(mirrored(one))) for one in flange_opening(body.cavity, body.inputs.flange_thickness)
    ]
    mouth = shapely.union_all(openings)
    holes = [
        Circle(float(x), -float(y), _hole(fastener.kind, fastener.diameter), name)
        for name, (x, y), fastener in zip(
            body.pattern.names, body.pattern.xy, body.pattern.fasteners, strict=True
        )
    ]
    cut_outs: tuple[Outline, ...] = ()
    if asked.is_open:
        inner = mouth.buffer(-asked.rim, join_style="mitre").simplify(5e-4)
        pieces = [
            piece for piece in shapely.get_parts(inner) if isinstance(piece, Polygon) and piece.area > 1e-3
        ]
        cut_outs = tuple(_hole_line(piece) for piece in pieces)
    else:
        middle = mouth.representative_point()
        holes.append(Circle(float(middle.x), float(middle.y), asked.vent, "vent"))
    places, between = _clamps(kit)
    plate = FlatPart(
        name=PLATE_NAME,
        face=None,
        outline=outline,
        cut_outs=cut_outs,
        holes=tuple(holes),
        marks=_marks(around, cut_outs, holes, places),
        frame=FlatFrame(
            frozen_array([0.0, 0.0, 0.0]), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, -1.0, 0.0])
        ),
        thickness=asked.thickness,
        material=steel.id,
        note="for welding only: the flange is bolted to the marked side; seen from below",
    )
    is_aluminium = flange_metal.family == "aluminium"
    chills, bars = with_bars(_chills(kit), steel.id if is_aluminium else ALUMINIUM_BAR)
    metal = Polygon(around.exterior, [chords(cut) for cut in cut_outs])
    flange_thickness = body.inputs.flange_thickness
    return StrongbackGear(
        plate=plate,
        clamps=places,
        between=between,
        chills=chills,
        chill_metal="copper, or steel" if is_aluminium else "aluminium or copper",
        stiffness=steel.modulus.value
        * asked.thickness**3
        / (flange_metal.modulus.value * flange_thickness**3),
        mass=float(metal.area) * asked.thickness * steel.density.value,
        torques=_torques(kit),
        bars=bars,
    )


def _hole(kind: str, diameter: Metre) -> Metre:
    """Dowels fit, bolts and studs pass."""
    return diameter if kind == "dowel" else diameter + WIDER


def _outline(shape: Polygon) -> Outline:
    ring = np.asarray(orient(shape).exterior.coords)[:-1]
    return Outline(frozen_array(ring), frozen_array(np.zeros(len(ring))))


def _hole_line(shape: Polygon) -> Outline:
    ring = np.asarray(orient(shape).exterior.coords)[:-1][::-1]
    return Outline(frozen_array(ring), frozen_array(np.zeros(len(ring))))


def _torques(kit: SheetKit) -> tuple[tuple[str, NewtonMetre], ...]:
    """Three quarters of the proof stress of class 8.8, dry, for every thread of the rail."""
    found = {}
    for fastener in kit.body.pattern.fasteners:
        thread = None if fastener.thread is None else find_thread(fastener.thread)
        if thread is not None:
            pull = bolt_pull(stress_area(thread.diameter, thread.pitch), PROOF, PROOF_SHARE)
            found[thread.name] = bolt_torque(pull, thread.diameter, DRY)
    return tuple(sorted(found.items()))


def _clamps(kit: SheetKit) -> tuple[FloatArray, tuple[tuple[str, str], ...]]:
    """Half-way places (n, 2) on the flange's outer edge where neighbouring bolts lie far apart."""
    pattern = kit.body.pattern
    rows = [k for k, fastener in enumerate(pattern.fasteners) if fastener.kind != "dowel"]
    found, between = [], []
    assert kit.body.flange_outside is not None
    edge = shapely.LinearRing(chords(kit.body.flange_outside))
    for k, row in enumerate(rows):
        following = rows[(k + 1) % len(rows)]
        one, two = np.asarray(pattern.xy[row]), np.asarray(pattern.xy[following])
        if math.hypot(*(two - one)) <= FAR_APART:
            continue
        nearest = edge.interpolate(edge.project(shapely.Point(*(0.5 * (one + two)))))
        found.append((float(nearest.x), float(nearest.y)))
        between.append((pattern.names[row], pattern.names[following]))
    return frozen_array(np.array(found).reshape(-1, 2)), tuple(between)


def _chills(kit: SheetKit) -> tuple[ChillBar, ...]:
    """A bar for every long seam; under the flange it lies in the corner inside."""
    bars = []
    for joint in kit.joints:
        if joint.kind in ("bend", "flange joint", "patch plate") or joint.length < CHILL_FROM:
            continue
        # The bead is laid outside on all of these, so that the bar goes to its back.
        side = "outside" if joint.kind in ("inward cut back", "inward lap") else "inside"
        bars.append(ChillBar(f"{joint.part_a} to {joint.part_b}", joint.length - 2.0 * CHILL_SHORT, side))
    return tuple(sorted(bars, key=lambda bar: (-bar.length, bar.seam)))


def _marks(
    around: Polygon, cut_outs: tuple[Outline, ...], holes: list[Circle], places: FloatArray
) -> tuple[Mark, ...]:
    """Name, side, an arrow to the front where there is room, and a cross at every clamp."""
    marks = []
    free: BaseGeometry = around
    for cut in cut_outs:
        free = free.difference(Polygon(chords(cut)).buffer(0.004))
    for hole in holes:
        free = free.difference(shapely.Point(hole.x, hole.y).buffer(0.5 * hole.diameter + 0.003))
    free = free.buffer(-0.004)
    lines = (("strongback, flange this side", "side"), ("front", "front"))
    for words, kind in lines:
        for height in (0.012, 0.008, 0.006, 0.005, 0.004):
            arrow = 2.5 * height if kind == "front" else 0.0
            width = words_width(words, height) + (arrow + height if arrow else 0.0)
            middle = _room(free, width, 1.6 * height)
            if middle is None:
                continue
            at = middle - np.array([0.5 * (arrow + height), 0.0]) if arrow else middle
            strokes = list(write(words, height, at))
            if arrow:
                tip = middle + np.array([0.5 * width, 0.0])
                back, up = np.array([0.6 * height, 0.0]), np.array([0.0, 0.4 * height])
                strokes += [
                    Stroke(frozen_array([tip - [arrow, 0.0], tip])),
                    Stroke(frozen_array([tip - back + up, tip, tip - back - up])),
                ]
            marks.append(Mark(words, tuple(strokes), kind))  # type: ignore[arg-type]
            free = free.difference(
                shapely.box(
                    middle[0] - 0.5 * width, middle[1] - height, middle[0] + 0.5 * width, middle[1] + height
                )
            )
            break
    crosses = []
    for x, y in places:
        crosses += [
            Stroke(frozen_array([[x - 0.004, -y], [x + 0.004, -y]])),
            Stroke(frozen_array([[x, -y - 0.004], [x, -y + 0.004]])),
        ]
    if crosses:
        marks.append(Mark("clamps", tuple(crosses), "match"))
    return tuple(marks)


def _room(free: BaseGeometry, width: Metre, height: Metre) -> FloatArray | None:
    """Middle of a box of this size inside, nearest to the middle; None where there is none."""
    left, low, right, high = shapely.bounds(free)
    middle = np.array([0.5 * (left + right), 0.5 * (low + high)])
    x, y = np.meshgrid(np.arange(left, right, 0.004), np.arange(low, high, 0.004))
    places = np.column_stack([x.ravel(), y.ravel()])
    order = np.argsort(np.hypot(*(places - middle).T), kind="stable")
    boxes = shapely.box(
        places[order, 0] - 0.5 * width,
        places[order, 1] - 0.5 * height,
        places[order, 0] + 0.5 * width,
        places[order, 1] + 0.5 * height,
    )
    shapely.prepare(free)
    fits = shapely.contains(free, boxes)
    return np.asarray(places[order][int(np.argmax(fits))]) if fits.any() else None
