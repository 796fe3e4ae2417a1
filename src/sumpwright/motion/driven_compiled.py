"""The driven compartments, one step after the other, compiled. Imported only when wanted.

Arrays of all compartments and openings stand end to end; ``*_start`` (n + 1,) tells where
each one's stretch begins. Heights are ``n . p`` along each compartment's own up.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit

from sumpwright.oil.level_compiled import crosses_of, level_within, set_up

DISCHARGE = 0.61
MOST_DRAWN = 0.5  # of a compartment's oil, in one step
MOST_LEVELLED = 0.5  # of the difference in level, in one step
FULL = 0.999  # of its capacity, from which a space can be under pressure
PRESSURE_ROUNDS = 3  # where several spaces are full, one after the other
HALVINGS = 40  # down to rounding of a level

# Columns of a row of ``record``; the compartments' volumes and levels and the doors follow.
(
    AT,
    COVER,
    RESERVE,
    OIL_TAKEN,
    AIR_TAKEN,
    HELD_UP,
    CRANK_GAP,
    RAIL_GAP,
) = range(8)
FIXED = 8


@njit(cache=True)
def _drag(density: float, viscosity: float, diameter: float, thickness: float) -> float:
    """What thick oil adds in a sharp hole, [m/s]: the same for every head."""
    return float(
        6.0
        * math.pi
        * (viscosity / density)
        / diameter
        * (1.0 + 16.0 * thickness / (3.0 * math.pi * diameter))
    )


@njit(cache=True, inline="always")
def _hole_velocity(head: float, drag: float) -> float:
    """Velocity through a sharp hole under a pressure over density ``head`` [m2/s2]; thick oil included."""
    a = 1.0 / (2.0 * DISCHARGE * DISCHARGE)
    return 2.0 * head / (drag + math.sqrt(drag * drag + 4.0 * a * head))


@njit(cache=True, inline="always")
def _wet_head(head: float, half: float, pull: float) -> float:
    """Mean over a patch of pull * max(0, head) where the head runs from head - half to head + half."""
    wet = 0.0
    if head >= half:
        wet = pull * head
    elif head > -half:
        wet = pull * (head + half) * (head + half) / (4.0 * half)
    return wet


@njit(cache=True)
def _sides_of(patch_sides: Any, patch_start: Any) -> Any:
    """Half sides, each once an opening (s, 6); which of them a patch has (q,); where an opening's begin."""
    sides = np.empty((len(patch_sides), 6))
    side_of = np.empty(len(patch_sides), dtype=np.int64)
    side_start = np.zeros(len(patch_start), dtype=np.int64)
    count = 0
    for o in range(len(patch_start) - 1):
        for q in range(patch_start[o], patch_start[o + 1]):
            found = count
            for k in range(side_start[o], count):
                if (sides[k] == patch_sides[q]).all():
                    found = k
                    break
            if found == count:
                sides[count] = patch_sides[q]
                count += 1
            side_of[q] = found
        side_start[o + 1] = count
    return sides[:count].copy(), side_of, side_start


@njit(cache=True)
def _boxes_of(patches: Any, patch_sides: Any, patch_start: Any) -> Any:
    """Middle and half size of a box round each opening (o, 6) [m]."""
    boxes = np.empty((len(patch_start) - 1, 6))
    for o in range(len(boxes)):
        for axis in range(3):
            low, high = math.inf, -math.inf
            for q in range(patch_start[o], patch_start[o + 1]):
                reach = abs(patch_sides[q, axis]) + abs(patch_sides[q, 3 + axis])
                low = min(low, patches[q, axis] - reach)
                high = max(high, patches[q, axis] + reach)
            boxes[o, axis] = 0.5 * (low + high)
            boxes[o, 3 + axis] = 0.5 * (high - low) + 1e-9
    return boxes


@njit(cache=True, inline="always")
def _lowest(boxes: Any, o: int, x: float, y: float, z: float) -> float:
    """Height below which nothing of an opening lies along a unit up."""
    middle = x * boxes[o, 0] + y * boxes[o, 1] + z * boxes[o, 2]
    return float(middle - (abs(x) * boxes[o, 3] + abs(y) * boxes[o, 4] + abs(z) * boxes[o, 5]))


