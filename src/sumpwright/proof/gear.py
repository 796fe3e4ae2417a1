"""What closes the pan for the leak test: blanking plate, gasket, ports, clamp bolts, plugs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from sumpwright.geometry import Circle
from sumpwright.geometry.meshing import mesh_polygon
from sumpwright.kit import FlatPart, Mark, SheetKit
from sumpwright.kit.flange import flange_frame, flange_opening
from sumpwright.kit.lettering import words_width, write
from sumpwright.kit.metal import chords, mirrored, reversed_outline
from sumpwright.proof.formulas import lid_thrust, lift_between_bolts, plate_stiffness
from sumpwright.proof.model import GearRow, Port, ProofInputs, TestGear
from sumpwright.proof.plates import unit_plates
from sumpwright.quantities.units import FloatArray, Metre, Pascal, frozen_array
from sumpwright.tables.materials import Material, find_material

PLATE_NAME = "blanking plate"
GASKET_NAME = "test gasket"
GASKET_LIFT: Metre = 50e-6
"""How far a plate may lift off a gasket between two bolts: common practice."""
PORTS = ("air in, through the regulator", "gauge", "relief valve")
PORT_APART: Metre = 0.045
GASKET_HOLE: Metre = 0.001
"""By which a hole of the gasket is wider than the widest hole that it lies between."""
_POISSON = 0.3


def gear_of(inputs: ProofInputs, kit: SheetKit, pressure: Pascal) -> TestGear | None:
    """The gear for one test pressure; None where there is no flange to close."""
    body = kit.body
    metal = find_material(inputs.plate_material)
    if body.cavity is None or body.flange_outside is None or not kit.flange_holes or metal is None:
        return None
    outside = mirrored(body.flange_outside)
    openings = [mirrored(opening) for opening in flange_opening(body.cavity, body.inputs.flange_thickness)]
    mouth = shapely.union_all([Polygon(chords(opening)) for opening in openings])
    wetted = _sealed_area(mouth, inputs.gasket_thickness)
    bolts = _bolts(kit)
    thickness, stress, limit, bulge = _thickness(inputs, metal, wetted, bolts, pressure)
    pitch = _widest_pitch(bolts)
    thrust = lid_thrust(pressure, wetted.area)
    land = max(0.006, (Polygon(chords(outside)).area - mouth.area) / max(mouth.length, 1e-9))
    lift = lift_between_bolts(thrust / mouth.length, pitch, metal.modulus.value, land, thickness)
    ports = _ports(mouth, inputs.port_hole)
    holes = tuple(
        Circle(float(x), -float(y), hole.diameter, hole.hole)
        for hole in kit.flange_holes
        for x, y in (body.pattern.xy[body.pattern.index(hole.hole)],)
    )
    frame = flange_frame(body.inputs.flange_thickness)
    plate = FlatPart(
        name=PLATE_NAME,
        face=None,
        outline=outside,
        cut_outs=(),
        holes=(*holes, *(Circle(port.x, port.y, port.diameter, port.purpose) for port in ports)),
        marks=_marks(mouth, ports),
        frame=frame,
        thickness=thickness,
        material=metal.id,
        note="for the leak test, and the guide for opening the flange's holes; seen from below",
    )
    gasket = FlatPart(
        name=GASKET_NAME,
        face=None,
        outline=outside,
        cut_outs=tuple(reversed_outline(opening) for opening in openings),
        holes=tuple(replace(hole, diameter=hole.diameter + GASKET_HOLE) for hole in holes),
        marks=(),
        frame=frame,
        thickness=inputs.gasket_thickness,
        material="rubber",
        note="cut with a knife; covers both faces wherever one of them has metal",
    )
    return TestGear(
        plate=plate,
        gasket=gasket,
        ports=ports,
        plate_thickness=thickness,
        plate_stress=stress,
        plate_stress_limit=limit,
        plate_bulge=bulge,
        lift=lift,
        lift_limit=GASKET_LIFT,
        widest_pitch=pitch,
        thrust=thrust,
        bolt_share=thrust * pitch / _girth(bolts),
        rows=_rows(kit, ports),
        curved_lands=tuple(land.name for land in body.pattern.lands if land.kind != "flat"),
    )


def _sealed_area(mouth: BaseGeometry, gasket: Metre) -> Polygon:
    """What the air can press on: the opening, and the gasket's width that it may creep under."""
    pieces = [piece for piece in shapely.get_parts(mouth) if isinstance(piece, Polygon)]
    largest = max(pieces, key=lambda piece: piece.area)
    grown = largest.buffer(max(gasket, 0.002), join_style="mitre")
    assert isinstance(grown, Polygon)
    return _simpler(grown, 3e-4)


