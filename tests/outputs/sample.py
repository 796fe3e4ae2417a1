"""A leaned tray-and-sump pan with its kit, put together by hand to draw from.

Not a solved pan: the stages are not called. Only the outputs read it, and they must
show what stands here, right or wrong.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from sumpwright.body import (
    BodyInputs,
    Cavity,
    DipstickTube,
    Edge,
    Face,
    FlangeOutline,
    PanBody,
    Pickup,
)
from sumpwright.body.surroundings import BoltAccess, Clearance, Fit, GroundClearance, SlopePassed, Withdrawal
from sumpwright.body.wall_model import (
    Compartment,
    Division,
    Door,
    InnerWall,
    Opening,
    PlacedCut,
    PlacedWall,
    WallCut,
)
from sumpwright.findings import Assumption, Figure, Finding, Proposal, Verdict
from sumpwright.geometry import Circle, FlatFrame, Outline, Plane, Stroke
from sumpwright.job.model import Job, JobResults, Sheet, Shop
from sumpwright.kit import (
    CutterRules,
    FlangeHole,
    FlatPart,
    Joint,
    KitInputs,
    Mark,
    RebuildReport,
    SheetKit,
)
from sumpwright.oil import DipMark, LevelRow, OilInputs, OilResult
from sumpwright.quantities import Attitude, EnginePlacement, Measured
from sumpwright.quantities.units import FloatArray, frozen_array, frozen_indices
from sumpwright.rail import (
    BoltLine,
    Fastener,
    HolePattern,
    Land,
    RailHole,
    RailInputs,
    RailResult,
    Reading,
    ReadingCheck,
    Seal,
)

LEAN = math.radians(15.0)
SHEET = 0.003
FLANGE = 0.010
UP = frozen_array([0.0, math.sin(LEAN), math.cos(LEAN)])
_BOLT = Fastener("bolt", "M6", 0.006, 0.001, 0.014, False, 0.016)
_STUD = Fastener("stud", "M8", 0.008, 0.00125, None, True, 0.040)
_DOWEL = Fastener("dowel", None, 0.008, None, 0.012)

HOLES: tuple[tuple[str, float, float, Fastener], ...] = (
    ("h1", 0.0, 0.0, _BOLT),
    ("h2", 74.2, 1.1, _BOLT),
    ("h3", 148.9, -0.8, _BOLT),
    ("h4", 226.0, 0.4, _STUD),
    ("h5", 301.3, 0.2, _BOLT),
    ("h6", 377.1, -1.4, _BOLT),
    ("h7", 452.0, 0.0, _BOLT),
    ("h8", 455.3, -107.0, _BOLT),
    ("h9", 452.2, -214.1, _BOLT),
    ("h10", 376.8, -213.2, _BOLT),
    ("h11", 300.9, -214.6, _BOLT),
    ("h12", 225.7, -214.0, _STUD),
    ("h13", 150.4, -213.5, _BOLT),
    ("h14", 75.3, -214.9, _BOLT),
    ("h15", 0.4, -214.0, _BOLT),
    ("d1", -9.0, -60.0, _DOWEL),
    ("d2", -9.0, -154.0, _DOWEL),
)
NAMES = tuple(name for name, *_ in HOLES)


def pattern() -> HolePattern:
    """Hole centres with a covariance that grows along the rail."""
    rng = np.random.default_rng(20)
    xy = np.array([[x, y] for _, x, y, _ in HOLES]) * 1e-3
    root = rng.normal(size=(2 * len(HOLES), 2 * len(HOLES))) * 1.5e-5
    root *= (0.6 + np.repeat(np.abs(xy[:, 0]), 2) * 3.0)[:, None]
    free = root @ root.T / 6.0
    fixed = free.copy()
    fixed[:2, :] = 0.0
    fixed[:, :2] = 0.0
    return HolePattern(
        names=NAMES,
        xy=frozen_array(xy),
        covariance=frozen_array(fixed),
        free_covariance=frozen_array(free),
        fasteners=tuple(fastener for *_, fastener in HOLES),
        edge_diameters=tuple(Measured(f.diameter + 2e-4, 2e-5, "m") for *_, f in HOLES),
        lands=(
            Land("main", "flat", Seal("liquid sealant", 0.0003)),
            Land("front arch", "arch", Seal("end seal", 0.003), 0.0, 0.052, 0.014, "h7", "h9"),
        ),
        land_of_hole=tuple("main" for _ in HOLES),
    )


def rail_inputs() -> RailInputs:
    """The rail as the job would give it."""
    return RailInputs(
        holes=tuple(RailHole(name, f, "main", f.diameter + 2e-4) for name, _, _, f in HOLES),
        readings=readings(),
        datum="h1",
        second="h7",
        bearing_left=0.0,
        mirror=None,
        lands=pattern().lands,
        block_material="grey-iron",
        thread_material="grey-iron",
        temperature=293.15,
        coverage_limit=0.0003,
        washer=0.0016,
        flange_thickness=FLANGE,
        new_bolt_lengths=(0.020, 0.025, 0.030),
    )


def readings() -> tuple[Reading, ...]:
    """Neighbours, second neighbours and some across; h4-h12 misread by a hole radius."""
    where = {name: np.array([x, y]) * 1e-3 for name, x, y, _ in HOLES}
    size = {name: f.diameter + 2e-4 for name, _, _, f in HOLES}
    ring = list(NAMES)
    pairs = [(ring[k], ring[(k + step) % len(ring)]) for step in (1, 2) for k in range(len(ring))]
    pairs += [("h1", "h9"), ("h4", "h12"), ("h7", "h15"), ("h3", "h11"), ("h5", "h13")]
    rng = np.random.default_rng(5)
    lines = []
    for number, (a, b) in enumerate(pairs):
        centre = float(np.linalg.norm(where[a] - where[b]))
        kind = ("inside", "outside", "centre")[number % 3]
        half = (size[a] + size[b]) / 2
        value = centre + {"inside": -half, "outside": half, "centre": 0.0}[kind]
        value += rng.normal() * 3e-5 + (0.0033 if (a, b) == ("h4", "h12") else 0.0)
        lines.append(
            Reading(
                number + 2, kind, a, b, round(value, 5), "caliper" if centre < 0.15 else "tape", 5e-5, True
            )  # type: ignore[arg-type]
        )
    return tuple(lines)


def rail_result() -> RailResult:
    """Adjusted pattern, readings table, bolts."""
    checks = []
    for reading in readings():
        bad = (reading.a, reading.b) == ("h4", "h12")
        residual = -0.0033 if bad else 2e-5 * math.sin(reading.line * 1.7)
        redundancy = 0.04 if reading.line == 9 else 0.55
        checks.append(
            ReadingCheck(
                reading,
                reading.value + residual,
                residual,
                redundancy,
                None if redundancy < 0.1 else abs(residual) / (5e-5 * math.sqrt(redundancy)),
                None if redundancy < 0.1 else 2.8e-4,
                bad,
                reading.value - 0.0033 if bad else None,
                6e-5 if bad else None,
            )
        )
    bolts = tuple(
        BoltLine(
            name,
            f.thread or "",
            f.old_bolt_length,
            0.0125,
            0.0119,
            0.009,
            0.025,
            0.0131,
            0.0009,
            f.kind == "stud",
        )
        if name != "h8"
        else BoltLine(name, f.thread or "", None, None, 0.0119, 0.009, None, None, None, False)
        for name, _, _, f in HOLES
        if f.kind != "dowel"
    )
    return RailResult(pattern(), (), tuple(checks), 12, 10.4, (4.40, 23.34), 0.93, 1.0, bolts)


def _vertices() -> FloatArray:
    x0, x1, y0, y1 = 12.0, 440.0, -202.0, -12.0
    s0, s1, t1 = 180.0, 380.0, -40.0
    tray = -60.0
    level = -100.0 * math.sin(LEAN) - 118.0 * math.cos(LEAN)

    def low(y: float) -> float:
        return (level - y * math.sin(LEAN)) / math.cos(LEAN)

    points = [
        (x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0),  # 0-3 rail
        (x0, y0, tray), (x1, y0, tray), (x1, y1, tray), (x0, y1, tray),  # 4-7 tray floor
        (s0, y0, tray), (s1, y0, tray), (s1, t1, tray), (s0, t1, tray),  # 8-11 sump mouth
        (s0, y0, low(y0)), (s1, y0, low(y0)), (s1, t1, low(t1)), (s0, t1, low(t1)),  # 12-15 sump floor
    ]  # fmt: skip
    return frozen_array(np.array(points) * 1e-3)


_FACES: tuple[tuple[str, str, str, tuple[int, ...]], ...] = (
    ("rail opening", "rail", "tray", (0, 1, 2, 3)),
    ("tray left wall", "wall", "tray", (2, 6, 7, 3)),
    ("tray front wall", "wall", "tray", (1, 5, 6, 2)),
    ("tray rear wall", "wall", "tray", (3, 7, 4, 0)),
    ("right wall", "wall", "tray", (0, 4, 8, 12, 13, 9, 5, 1)),
    ("tray floor", "floor", "tray", (4, 7, 6, 5, 9, 10, 11, 8)),
    ("sump left wall", "wall", "sump", (10, 14, 15, 11)),
    ("sump front wall", "wall", "sump", (9, 13, 14, 10)),
    ("sump rear wall", "wall", "sump", (11, 15, 12, 8)),
    ("sump floor", "floor", "sump", (12, 15, 14, 13)),
)


def _plane(corners: FloatArray) -> Plane:
    normal = np.zeros(3)
    for k in range(len(corners)):
        normal += np.cross(corners[k], corners[(k + 1) % len(corners)])
    normal /= np.linalg.norm(normal)
    return Plane(frozen_array(normal), float(normal @ corners.mean(axis=0)))


def cavity() -> Cavity:
    """Ten plane faces: a tray with a sump whose floor is level with the ground."""
    points = _vertices()
    faces, triangles, owner = [], [], []
    for index, (name, role, lump, loop) in enumerate(_FACES):
        plane = _plane(points[list(loop)])
        frame = _frame(plane, points[loop[0]])
        flat = frame.to_flat(points[list(loop)])
        x, y = flat[:, 0], flat[:, 1]
        area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        faces.append(Face(index, name, role, lump, plane, (frozen_indices(loop),), area))  # type: ignore[arg-type]
        for a, b, c in _ears(flat):
            triangles.append((loop[a], loop[b], loop[c]))
            owner.append(index)
    edges = []
    seen: dict[tuple[int, int], tuple[int, int, int]] = {}
    for index, (_, _, _, loop) in enumerate(_FACES):
        for k, start in enumerate(loop):
            end = loop[(k + 1) % len(loop)]
            if (end, start) in seen:
                other = seen.pop((end, start))[0]
                na, nb = faces[other].plane.normal, faces[index].plane.normal
                along = points[start] - points[end]
                length = float(np.linalg.norm(along))
                angle = math.pi - math.atan2(float(np.cross(na, nb) @ along) / length, float(na @ nb))
                edges.append(
                    Edge(len(edges), other, index, end, start, length, angle, angle > math.pi + 1e-9)
                )
            else:
                seen[start, end] = (index, start, end)
    tri = np.array(triangles)
    p = points[tri]
    volume = float(np.einsum("ij,ij->i", p[:, 0], np.cross(p[:, 1], p[:, 2])).sum() / 6)
    return Cavity(
        points,
        tuple(faces),
        tuple(edges),
        frozen_indices(tri),
        frozen_indices(owner),
        (("tray", 0.00488), ("sump", volume - 0.00488)),
        volume,
    )


def _frame(plane: Plane, origin: FloatArray) -> FlatFrame:
    normal = plane.normal
    x_axis = np.array([1.0, 0.0, 0.0]) if abs(normal[2]) > 0.7 else np.cross([0.0, 0.0, 1.0], normal)
    x_axis = x_axis - normal * (x_axis @ normal)
    x_axis /= np.linalg.norm(x_axis)
    return FlatFrame(frozen_array(origin), frozen_array(x_axis), frozen_array(np.cross(normal, x_axis)))


def _ears(flat: FloatArray) -> list[tuple[int, int, int]]:
    left = list(range(len(flat)))
    out = []

    def turn(a: int, b: int, c: int) -> float:
        u, v = flat[b] - flat[a], flat[c] - flat[a]
        return float(u[0] * v[1] - u[1] * v[0])

    while len(left) > 3:
        for k in range(len(left)):
            a, b, c = left[k - 1], left[k], left[(k + 1) % len(left)]
            inside = any(
                turn(a, b, p) >= 0 and turn(b, c, p) >= 0 and turn(c, a, p) >= 0
                for p in left
                if p not in (a, b, c)
            )
            if turn(a, b, c) > 1e-12 and not inside:
                out.append((a, b, c))
                left.pop(k)
                break
        else:
            raise AssertionError("no ear")
    return [*out, (left[0], left[1], left[2])]


def body() -> PanBody:
    """The pan body."""
    inputs = BodyInputs(
        lumps=(),
        sheet=SHEET,
        flange_thickness=FLANGE,
        flange=FlangeOutline(0.011, 0.005),
        up=UP,
        dipstick=DipstickTube(
            frozen_array([0.330, -0.150, 0.080]), frozen_array([-0.116, 0.232, -0.966]), 0.190
        ),
        pickup=Pickup(frozen_array([0.300, -0.120, -0.092]), 0.032),
        drain=frozen_array([0.300, -0.060, -0.13]),
    )
    return PanBody(
        inputs,
        pattern(),
        cavity(),
        (),
        (),
        Outline(frozen_array(_flange_plan()[0] * [1, -1]), frozen_array(-_flange_plan()[1])),
    )


def _flange_plan() -> tuple[FloatArray, FloatArray]:
    """Outer flange line as seen from below (y down the page is +left): rounded corners as bulges."""
    x0, x1, y0, y1, r = -0.020, 0.467, -0.012, 0.226, 0.014
    bulge = math.tan(math.pi / 8)
    points = [
        (x0 + r, y0), (x1 - r, y0), (x1, y0 + r), (x1, y1 - r),
        (x1 - r, y1), (x0 + r, y1), (x0, y1 - r), (x0, y0 + r),
    ]  # fmt: skip
    return np.array(points), np.array([0, bulge, 0, bulge, 0, bulge, 0, bulge], dtype=float)


def _cross(x: float, y: float, size: float = 0.004) -> tuple[Stroke, ...]:
    return (
        Stroke(frozen_array([[x - size, y], [x + size, y]])),
        Stroke(frozen_array([[x, y - size], [x, y + size]])),
    )


def _arrow(x: float, y: float) -> tuple[Stroke, ...]:
    return (
        Stroke(frozen_array([[x, y], [x + 0.02, y]])),
        Stroke(frozen_array([[x + 0.014, y + 0.004], [x + 0.02, y], [x + 0.014, y - 0.004]])),
    )


def divided_body() -> PanBody:
    """The same pan with one inner wall, two compartments and things round it."""
    frame = FlatFrame(
        frozen_array([0.280, -0.190, -0.100]), frozen_array([0.0, 1.0, 0.0]), frozen_array([0.0, 0.0, 1.0])
    )
    line = frozen_array([[0.0, 0.0], [0.15, 0.0], [0.15, 0.08], [0.0, 0.08]])
    window = frozen_array([[0.05, 0.02], [0.09, 0.02], [0.09, 0.04], [0.05, 0.04]])
    cut = WallCut("door 1", "door", window, None, Door("with normal", 0.0002, 0.005))
    wall = InnerWall("wall 1", "wall", frame, SHEET, (), line, (cut,))
    whole = cavity().surface()
    parts_of_it = tuple(
        Compartment(k, name, whole, frozen_array([]), 0.0033, frozen_array([x, -0.1, -0.05]), ())
        for k, (name, x) in enumerate((("around the pickup", 0.35), ("rear", 0.12)))
    )
    opening = Opening(
        0, "door 1", "door", "wall 1", 1, 0, (frame.to_space(window),), 8e-4,
        frozen_array([0.28, -0.12, -0.07]), frozen_array([1.0, 0.0, 0.0]), SHEET, 0.027, False,
        cut.door, "forward",
    )  # fmt: skip
    division = Division(
        parts_of_it,
        (opening,),
        (PlacedWall(wall, (line,), (PlacedCut(cut, window, 8e-4),), (), 0.0112, 3e-5),),
        (),
    )
    place = frozen_array([0.3, -0.1, -0.13])
    fit = Fit(
        (
            Clearance(
                "rack", 0.012, "sump front wall", "engine rocked 2 deg to the left", place, place, False, 0
            ),
            Clearance("axle", -0.003, "sump floor", "axle up 60 mm", place, place, False, 0),
        ),
        GroundClearance(0.118, "sump floor", place, 0.058, SlopePassed(0.5, place)),
        (
            BoltAccess("hole h1", "socket 10 mm", 0.004, "", place, 0.0),
            BoltAccess("hole h5", "", -0.002, "sump left wall", place, 0.004),
        ),
        Withdrawal(True, (("down", 0.14), ("to the rear", 0.05)), "", 0.14, 0.003),
    )
    return replace(body(), division=division, fit=fit)


def parts() -> tuple[FlatPart, ...]:
    """One flat a face with plain open corners, and the flange ring."""
    whole = cavity()
    flats = []
    for face in whole.faces:
        if face.role == "rail":
            continue
        loop = whole.vertices[face.loops[0]]
        if face.role == "wall":
            loop = np.where(np.abs(loop[:, 2:3]) < 1e-9, loop - [0, 0, FLANGE], loop)
        frame = _frame(face.plane, loop[0] + face.plane.normal * SHEET)
        flat = frame.to_flat(loop)
        corner = flat.min(axis=0)
        frame = FlatFrame(frame.to_space(corner[None, :])[0], frame.x_axis, frame.y_axis)
        flat = flat - corner
        x, y = flat[list(_ears(flat)[0])].mean(axis=0)
        holes = (Circle(0.100, 0.04, 0.022, "drain"),) if face.name == "sump floor" else ()
        marks = (
            Mark(face.name, _cross(x, y), "name"),
            Mark("front", _arrow(x - 0.01, y - 0.012), "front"),
        )
        flats.append(
            FlatPart(
                face.name,
                face.index,
                Outline(frozen_array(flat), frozen_array(np.zeros(len(flat)))),
                (),
                holes,
                marks,
                frame,
                SHEET,
                "5052-H32",
            )
        )
    points, bulges = _flange_plan()
    frame = FlatFrame(
        frozen_array([0.0, 0.0, -FLANGE]), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, -1.0, 0.0])
    )
    inner = np.array([[0.012, 0.012], [0.012, 0.202], [0.440, 0.202], [0.440, 0.012]])
    flange = FlatPart(
        "flange",
        None,
        Outline(frozen_array(points), frozen_array(bulges)),
        (Outline(frozen_array(inner), frozen_array(np.zeros(4))),),
        tuple(Circle(x * 1e-3, -y * 1e-3, hole_size(f), name) for name, x, y, f in HOLES),
        (Mark("front", _arrow(0.22, -0.006), "front"),),
        frame,
        FLANGE,
        "5052-H32",
    )
    return (*flats, flange)


def hole_size(fastener: Fastener) -> float:
    """A plausible flange hole."""
    return {0.006: 0.0074, 0.008: 0.0096}[fastener.diameter]


def kit(*, refused: bool = False) -> SheetKit:
    """The flats with a rebuild report."""
    from sumpwright.kit.model import Gap

    gaps = (
        Gap("gap", "sump front wall, right wall and sump floor meet", 0.0042, 0.003, (0.38, -0.202, -0.09)),
    )
    whole = cavity()
    names = {face.index: face.name for face in whole.faces}
    joints = tuple(
        Joint(
            edge.index,
            names[edge.face_a],
            names[edge.face_b],
            "inward cut back" if edge.is_inward else "open corner",
            edge.corner_angle,
            edge.length,
            None if edge.is_inward else math.pi - edge.corner_angle,
            9e-6,
            tuple(whole.vertices[edge.start]),
            tuple(whole.vertices[edge.end]),
        )
        for edge in whole.edges
        if "rail opening" not in (names[edge.face_a], names[edge.face_b])
    )
    return SheetKit(
        body(),
        parts(),
        joints,
        RebuildReport(
            0.0042 if refused else 0.00012,
            0.0,
            0.0,
            100_000,
            31 if refused else 0,
            gaps if refused else (),
            refused,
            "a gap wider than the sheet stays open" if refused else "",
        ),
        tuple(
            FlangeHole(name, hole_size(f), 0.0003, 0.00012, 0.00025, 0.00021, 0.00058)
            for name, _, _, f in HOLES
        ),
        frozen_array([-0.009, -0.107]),
        3.4,
        2.31,
    )


def oil() -> OilResult:
    """Levels and marks."""
    level = -0.052
    return OilResult(
        0.0068,
        0.00759,
        level,
        level - 0.011,
        level - 0.013,
        (DipMark("full", 0.0048, 0.131, 0.059), DipMark("low", 0.0038, 0.145, 0.045)),
        tuple(LevelRow(0.02 * k, 0.118 - 0.02 * k, 0.0006 * k * (1 + 0.1 * k)) for k in range(1, 6)),
        (("tray", 0.0031), ("sump", 0.0017)),
        0.00003,
        14.0,
    )


def findings() -> tuple[Finding, ...]:
    """One of every verdict, in the order of the work."""
    return (
        Finding(
            "RAIL-01",
            Verdict.FAILS,
            "reading h4-h12, line 38 of rail.csv",
            "reading {read} does not agree with the others; it should have been {should}",
            (Figure("read", 0.21727, "m", "length", 2), Figure("should", 0.21397, "m", "length", 2)),
            0.0033,
            0.0002,
            "m",
            "length",
            0.00012,
            "Seven other readings say so; the odds of a chance are below 1 in 1,000.",
            "Measure h4-h12 again. It was left out meanwhile.",
            "baarda-1968",
            (0.226, -0.107, 0.0),
        ),
        Finding(
            "RAIL-02",
            Verdict.CLOSE,
            "hole h9",
            "hole h9 could be off by {u95}, {limit} allowed",
            (Figure("u95", 0.00029, "m", "length"), Figure("limit", 0.0003, "m", "length")),
            0.00029,
            0.0003,
            "m",
            "length",
            None,
            "From the readings' own uncertainty.",
            "One more reading h9-h1 would help most.",
            "adjustment-computations",
            (0.4522, -0.2141, 0.0),
        ),
        Finding(
            "BODY-02",
            Verdict.HOLDS,
            "whole pan",
            "the lumps join into one solid of {volume}",
            (Figure("volume", 0.00759, "m3", "volume"),),
            source="plane-geometry",
        ),
        Finding(
            "OIL-01",
            Verdict.HOLDS,
            "full mark",
            "the oil stands {gap} below the rail at the full mark, at least {limit} wanted",
            (Figure("gap", 0.034, "m", "length"), Figure("limit", 0.010, "m", "length")),
            0.034,
            0.010,
            "m",
            "length",
            0.0011,
            "",
            "",
            "plane-geometry",
        ),
        Finding(
            "OIL-04",
            Verdict.CANNOT_SAY,
            "windage",
            "the crank's sweep is not given, so nobody can say whether it whips the oil",
            do="Enter engine.crank_radius and engine.crank_height.",
            source="common-practice",
        ),
        Finding(
            "KIT-01",
            Verdict.HOLDS,
            "the whole kit",
            "rebuilt from its flats the worst gap is {gap}, {limit} allowed; none of {rays} rays got out",
            (
                Figure("gap", 0.00012, "m", "length"),
                Figure("limit", 0.003, "m", "length"),
                Figure("rays", 100_000, "1", "count"),
            ),
            0.00012,
            0.003,
            "m",
            "length",
            None,
            "Geometry only: cutting and bending errors come on top.",
            "",
            "derived",
            cautions=("sharp edges",),
        ),
    )


def job(folder: Path | None = None, *, units: str = "mm", paper: str = "A4") -> Job:
    """The job that belongs to it."""
    folder = folder or Path("leaned-four")
    cutter = CutterRules("laser", 0.00025, 0.003, 0.003, 0.0045, None)
    return Job(
        folder=folder,
        job_file=folder / "job.toml",
        name="Leaned four, invented",
        slug="leaned-four",
        units=units,  # type: ignore[arg-type]
        paper=paper,  # type: ignore[arg-type]
        placement=EnginePlacement(Attitude(lean_right=LEAN), datum_height=0.262),
        rail=rail_inputs(),
        body=body().inputs,
        oil=OilInputs(0.0048, 0.001, 0.0048, 0.0009, 0.0002, UP),
        kit=KitInputs("5052-H32", "5052-H32", 2680.0, 2680.0, 23.8e-6, 11.4e-6, 90.0, cutter, cutter),
        shop=Shop(
            "bench",
            "EUR",
            (Sheet("5052-H32", 0.003, (1.0, 2.0), None, True),),
            (0.020, 0.025),
            (("caliper", 5e-5),),
            ("stock.price",),
        ),
        assumptions=(),
        texts=(("job.toml", b"# by hand\n"),),
    )


def results(*, refused: bool = False) -> JobResults:
    """What flow would hand over."""
    return JobResults(
        rail_result(),
        body(),
        oil(),
        kit(refused=refused),
        findings(),
        (
            Proposal(
                "OIL-04",
                "lumps.sump.depth",
                "126 mm",
                "brings the full mark {drop} lower",
                (Figure("drop", 0.006, "m", "length"),),
            ),
        ),
        (
            Assumption(
                "rail.caliper_u",
                "one caliper reading is good to {u} (standard uncertainty)",
                (Figure("u", 5e-5, "m", "length"),),
            ),
        ),
        (("sumpwright", "0.1.0"), ("numpy", "2")),
    )


def nothing() -> JobResults:
    """Every stage missing: the network could not be solved."""
    return JobResults(
        RailResult(None, (("no reading joins h7 to the rest", "a reading h7-h6"),), (), 0, None, None, None),
        None,
        None,
        None,
        (
            Finding(
                "RAIL-09",
                Verdict.CANNOT_SAY,
                "hole h7",
                "no reading joins hole h7 to the others",
                do="Measure h7-h6 and h7-h8.",
                source="adjustment-computations",
            ),
        ),
        (),
        (),
        (("sumpwright", "0.1.0"),),
    )