@njit(cache=True)
def _free_flow(
    o: int,
    i: int,
    j: int,
    level_i: float,
    level_j: float,
    up: Any,  # (c, 3)
    pull: float,
    is_pushed: bool,  # whether the mean push is asked for
    is_shut: bool,  # whether the flow is not
    patches: Any,
    sides: Any,
    side_of: Any,
    side_start: Any,
    patch_start: Any,
    drag: Any,
    whole: Any,
    boxes: Any,
    halves: Any,  # (s, 2) scratch
) -> Any:
    """Flow [m3/s] through an opening with nothing in it, and the mean push on it [m2/s2]."""
    ix, iy, iz = up[i, 0], up[i, 1], up[i, 2]
    jx, jy, jz = up[j, 0], up[j, 1], up[j, 2]
    if level_i < _lowest(boxes, o, ix, iy, iz) and level_j < _lowest(boxes, o, jx, jy, jz):
        return 0.0, 0.0
    # Half reach in height of the patches, one for all that have the same half sides.
    for k in range(side_start[o], side_start[o + 1]):
        a, b, c = sides[k, 0], sides[k, 1], sides[k, 2]
        d, e, f = sides[k, 3], sides[k, 4], sides[k, 5]
        halves[k, 0] = abs(ix * a + iy * b + iz * c) + abs(ix * d + iy * e + iz * f)
        halves[k, 1] = abs(jx * a + jy * b + jz * c) + abs(jx * d + jy * e + jz * f)
    thick = drag[o]
    flow = mean = 0.0
    for q in range(patch_start[o], patch_start[o + 1]):
        px, py, pz, part = patches[q, 0], patches[q, 1], patches[q, 2], patches[q, 3]
        hi = level_i - (ix * px + iy * py + iz * pz)
        hj = level_j - (jx * px + jy * py + jz * pz)
        half_i, half_j = halves[side_of[q], 0], halves[side_of[q], 1]
        if hi <= -half_i and hj <= -half_j:
            continue
        push = _wet_head(hi, half_i, pull) - _wet_head(hj, half_j, pull)
        if is_pushed:
            mean += push * part
        if is_shut:
            continue
        # Of the patch, the part that is wet on the side that pushes; one where all of it is.
        high, half = (hi, half_i) if push > 0.0 else (hj, half_j)
        wet = 1.0
        if high < half:
            wet = min(1.0, (high + half) / (2.0 * half))
        if wet <= 0.0:
            continue
        u = _hole_velocity(abs(push) / wet, thick) * part * wet
        flow += u if push > 0.0 else -u
    return flow, (mean / whole[o] if whole[o] > 0.0 else 0.0)


@njit(cache=True)
def _way_flow(
    o: int,
    free: float,
    mean: float,
    is_open: Any,
    passes: Any,
    door: Any,
    girth: Any,
    density: float,
    viscosity: float,
) -> float:
    """Flow [m3/s] through an opening with its flap as it stands now."""
    if door[o, 0] > 0.0:
        gap, lap = door[o, 2], max(door[o, 3], 1e-3)
        head = abs(mean)
        creeping = girth[o] * gap**3 * head * density / (12.0 * viscosity * lap)
        quick = DISCHARGE * girth[o] * gap * math.sqrt(2.0 * head)
        leak = min(creeping, quick)
        if mean < 0.0:
            leak = -leak
        return float(is_open[o] * free + (1.0 - is_open[o]) * leak)
    if passes[o] != 0 and free * passes[o] < 0.0:
        return 0.0
    return free


@njit(cache=True)
def _net_into(
    c: int,
    pressed: float,
    extra: Any,
    level: Any,
    up: Any,
    pull: float,
    is_open: Any,
    openings: Any,
    flow: Any,
) -> float:
    """What runs into a space on balance [m3/s] with its level counted as ``pressed`` [m] higher.

    The flows of its openings are written to ``flow``.
    """
    extra[c] = pressed
    patches, sides, side_of, side_start, patch_start, drag, whole, boxes, halves = openings[:9]
    passes, door, girth, ends, density, viscosity = openings[9:]
    net = 0.0
    for o in range(len(ends)):
        i, j = ends[o, 0], ends[o, 1]
        if c not in (i, j):
            continue
        is_door = door[o, 0] > 0.0
        free, mean = _free_flow(
            o,
            i,
            j,
            level[i] + extra[i],
            level[j] + extra[j],
            up,
            pull,
            is_door,
            is_door and is_open[o] == 0.0,
            patches,
            sides,
            side_of,
            side_start,
            patch_start,
            drag,
            whole,
            boxes,
            halves,
        )
        flow[o] = _way_flow(o, free, mean, is_open, passes, door, girth, density, viscosity)
        net += flow[o] if j == c else -flow[o]
    return net


