"""``pan.step``: the kit's sheets as exact solids at their places, with the extra ``step``.

Flat and rolled parts keep their true arcs. Of a bent part each flat is exact and its
bends stand as narrow flats, as in the rebuild. Lengths are millimetres.
"""

from __future__ import annotations

import importlib
import importlib.util
import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.kit import FlatPart
from sumpwright.kit.model import Roll
from sumpwright.outputs.cut_files import file_word
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

MM = 1e3
COUNT = re.compile(rb"PRODUCT\('([^']*?) \d+',\s*'[^']*? \d+',\s*'',\s*")
STAMP = re.compile(rb"(FILE_NAME\('[^']*',')[^']*(')")


def can_write_step() -> bool:
    """Whether the extra is installed."""
    return importlib.util.find_spec("OCP") is not None


def step_bytes(parts: tuple[FlatPart, ...]) -> bytes:
    """All parts in one STEP file (AP214); the same parts give the same bytes."""
    control = importlib.import_module("OCP.STEPControl")
    interface = importlib.import_module("OCP.Interface")
    messages = importlib.import_module("OCP.Message")
    messages.Message.DefaultMessenger_s().ChangePrinters().Clear()  # it talks on the screen
    interface.Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer = control.STEPControl_Writer()
    for part in parts:
        interface.Interface_Static.SetCVal_s("write.step.product.name", file_word(part.name))
        for solid in part_shapes(part):
            writer.Transfer(solid, control.STEPControl_StepModelType.STEPControl_AsIs)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pan.step"
        writer.Write(str(path))
        written = path.read_bytes()
    # The library stamps its own name of the file and the time of day. It also counts the products
    # of the whole process, and where it breaks its lines hangs on how long that count is.
    written = re.sub(rb"\r?\n +", b"", written)
    written = COUNT.sub(rb"PRODUCT('\1','\1','',", written)
    return STAMP.sub(rb"FILE_NAME('pan.step','2000-01-01T00:00:00\2", written, count=1)


def part_shapes(part: FlatPart) -> list[Any]:
    """The solids of one part at their places [mm]."""
    if part.roll is not None:
        return [_rolled(part, part.roll)]
    if not part.folds:
        cut_outs = [_wire(outline, part.frame) for outline in part.cut_outs]
        holes = [_circle(hole, part.frame) for hole in part.holes]
        return [_swept(_wire(part.outline, part.frame), [*cut_outs, *holes], part.frame, part.thickness)]
    from sumpwright.kit.solids import rings
    from sumpwright.kit.unfolding import folded

    found = []
    for sheet in folded(part):
        if sheet.block is not None:
            found.append(_convex(sheet.block))
            continue
        top = FlatFrame(
            frozen_array(sheet.frame.origin + sheet.thickness * sheet.frame.normal),
            sheet.frame.x_axis,
            sheet.frame.y_axis,
        )
        outer, *inner = (_wire(_straight(ring), top) for ring in rings(sheet.outline))
        found.append(_swept(outer, inner, top, sheet.thickness))
    return found


def _straight(ring: FloatArray) -> Outline:
    return Outline(frozen_array(ring), frozen_array(np.zeros(len(ring))))


def _point(place: FloatArray) -> Any:
    return importlib.import_module("OCP.gp").gp_Pnt(*(MM * float(value) for value in place))


def _wire(outline: Outline, frame: FlatFrame) -> Any:
    """A closed line of straight pieces and true arcs in space."""
    build = importlib.import_module("OCP.BRepBuilderAPI")
    arcs = importlib.import_module("OCP.GC")
    points = np.asarray(outline.points)
    ends = [_point(place) for place in frame.to_space(points)]
    made = build.BRepBuilderAPI_MakeWire()
    for k, bulge in enumerate(outline.bulges):
        a, b = points[k], points[(k + 1) % len(points)]
        one, other = ends[k], ends[(k + 1) % len(points)]
        if bulge == 0.0:
            made.Add(build.BRepBuilderAPI_MakeEdge(one, other).Edge())
            continue
        chord = b - a
        middle = 0.5 * (a + b) + 0.5 * float(bulge) * np.array([chord[1], -chord[0]])
        on_arc = _point(frame.to_space(middle[None])[0])
        arc = arcs.GC_MakeArcOfCircle(one, on_arc, other).Value()
        made.Add(build.BRepBuilderAPI_MakeEdge(arc).Edge())
    return made.Wire()


