"""Can every rail bolt and the drain plug be turned with the shop's own tools.

A socket comes straight up (or square to the drain's floor): a round bar of the socket's
size over the head, then one of the extension's size behind it. A flat wrench lies round the
head; its handle must find an arc at least as wide as one bite.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body.clearance import Parts, gathered
from sumpwright.body.finding_words import place_of
from sumpwright.body.fittings import on_face
from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.outside import PanPart, drain_place, head_size, outside_parts
from sumpwright.body.rail_shape_model import flange_face_at
from sumpwright.body.surroundings import BoltAccess, Socket, Tools, Wrench
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.geometry.triangle_distance import group_triangles, least_gap
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

HANDLE_DIRECTIONS = 36
SWING_DIRECTIONS = 72
"""Directions in which a ratchet's handle is tried: its free swing is known to 5 degrees, never too large."""
SAME_SIZE: Metre = 0.0003
"""A socket within this of the head's width fits it."""
BOLT = "bolt head"
HEAD_HEIGHT = 0.4
"""A hexagon head is 0.7 of its thread high and 1.7 of it across the flats."""
_Room = tuple[Metre, str, tuple[float, float, float]]
"""Room beside a tool, what is nearest, and where on its surface [m]."""
FAR: Metre = 0.05
"""Room beside a tool is not measured farther than this."""


@dataclass(frozen=True, slots=True, eq=False)
class _Head:
    """A head to turn: where its seat is, which way the tool comes off, and its size."""

    name: str
    seat: FloatArray  # (3,) m, face of flange, washer or boss under the head
    away: FloatArray  # (3,) unit, from the seat out over the head
    width: Metre
    height: Metre


def bolt_access(body: PanBody, cavity: Cavity) -> tuple[BoltAccess, ...]:
    """Access to every bolt, stud nut and the drain plug; empty where the shop's tools are not given."""
    around = body.inputs.surroundings
    if around.tools is None:
        return ()
    parts = [part for part in outside_parts(body, cavity) if part.name != "flange"]
    kept = [
        PanPart(out.name, out.triangles, 0.0) for out in around.keep_outs if out.lies == "outside the pan"
    ]
    still = gathered((*(part for part in parts if not part.name.startswith(BOLT)), *kept))
    heads = {part.name: part for part in parts if part.name.startswith(BOLT)}
    answers = []
    for name, xy, fastener in zip(body.pattern.names, body.pattern.xy, body.pattern.fasteners, strict=True):
        if fastener.kind == "dowel":
            continue
        width, height, _ = head_size(fastener)
        level = flange_face_at(body.uneven, xy)
        seat = np.array([xy[0], xy[1], level - body.inputs.flange_thickness - around.washer])
        head = _Head(f"hole {name}", seat, np.array([0.0, 0.0, -1.0]), width, height)
        others = tuple(part for key, part in heads.items() if key != f"{BOLT} {name}")
        answers.append(_access(head, [still, *([gathered(others)] if others else [])], around.tools))
    drain = drain_place(body, cavity)
    if drain is not None and around.plug is not None:
        point, face = drain
        away = np.asarray(face.plane.normal)
        seat = point + away * body.inputs.sheet
        head = _Head("drain plug", seat, away, around.plug.across_flats, around.plug.stands_out)
        others = tuple(part for part in (*parts, *kept) if part.name not in ("drain plug", face.name))
        answers.append(_access(head, [gathered(others)], around.tools))
    for fitting in body.inputs.fittings:
        found = on_face(cavity, fitting.at) if fitting.head is not None else None
        if fitting.head is None or found is None or (fitting.kind == "drain" and around.plug is not None):
            continue
        away = np.asarray(found.face.plane.normal)
        # The head sits at the end of what stands out, its seat one head's height below that.
        drop = max(0.0, fitting.stands_out - HEAD_HEIGHT * fitting.head)
        seat = found.place + (body.inputs.sheet + drop) * away
        head = _Head(fitting.name, seat, away, fitting.head, fitting.stands_out - drop)
        others = tuple(part for part in (*parts, *kept) if part.name not in (fitting.name, found.face.name))
        answers.append(_access(head, [gathered(others)], around.tools))
    return tuple(answers)