@njit(cache=True)
def _press(
    c: int, extra: Any, level: Any, up: Any, pull: float, is_open: Any, openings: Any, flow: Any, room: float
) -> None:
    """Raise the counted level of a full space until what runs in finds ``room`` [m3/s]; flows follow."""
    if _net_into(c, 0.0, extra, level, up, pull, is_open, openings, flow) <= room:
        return
    low, high = 0.0, 1e-3
    for _ in range(24):  # up to kilometres: a bound is always found before
        if _net_into(c, high, extra, level, up, pull, is_open, openings, flow) <= room:
            break
        low, high = high, 2.0 * high
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if _net_into(c, middle, extra, level, up, pull, is_open, openings, flow) > room:
            low = middle
        else:
            high = middle
        if high - low < 1e-9:
            break


@njit(cache=True, nogil=True)
def drive(
    pulls: Any,  # (k, 3) m/s2, effective gravity in engine axes
    demand: Any,  # (k,) m3/s, what the pump moves
    dt: float,
    every: int,  # a record each so many steps
    lagged: bool,
    vertices: Any,  # (n, 3) m, walls carried up
    vertex_start: Any,  # (c + 1,)
    triangles: Any,  # (m, 3) into the compartment's own vertices
    triangle_start: Any,  # (c + 1,)
    capacity: Any,  # (c,) m3
    axes: Any,  # (c, 3, 3): two level directions and up, standing
    lengths: Any,  # (c, 2) m, length along the two directions
    damping: float,  # share of critical
    patches: Any,  # (q, 4): x, y, z, area
    patch_sides: Any,  # (q, 6): the two half sides of the patch [m]
    patch_start: Any,  # (o + 1,)
    ends: Any,  # (o, 2) compartments
    opening: Any,  # (o, 2): hydraulic diameter, thickness; the centre is in ``centres``
    centres: Any,  # (o, 3)
    passes: Any,  # (o,) 0 both, +1 forward, -1 backward
    door: Any,  # (o, 4): is a door, lag s, leak gap m, overlap m
    girth: Any,  # (o,) m
    stuck: Any,  # (o,) 0 works, 1 stuck open, 2 stuck shut
    density: float,
    viscosity: float,  # dynamic
    mouth: Any,  # (3,)
    mouth_axis: Any,  # (3,) unit, the rim's own up
    mouth_radius: float,
    home: int,  # compartment of the mouth
    returns: Any,  # (c,) shares of what comes back
    return_time: float,  # s
    held_up: float,  # m3 on the way at the start
    volumes: Any,  # (c,) m3 at the start; changed
    crank: Any,  # (n, 4): points on the sweep's axis and radius; may be empty
    rail_points: Any,  # (n, 3)
    record: Any,  # (rows, FIXED + 2 c + o + 3 c) out
) -> float:
    """Run the trace. Returns the error of the oil's balance at the end [m3]."""
    steps = len(pulls)
    comps = len(capacity)
    openings = len(ends)
    up = np.empty((comps, 3))
    lag = np.empty((comps, 3))
    speed = np.zeros((comps, 3))
    level = np.empty(comps)
    area = np.ones(comps)
    flow = np.empty(openings)
    extra = np.zeros(comps)
    is_full = np.zeros(comps, dtype=np.bool_)
    sides, side_of, side_start = _sides_of(patch_sides, patch_start)
    boxes = _boxes_of(patches, patch_sides, patch_start)
    halves = np.empty((len(sides), 2))
    drag = np.empty(openings)
    whole = np.zeros(openings)
    for o in range(openings):
        drag[o] = _drag(density, viscosity, opening[o, 0], opening[o, 1])
        for q in range(patch_start[o], patch_start[o + 1]):
            whole[o] += patches[q, 3]
    all_openings = (
        patches,
        sides,
        side_of,
        side_start,
        patch_start,
        drag,
        whole,
        boxes,
        halves,
        passes,
        door,
        girth,
        ends,
        density,
        viscosity,
    )
    is_open = np.zeros(openings)
    most_v = 0
    most_t = 0
    for c in range(comps):
        most_v = max(most_v, vertex_start[c + 1] - vertex_start[c])
        most_t = max(most_t, triangle_start[c + 1] - triangle_start[c])
    heights = np.empty(most_v)
    corner = np.empty((most_t, 4))
    crosses = np.empty((len(triangles), 3))
    for c in range(comps):
        own = vertices[vertex_start[c] : vertex_start[c + 1]]
        t0, t1 = triangle_start[c], triangle_start[c + 1]
        crosses[t0:t1] = crosses_of(own, triangles[t0:t1])
    first = pulls[0]
    for c in range(comps):
        for a in range(3):
            lag[c, a] = axes[c, a, 0] * first[0] + axes[c, a, 1] * first[1] + axes[c, a, 2] * first[2]
    started = held_up
    for c in range(comps):
        started += volumes[c]
    taken = 0.0
    row = 0
    air_sum = 0.0
    for o in range(openings):
        if stuck[o] == 1:
            is_open[o] = 1.0
    for step in range(steps):
        g = pulls[step]
        pull = max(math.sqrt(g[0] * g[0] + g[1] * g[1] + g[2] * g[2]), 1e-6)
        for c in range(comps):
            depth = max(volumes[c] / max(area[c], 1e-9), 1e-5)
            for a in range(3):
                target = axes[c, a, 0] * g[0] + axes[c, a, 1] * g[1] + axes[c, a, 2] * g[2]
                if not lagged or a == 2:
                    lag[c, a] = target
                    continue
                k = math.pi / max(lengths[c, a], 1e-4)
                own = math.sqrt(pull * k * math.tanh(k * depth))
                # The oscillator's own closed form over one step, so that neither its swing nor
                # its stability depends on the step, however quick a small compartment is.
                swing = own * math.sqrt(1.0 - damping * damping)
                fade = math.exp(-damping * own * dt)
                off = lag[c, a] - target
                turn = (speed[c, a] + damping * own * off) / swing
                cosine, sine = math.cos(swing * dt), math.sin(swing * dt)
                new = fade * (off * cosine + turn * sine)
                speed[c, a] = -damping * own * new + fade * swing * (turn * cosine - off * sine)
                lag[c, a] = target + new
            x = y = z = 0.0
            for a in range(3):
                x -= axes[c, a, 0] * lag[c, a]
                y -= axes[c, a, 1] * lag[c, a]
                z -= axes[c, a, 2] * lag[c, a]
            size = max(math.sqrt(x * x + y * y + z * z), 1e-9)
            up[c, 0], up[c, 1], up[c, 2] = x / size, y / size, z / size
            v0, v1 = vertex_start[c], vertex_start[c + 1]
            t0, t1 = triangle_start[c], triangle_start[c + 1]
            wanted = min(max(volumes[c], 0.0), capacity[c])
            count, lowest, highest, all_of_it = set_up(
                vertices[v0:v1],
                triangles[t0:t1],
                crosses[t0:t1],
                up[c, 0],
                up[c, 1],
                up[c, 2],
                heights,
                corner,
            )
            level[c] = level_within(count, lowest, highest, all_of_it, wanted, heights[: v1 - v0], corner)
            area[c] = _surface_area(corner, count, level[c])
        # Flow through every opening, doors moved by the push on them.
        for c in range(comps):
            extra[c] = 0.0
        for o in range(openings):
            i, j = ends[o, 0], ends[o, 1]
            # A door that is stuck shut passes nothing but its leak, which hangs on the mean push alone.
            is_shut = door[o, 0] > 0.0 and stuck[o] == 2
            free, mean = _free_flow(
                o,
                i,
                j,
                level[i],
                level[j],
                up,
                pull,
                door[o, 0] > 0.0,
                is_shut,
                patches,
                sides,
                side_of,
                side_start,
                patch_start,
                drag,
                whole,
                boxes,
                halves,
            )
            if door[o, 0] > 0.0:
                if stuck[o] == 0:
                    target = 1.0 if mean * passes[o] > 0.0 else 0.0
                    rate = dt / max(door[o, 1], dt)
                    is_open[o] += rate * (target - is_open[o])
                elif stuck[o] == 1:
                    is_open[o] = 1.0
                else:
                    is_open[o] = 0.0
            flow[o] = _way_flow(o, free, mean, is_open, passes, door, girth, density, viscosity)
        # Oil that fills a space to its roof passes a push on: its level counts as higher, until no
        # more runs in than out.
        full = 0
        for c in range(comps):
            is_full[c] = volumes[c] >= FULL * capacity[c]
            if is_full[c]:
                full += 1
        if full > 0:
            for _ in range(1 if full == 1 else PRESSURE_ROUNDS):
                for c in range(comps):
                    if is_full[c]:
                        room = (capacity[c] - volumes[c]) / dt
                        _press(c, extra, level, up, pull, is_open, all_openings, flow, room)
        # Two spaces never pass each other's level in one step.
        for o in range(openings):
            i, j = ends[o, 0], ends[o, 1]
            if extra[i] > 0.0 or extra[j] > 0.0:
                continue  # nothing is stored in a full space; its own balance holds the flow
            cx, cy, cz = centres[o, 0], centres[o, 1], centres[o, 2]
            di = level[i] - (up[i, 0] * cx + up[i, 1] * cy + up[i, 2] * cz)
            dj = level[j] - (up[j, 0] * cx + up[j, 1] * cy + up[j, 2] * cz)
            both = area[i] * area[j] / max(area[i] + area[j], 1e-12)
            most = MOST_LEVELLED * abs(di - dj) * both / dt
            if abs(flow[o]) > most:
                flow[o] = most if flow[o] > 0.0 else -most
        # No space gives more than half of what it has, none takes more than it can hold.
        for c in range(comps):
            out = 0.0
            for o in range(openings):
                if ends[o, 0] == c and flow[o] > 0.0:
                    out += flow[o]
                elif ends[o, 1] == c and flow[o] < 0.0:
                    out -= flow[o]
            most = MOST_DRAWN * max(volumes[c], 0.0) / dt
            if out > most:
                share = most / out
                for o in range(openings):
                    if (ends[o, 0] == c and flow[o] > 0.0) or (ends[o, 1] == c and flow[o] < 0.0):
                        flow[o] *= share
        for c in range(comps):
            into = 0.0
            out = 0.0
            for o in range(openings):
                if (ends[o, 1] == c and flow[o] > 0.0) or (ends[o, 0] == c and flow[o] < 0.0):
                    into += abs(flow[o])
                elif (ends[o, 0] == c and flow[o] > 0.0) or (ends[o, 1] == c and flow[o] < 0.0):
                    out += abs(flow[o])
            most = max(capacity[c] - volumes[c], 0.0) / dt + out
            if into > most:
                share = most / into
                for o in range(openings):
                    if (ends[o, 1] == c and flow[o] > 0.0) or (ends[o, 0] == c and flow[o] < 0.0):
                        flow[o] *= share
        # The mouth: how much of it is wet, and what the pump then gets.
        n = up[home]
        middle = level[home] - (n[0] * mouth[0] + n[1] * mouth[1] + n[2] * mouth[2])
        cosine = n[0] * mouth_axis[0] + n[1] * mouth_axis[1] + n[2] * mouth_axis[2]
        rise = mouth_radius * math.sqrt(max(0.0, 1.0 - cosine * cosine))
        cover = middle - rise
        wet = _wet_share(middle, rise)
        heavy = math.sqrt(density / 1.2)
        oil_share = wet / (wet + (1.0 - wet) * heavy) if wet > 0.0 else 0.0
        asked = demand[step]
        got = min(asked * oil_share, MOST_DRAWN * max(volumes[home], 0.0) / dt)
        air_sum += (asked - got) * dt
        taken += got * dt
        back_flow = held_up / return_time if return_time > 0.0 else got
        if return_time > 0.0:
            back_flow = min(back_flow, held_up / dt)
        if step % every == 0 and row < len(record):
            record[row, AT] = step * dt
            record[row, COVER] = cover
            v0, v1 = vertex_start[home], vertex_start[home + 1]
            t0, t1 = triangle_start[home], triangle_start[home + 1]
            below = _volume_below(
                vertices[v0:v1],
                triangles[t0:t1],
                n,
                level[home] - max(cover, 0.0),
            )
            spare = max(volumes[home] - below, 0.0) if cover > 0.0 else 0.0
            record[row, RESERVE] = spare / asked if asked > 0.0 else math.inf
            record[row, OIL_TAKEN] = got
            record[row, AIR_TAKEN] = air_sum
            record[row, HELD_UP] = held_up
            gap = math.inf
            for r in range(len(crank)):
                # A sphere along the sweep's axis: its lowest point along each compartment's own up.
                for c in range(comps):
                    if volumes[c] > 0.0:
                        gap = min(
                            gap,
                            up[c, 0] * crank[r, 0]
                            + up[c, 1] * crank[r, 1]
                            + up[c, 2] * crank[r, 2]
                            - crank[r, 3]
                            - level[c],
                        )
            record[row, CRANK_GAP] = gap
            gap = math.inf
            for r in range(len(rail_points)):
                for c in range(comps):
                    if volumes[c] > 0.0:
                        gap = min(
                            gap,
                            up[c, 0] * rail_points[r, 0]
                            + up[c, 1] * rail_points[r, 1]
                            + up[c, 2] * rail_points[r, 2]
                            - level[c],
                        )
            record[row, RAIL_GAP] = gap
            for c in range(comps):
                record[row, FIXED + c] = volumes[c]
                record[row, FIXED + comps + c] = level[c]
                for a in range(3):
                    record[row, FIXED + 2 * comps + openings + 3 * c + a] = up[c, a]
            for o in range(openings):
                record[row, FIXED + 2 * comps + o] = is_open[o] if door[o, 0] > 0.0 else flow[o]
            row += 1
        for o in range(openings):
            volumes[ends[o, 0]] -= flow[o] * dt
            volumes[ends[o, 1]] += flow[o] * dt
        volumes[home] -= got * dt
        held_up += (got - back_flow) * dt
        for c in range(comps):
            volumes[c] += back_flow * returns[c] * dt
    ended = held_up
    for c in range(comps):
        ended += volumes[c]
    return ended - started