def _simpler(shape: Polygon, off: Metre) -> Polygon:
    simple = shape.simplify(off)
    return orient(simple if isinstance(simple, Polygon) else shape)


def _bolts(kit: SheetKit) -> FloatArray:
    """Clamp bolts (n, 2) in ring order, in the flange's drawn axes."""
    pattern = kit.body.pattern
    rows = [k for k, fastener in enumerate(pattern.fasteners) if fastener.kind != "dowel"]
    return np.asarray(np.asarray(pattern.xy)[rows] * np.array([1.0, -1.0]))


def _widest_pitch(bolts: FloatArray) -> Metre:
    return float(np.hypot(*(np.roll(bolts, -1, axis=0) - bolts).T).max())


def _girth(bolts: FloatArray) -> Metre:
    return float(np.hypot(*(np.roll(bolts, -1, axis=0) - bolts).T).sum())


def _thickness(
    inputs: ProofInputs, metal: Material, wetted: Polygon, bolts: FloatArray, pressure: Pascal
) -> tuple[Metre, Pascal, Pascal, Metre]:
    """The thinnest plate to be had that stays below half yield, below half its thickness, and tight.

    The plate turns freely over the line through its bolts: the kinder holding of its edges is
    not counted on.
    """
    span = _span(wetted, bolts)
    strength = metal.yield_strength or metal.yield_at_weld
    limit = 0.5 * strength.value if strength is not None else 0.0
    size = float(np.sqrt(span.area / 300.0))
    _, plate = unit_plates(mesh_polygon(span, size, least=size / 6.0), _POISSON)
    pitch = _widest_pitch(bolts)
    width = 0.02
    found = (0.0, 0.0, limit, 0.0)
    for thickness in inputs.plate_thicknesses:
        stress = 6.0 * max(plate.worst_inside, plate.worst_at_edge) * pressure / thickness**2
        bend = plate_stiffness(metal.modulus.value, thickness, _POISSON)
        bulge = plate.worst_deflection * pressure / bend
        lift = lift_between_bolts(
            lid_thrust(pressure, wetted.area) / wetted.length, pitch, metal.modulus.value, width, thickness
        )
        found = (thickness, stress, limit, bulge)
        if stress <= limit and bulge <= 0.5 * thickness and lift <= GASKET_LIFT:
            break
    return found


def _span(wetted: Polygon, bolts: FloatArray) -> Polygon:
    """The plate between its bolts: the line through them, where that holds the whole opening."""
    ring = Polygon(bolts)
    if ring.is_valid and ring.contains(wetted):
        return orient(ring)
    joined = shapely.union_all([wetted, Polygon(bolts).buffer(0)])
    pieces = [piece for piece in shapely.get_parts(joined) if isinstance(piece, Polygon)]
    return _simpler(Polygon(max(pieces, key=lambda piece: piece.area).exterior), 5e-4)