def _access(head: _Head, obstacles: list[Parts], tools: Tools) -> BoltAccess:
    sockets = [one for one in tools.sockets if abs(one.across_flats - head.width) <= SAME_SIZE]
    wrenches = [one for one in tools.wrenches if abs(one.across_flats - head.width) <= SAME_SIZE]
    place = frozen_array(head.seat)
    if not sockets and not wrenches:
        return BoltAccess(head.name, "", None, "", place, 0.0, "no tool of this size is in the shop file")
    tried = [_by_socket(head, socket, obstacles) for socket in sockets]
    best = max(tried, default=None, key=lambda one: one.room)
    set_back = 0.0
    if best is not None:
        if best.room[0] >= 0.0:
            swing, click = best.swing, best.socket.click
            room, nearest, _ = best.room
            return BoltAccess(head.name, "socket", room, nearest, place, 0.0, free_swing=swing, click=click)
        set_back = -best.room[0]
    turned = [(*_wrench_room(head, wrench, obstacles), "wrench") for wrench in wrenches]
    reached = max(turned, default=None)
    if reached is not None and reached[0] >= 0.0:
        return BoltAccess(head.name, reached[3], reached[0], reached[1], place, set_back)
    worst = best.room if best is not None else reached
    assert worst is not None
    stop = frozen_array(worst[2])
    return BoltAccess(head.name, "", worst[0], worst[1], place, set_back or -worst[0], stop=stop)


@dataclass(frozen=True, slots=True)
class _BySocket:
    """One socket tried on one head."""

    socket: Socket
    room: _Room
    swing: Radian | None  # of its handle; None where it has none or does not get on


def _by_socket(head: _Head, socket: Socket, obstacles: list[Parts]) -> _BySocket:
    """Straight on, and then the ratchet's handle round: it has to pass one tooth at least."""
    room = _socket_room(head, socket, obstacles)
    if socket.handle_length is None or room[0] < 0.0:
        return _BySocket(socket, room, None)
    middle = head.seat + socket.reach * head.away
    half = 0.5 * socket.handle_width
    bar = Wrench(
        socket.across_flats, socket.handle_width, socket.handle_width, socket.handle_length, 0.0, socket.click
    )
    x_axis, y_axis = axes_in_plane(head.away)
    rooms = [
        _triangles_room(_handle(middle, x_axis, y_axis, bar, turn), obstacles, half)
        for turn in 2.0 * math.pi * np.arange(SWING_DIRECTIONS) / SWING_DIRECTIONS
    ]
    swing = free_arc([one[0] >= 0.0 for one in rooms])
    if swing >= max(socket.click, 1e-9):
        return _BySocket(socket, min(room, max(rooms)), swing)
    step = 2.0 * math.pi / SWING_DIRECTIONS
    bite = max(2, math.ceil(socket.click / step - 1e-9) + 1)
    count = SWING_DIRECTIONS
    arcs = [min(rooms[(first + k) % count] for k in range(min(bite, count))) for first in range(count)]
    return _BySocket(socket, max(arcs), None)


def free_arc(is_free: list[bool]) -> Radian:
    """Widest turn through neighbouring free directions, evenly spread round a circle."""
    count = len(is_free)
    if all(is_free):
        return 2.0 * math.pi
    best = run = 0
    for k in range(2 * count):
        run = run + 1 if is_free[k % count] else 0
        best = max(best, min(run, count))
    return max(0, best - 1) * 2.0 * math.pi / count