@njit(cache=True)
def _wet_share(middle: float, rise: float) -> float:
    """Wet part of a disc whose middle stands this far under the surface and whose rim rises so far."""
    if rise < 1e-9:
        return 1.0 if middle > 0.0 else 0.0
    t = middle / rise
    if t >= 1.0:
        return 1.0
    if t <= -1.0:
        return 0.0
    return 0.5 + (t * math.sqrt(1.0 - t * t) + math.asin(t)) / math.pi


@njit(cache=True)
def _surface_area(corner: Any, rows: int, level: float) -> float:
    """Area of the oil's surface from the sorted rows that the level was found with."""
    area = 0.0
    for q in range(rows):
        low, middle, high, part = corner[q, 0], corner[q, 1], corner[q, 2], corner[q, 3]
        if level <= low:
            continue
        if level >= high:
            area -= part
        elif level <= middle:
            area -= part * ((level - low) / (middle - low)) * ((level - low) / (high - low))
        else:
            area -= part * (1.0 - ((high - level) / (high - middle)) * ((high - level) / (high - low)))
    return max(area, 1e-9)


@njit(cache=True)
def _volume_below(vertices: Any, triangles: Any, up: Any, level: float) -> float:
    """Volume of a closed surface below a level along ``up``."""
    volume = 0.0
    for t in range(len(triangles)):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        h0 = level - (up[0] * vertices[a, 0] + up[1] * vertices[a, 1] + up[2] * vertices[a, 2])
        h1 = level - (up[0] * vertices[b, 0] + up[1] * vertices[b, 1] + up[2] * vertices[b, 2])
        h2 = level - (up[0] * vertices[c, 0] + up[1] * vertices[c, 1] + up[2] * vertices[c, 2])
        if h0 <= 0.0 and h1 <= 0.0 and h2 <= 0.0:
            continue
        ux, uy, uz = (
            vertices[b, 0] - vertices[a, 0],
            vertices[b, 1] - vertices[a, 1],
            vertices[b, 2] - vertices[a, 2],
        )
        vx, vy, vz = (
            vertices[c, 0] - vertices[a, 0],
            vertices[c, 1] - vertices[a, 1],
            vertices[c, 2] - vertices[a, 2],
        )
        area = 0.5 * (up[0] * (uy * vz - uz * vy) + up[1] * (uz * vx - ux * vz) + up[2] * (ux * vy - uy * vx))
        if area == 0.0:
            continue
        high, middle, low = max(h0, h1, h2), h0 + h1 + h2 - max(h0, h1, h2) - min(h0, h1, h2), min(h0, h1, h2)
        if low >= 0.0:
            mean = (h0 + h1 + h2) / 3.0
        elif middle <= 0.0:
            mean = high / 3.0 * (high / (high - middle)) * (high / (high - low))
        else:
            dry = -low
            mean = (h0 + h1 + h2) / 3.0 + dry / 3.0 * (dry / (middle - low)) * (dry / (high - low))
        volume -= area * mean
    return volume