def _ports(mouth: BaseGeometry, diameter: Metre) -> tuple[Port, ...]:
    """Three holes in a row over the widest part of the opening, well inside it."""
    pieces = [piece for piece in shapely.get_parts(mouth) if isinstance(piece, Polygon)]
    largest = max(pieces, key=lambda piece: piece.area)
    middle = shapely.maximum_inscribed_circle(largest, 1e-4).coords
    x, y = middle[0]
    room = largest.buffer(-0.015)
    best = (-1.0, (1.0, 0.0))
    for angle in np.linspace(0.0, np.pi, 12, endpoint=False):
        way = (float(np.cos(angle)), float(np.sin(angle)))
        row = shapely.LineString(
            [
                (x - 2 * PORT_APART * way[0], y - 2 * PORT_APART * way[1]),
                (x + 2 * PORT_APART * way[0], y + 2 * PORT_APART * way[1]),
            ]
        )
        inside = float(row.intersection(room).length)
        if inside > best[0] + 1e-6:
            best = (inside, way)
    apart = min(PORT_APART, 0.5 * best[0])
    return tuple(
        Port(purpose, x + k * apart * best[1][0], y + k * apart * best[1][1], diameter)
        for k, purpose in zip((-1, 0, 1), PORTS, strict=True)
    )


def _marks(mouth: BaseGeometry, ports: tuple[Port, ...]) -> tuple[Mark, ...]:
    """The plate's name, from where it is seen, and which end is the front, clear of the ports."""
    pieces = [piece for piece in shapely.get_parts(mouth) if isinstance(piece, Polygon)]
    free: BaseGeometry = max(pieces, key=lambda piece: piece.area).buffer(-0.004)
    for port in ports:
        free = free.difference(shapely.Point(port.x, port.y).buffer(port.diameter))
    lines = ("BLANKING PLATE", "SEEN FROM BELOW", "FRONT TO THE RIGHT")
    for height in (0.010, 0.008, 0.006, 0.005):
        width = max(words_width(line, height) for line in lines)
        for x, y in _grid(free, 0.008):
            box = shapely.box(x - width / 2, y - 2.4 * height, x + width / 2, y + 2.4 * height)
            if free.contains(box):
                at = [frozen_array([x, y + (1 - k) * 1.7 * height]) for k in range(3)]
                return (
                    Mark(lines[0], write(lines[0], height, at[0]), "name"),
                    Mark(lines[1], write(lines[1], height, at[1]), "side"),
                    Mark(lines[2], write(lines[2], height, at[2]), "side"),
                )
    return ()


def _grid(shape: BaseGeometry, step: Metre) -> list[tuple[float, float]]:
    low_x, low_y, high_x, high_y = shape.bounds
    return [
        (float(x), float(y)) for y in np.arange(low_y, high_y, step) for x in np.arange(low_x, high_x, step)
    ]


def _rows(kit: SheetKit, ports: tuple[Port, ...]) -> tuple[GearRow, ...]:
    """Fittings, bolts and plugs by number."""
    pattern = kit.body.pattern
    threads: dict[str, int] = {}
    for fastener in pattern.fasteners:
        if fastener.kind != "dowel":
            name = fastener.thread or f"{fastener.diameter * 1e3:.0f} mm"
            threads[name] = threads.get(name, 0) + 1
    dowels = sum(fastener.kind == "dowel" for fastener in pattern.fasteners)
    rows = [
        GearRow(
            f"clamp bolts {thread}",
            str(count),
            "with nut and two washers each, through flange, gasket and plate; never into the engine's block",
        )
        for thread, count in threads.items()
    ]
    if dowels:
        rows.append(GearRow("dowel holes", str(dowels), "lie under the gasket's land or get a rubber plug"))
    rows += [GearRow(f"port: {port.purpose}", "1", "fitting with a washer under it") for port in ports]
    bosses = () if kit.internals is None else kit.internals.bosses
    for boss in bosses:
        fitting = boss.fitting
        how = (
            "an expanding rubber plug, tied back: it is a shot when it lets go"
            if fitting.thread == "plain"
            else "its own plug with its washer, tightened as in use"
        )
        rows.append(GearRow(f"plug for {fitting.name}", "1", f"{fitting.thread}: {how}"))
    rows.append(GearRow("regulator", "1", "full scale at most 35 kPa, behind it the relief valve"))
    return tuple(rows)