def _disc_room(start: FloatArray, end: FloatArray, radius: Metre, obstacles: list[Parts]) -> _Room:
    """Room round a round bar with flat ends.

    Tried first as one with round ends drawn in by its radius, so that a bar longer than it is
    wide does not reach beyond its own ends; its rims are tried as rings of points.
    """
    along = end - start
    length = float(np.linalg.norm(along))
    way = along / length
    if length > 2.0 * radius:
        inner = np.array([[start + radius * way, end - radius * way, end - radius * way]])
        room = _triangles_room(inner, obstacles, radius)
    else:
        room = FAR, "", (0.0, 0.0, 0.0)
    x_axis, y_axis = axes_in_plane(way)
    turns = 2.0 * math.pi * np.arange(24) / 24
    ring = radius * (np.outer(np.cos(turns), x_axis) + np.outer(np.sin(turns), y_axis))
    for centre in (start, end):
        rim = centre + ring
        disc = np.stack([np.repeat(centre[None], 24, axis=0), rim, np.roll(rim, -1, axis=0)], axis=1)
        room = min(room, _triangles_room(disc, obstacles))
    return room


def _triangles_room(triangles: FloatArray, obstacles: list[Parts], skin: Metre = 0.0) -> _Room:
    room, nearest, where = FAR, "", (0.0, 0.0, 0.0)
    tool = group_triangles(triangles, np.full(len(triangles), skin))
    for one in obstacles:
        found = least_gap(tool, one.surface, room)
        if found is not None and found.gap < room:
            room, nearest = found.gap, one.names[int(one.part[found.second])]
            where = place_of(found.on_second)
    return room, nearest, where


def _socket_room(head: _Head, socket: Socket, obstacles: list[Parts]) -> _Room:
    lift = 0.001 * head.away  # the socket's mouth does not touch the seat
    mouth = head.seat + lift
    behind = head.seat + socket.length * head.away
    far_end = head.seat + max(socket.reach, socket.length + 2.0 * socket.extension) * head.away
    return min(
        _disc_room(mouth, behind, 0.5 * socket.outside, obstacles),
        _disc_room(behind, far_end, 0.5 * socket.extension, obstacles),
    )


def _wrench_room(head: _Head, wrench: Wrench, obstacles: list[Parts]) -> _Room:
    """Room of a flat wrench in its best arc of one bite."""
    half = 0.5 * wrench.head_thickness
    middle = head.seat + max(half, 0.5 * head.height) * head.away
    x_axis, y_axis = axes_in_plane(head.away)
    turns = 2.0 * math.pi * np.arange(24) / 24
    # Half the thickness goes round as a skin, so the outline is drawn in by as much.
    reach = max(0.5 * wrench.head_width - half, 1e-4)
    rim = middle + reach * (np.outer(np.cos(turns), x_axis) + np.outer(np.sin(turns), y_axis))
    disc = np.stack([np.repeat(middle[None], 24, axis=0), rim, np.roll(rim, -1, axis=0)], axis=1)
    head_room = _triangles_room(disc, obstacles, half)
    if head_room[0] < 0.0:
        return head_room
    rooms = [
        _triangles_room(_handle(middle, x_axis, y_axis, wrench, turn), obstacles, half)
        for turn in 2.0 * math.pi * np.arange(HANDLE_DIRECTIONS) / HANDLE_DIRECTIONS
    ]
    step = 2.0 * math.pi / HANDLE_DIRECTIONS
    bite = math.ceil(wrench.swing / step - 1e-9) + 1
    arcs = [
        min(rooms[(first + k) % HANDLE_DIRECTIONS] for k in range(bite)) for first in range(HANDLE_DIRECTIONS)
    ]
    return min(head_room, max(arcs))


def _handle(
    middle: FloatArray, x_axis: FloatArray, y_axis: FloatArray, wrench: Wrench, turn: float
) -> FloatArray:
    along = math.cos(turn) * x_axis + math.sin(turn) * y_axis
    half = 0.5 * wrench.head_thickness
    width = max(0.5 * wrench.handle_width - half, 0.0)
    beside = width * (math.cos(turn) * y_axis - math.sin(turn) * x_axis)
    end = middle + (wrench.length - half) * along
    return np.array(
        [[middle - beside, end - beside, end + beside], [middle - beside, end + beside, middle + beside]]
    )