def _circle(hole: Circle, frame: FlatFrame) -> Any:
    gp = importlib.import_module("OCP.gp")
    build = importlib.import_module("OCP.BRepBuilderAPI")
    centre = _point(frame.to_space(np.array([[hole.x, hole.y]]))[0])
    axis = gp.gp_Ax2(centre, gp.gp_Dir(*map(float, frame.normal)))
    edge = build.BRepBuilderAPI_MakeEdge(gp.gp_Circ(axis, 0.5 * MM * hole.diameter)).Edge()
    return build.BRepBuilderAPI_MakeWire(edge).Wire()


def _swept(outer: Any, inner: list[Any], frame: FlatFrame, thickness: Metre) -> Any:
    """A face with holes swept from the drawn side into the metal."""
    build = importlib.import_module("OCP.BRepBuilderAPI")
    sweep = importlib.import_module("OCP.BRepPrimAPI")
    repair = importlib.import_module("OCP.ShapeFix")
    gp = importlib.import_module("OCP.gp")
    face = build.BRepBuilderAPI_MakeFace(outer, True)
    for wire in inner:
        face.Add(wire)
    fixed = repair.ShapeFix_Face(face.Face())
    fixed.FixOrientation()
    down = gp.gp_Vec(*(-MM * thickness * float(value) for value in frame.normal))
    return sweep.BRepPrimAPI_MakePrism(fixed.Face(), down).Shape()


def _rolled(part: FlatPart, roll: Roll) -> Any:
    """A rolled strip with true cylinders, its ends dressed where they are to be."""
    build = importlib.import_module("OCP.BRepPrimAPI")
    gp = importlib.import_module("OCP.gp")
    cut = importlib.import_module("OCP.BRepAlgoAPI")
    length, width = np.ptp(np.asarray(part.outline.points), axis=0)
    half = 0.5 * float(length) / (roll.radius + 0.5 * part.thickness)
    centre = roll.frame.to_space(np.array([roll.centre]))[0]
    # The sector's middle points at the crown.
    side = roll.frame.y_axis * (-1.0 if roll.hollow_up else 1.0)
    first = np.cos(half) * side - np.sin(half) * np.cross(roll.frame.normal, side)
    axis = gp.gp_Ax2(_point(centre), gp.gp_Dir(*map(float, roll.frame.normal)), gp.gp_Dir(*map(float, first)))
    rounds = [
        build.BRepPrimAPI_MakeCylinder(axis, MM * radius, MM * float(width), 2.0 * half).Shape()
        for radius in (roll.radius + part.thickness, roll.radius)
    ]
    strip = cut.BRepAlgoAPI_Cut(*rounds).Shape()
    if roll.dressed_to is None:
        return strip
    reach = 4.0 * (roll.radius + part.thickness)
    corner = roll.frame.to_space(np.array([[roll.centre[0] - reach, roll.dressed_to]]))[0]
    corner = corner + 1.1 * width * roll.frame.normal
    top = FlatFrame(frozen_array(corner), roll.frame.x_axis, roll.frame.y_axis)
    box = _straight(np.array([(0.0, 0.0), (2.0 * reach, 0.0), (2.0 * reach, reach), (0.0, reach)]))
    return cut.BRepAlgoAPI_Cut(strip, _swept(_wire(box, top), [], top, 1.2 * float(width))).Shape()


def _convex(block: FloatArray) -> Any:
    """A facet of a bend: the convex body over its corners, as sewn triangles."""
    from manifold3d import Manifold

    build = importlib.import_module("OCP.BRepBuilderAPI")
    mesh = Manifold.hull_points(np.asarray(block)).to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3]
    sewing = build.BRepBuilderAPI_Sewing(1e-6)
    for triangle in np.asarray(mesh.tri_verts, dtype=np.int64):
        wire = _wire_in_space(points[triangle])
        sewing.Add(build.BRepBuilderAPI_MakeFace(wire, True).Face())
    sewing.Perform()
    topods = importlib.import_module("OCP.TopoDS")
    return build.BRepBuilderAPI_MakeSolid(topods.TopoDS.Shell_s(sewing.SewedShape())).Solid()


def _wire_in_space(corners: FloatArray) -> Any:
    build = importlib.import_module("OCP.BRepBuilderAPI")
    polygon = build.BRepBuilderAPI_MakePolygon()
    for corner in corners:
        polygon.Add(_point(corner))
    polygon.Close()
    return polygon.Wire()
