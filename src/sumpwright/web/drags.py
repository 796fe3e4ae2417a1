"""What can be dragged in the pan's picture, and what each drag writes into the job file."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.body.wall_model import PlacedWall
from sumpwright.job.typed_numbers import typed_length
from sumpwright.outputs.words import INCH
from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.fields import quoted_key
from sumpwright.web.messages import SetKey
from sumpwright.web.picture_messages import Drag
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.toml_edits import toml_text
from sumpwright.web.wire_numbers import point_mm, unit_vector

REACH_MM = 400.0
"""No drag goes further at once."""
LEAST_DEPTH_MM = 5.0


@dataclass(frozen=True, slots=True)
class DragWrite:
    """One key that a drag writes: number k of its text is at[k] + per_mm[k] times the way dragged [mm]."""

    key: str
    text: str  # with {0}, {1}, ... where the numbers go
    at: tuple[float, ...]  # in the unit of the text
    per_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Handhold:
    """Something that can be dragged, and what that writes."""

    drag: Drag
    writes: tuple[DragWrite, ...]

    def edits(self, to_mm: float) -> list[SetKey]:
        """The keys with the value that it was dragged to."""
        way = min(max(to_mm, self.drag.least_mm), self.drag.most_mm) - self.drag.value_mm
        found = []
        for write in self.writes:
            text = write.text
            for k, (at, per) in enumerate(zip(write.at, write.per_mm, strict=True)):
                text = text.replace(f"{{{k}}}", f"{at + per * way:.4f}".rstrip("0").rstrip("."))
            found.append(SetKey(do="set", file="job", key=write.key, text=text, was=None))
        return found


def drags_of(now: Snapshot) -> list[Drag]:
    """What can be dragged, for the picture."""
    return [hold.drag for hold in handholds(now)]


def edits_of_drag(now: Snapshot, name: str, to_mm: float) -> list[SetKey]:
    """What a drag writes. Raises EditRefusedError where there is no such thing any more."""
    for hold in handholds(now):
        if hold.drag.name == name:
            return hold.edits(to_mm)
    raise EditRefusedError(name, "there is nothing of this name to drag any more")


def handholds(now: Snapshot) -> list[Handhold]:
    """Floors, inner walls, doors and the pickup's mouth, as far as the file gives them by numbers."""
    data = now.files.data("job")
    units = "mm" if now.job is None else now.job.units
    dragging = _Dragging(units)
    found: list[Handhold] = []
    if now.job is not None:
        found += dragging.floors(now, data)
        found += dragging.mouth(data)
    body = now.results().body
    if body is not None and body.division is not None:
        for placed in body.division.walls:
            found += dragging.wall(placed, data)
    return found


class _Dragging:
    def __init__(self, units: str) -> None:
        self.unit = "in" if units == "in" else "mm"
        self.per_mm = 1e-3 / INCH if units == "in" else 1.0

    def number(self, text: Any) -> float | None:
        """A length of the file in the drag's unit; None where it is none."""
        length = typed_length(text)
        return None if length is None else length * 1e3 * self.per_mm

    def write(self, key: str, numbers: list[float], per: list[float], text: str) -> DragWrite:
        return DragWrite(key, text, tuple(numbers), tuple(one * self.per_mm for one in per))

    def floors(self, now: Snapshot, data: Mapping[str, Any]) -> list[Handhold]:
        found = []
        listed = data.get("lumps")
        lumps = {} if now.job is None else {lump.name: lump for lump in now.job.body.lumps}
        for own in listed if isinstance(listed, list) else []:
            lump = lumps.get(str(own.get("name"))) if isinstance(own, dict) else None
            depth = self.number(own.get("depth")) if isinstance(own, dict) else None
            if lump is None or depth is None or lump.floor is None:
                continue
            deep_mm = depth / self.per_mm
            at = own.get("depth_at")
            there = [self.number(one) for one in at] if isinstance(at, list) and len(at) == 2 else []
            if len(there) == 2 and there[0] is not None and there[1] is not None:
                x, y = there[0] / self.per_mm, there[1] / self.per_mm
            else:
                x, y = (float(one) * 1e3 for one in np.mean(lump.outline, axis=0))
            key = f"lumps.{quoted_key(lump.name)}.depth"
            drag = Drag(
                name=f"floor of {lump.name}",
                what="floor",
                key=key,
                place_mm=(round(x, 3), round(y, 3), round(-deep_mm, 3)),
                axis=(0.0, 0.0, -1.0),
                value_mm=round(deep_mm, 4),
                least_mm=min(deep_mm, LEAST_DEPTH_MM),
                most_mm=deep_mm + REACH_MM,
            )
            found.append(Handhold(drag, (self.write(key, [depth], [1.0], f"{{0}} {self.unit}"),)))
        return found

    def mouth(self, data: Mapping[str, Any]) -> list[Handhold]:
        pickup = data.get("pickup")
        now = pickup.get("mouth") if isinstance(pickup, dict) else None
        if not isinstance(now, list) or len(now) != 3:
            return []
        numbers = [self.number(one) for one in now]
        if any(number is None for number in numbers):
            return []
        places = [number for number in numbers if number is not None]
        text = toml_text([f"{{{k}}} {self.unit}" for k in range(3)])
        found = []
        for k, words in enumerate(("to the front", "to the left", "up")):
            axis = tuple(float(at == k) for at in range(3))
            value = places[k] / self.per_mm
            drag = Drag(
                name=f"mouth, {words}",
                what="pickup",
                key="pickup.mouth",
                place_mm=point_mm([place / self.per_mm / 1e3 for place in places]),
                axis=unit_vector(np.array(axis)),
                value_mm=round(value, 4),
                least_mm=value - REACH_MM,
                most_mm=value + REACH_MM,
            )
            found.append(Handhold(drag, (self.write("pickup.mouth", places, list(axis), text),)))
        return found

    def wall(self, placed: PlacedWall, data: Mapping[str, Any]) -> list[Handhold]:
        walls = data.get("walls")
        own = next(
            (one for one in walls or [] if isinstance(one, dict) and one.get("name") == placed.wall.name),
            None,
        )
        if own is None or placed.wall.kind != "wall":
            return []
        key = f"walls.{quoted_key(placed.wall.name)}"
        normal = placed.wall.frame.normal
        along = [float(normal[0]), float(normal[1])]
        text = toml_text([f"{{0}} {self.unit}", f"{{1}} {self.unit}"])
        found: list[Handhold] = []
        writes: list[DragWrite] = []
        for end in ("start", "end"):
            places = self.pair(own.get(end))
            if places:
                writes.append(self.write(f"{key}.{end}", places, along, text))
        if len(writes) == 2 and placed.outlines:
            middle = placed.wall.frame.to_space(np.mean(placed.outlines[0], axis=0)[None, :])[0]
            value = float(np.dot(along, writes[0].at)) / self.per_mm
            drag = Drag(
                name=placed.wall.name,
                what="wall",
                key=f"{key}.start",
                place_mm=point_mm(middle),
                axis=unit_vector(normal),
                value_mm=round(value, 4),
                least_mm=value - REACH_MM,
                most_mm=value + REACH_MM,
            )
            found.append(Handhold(drag, tuple(writes)))
        listed = own.get("doors")
        doors: list[Any] = listed if isinstance(listed, list) else []
        for at, door in enumerate(doors):
            found += self.door(placed, key, doors, at, door)
        return found

    def pair(self, given: Any) -> list[float]:
        """Two numbers of the file; empty where there are none."""
        numbers = [self.number(one) for one in given] if isinstance(given, list) and len(given) == 2 else []
        places = [number for number in numbers if number is not None]
        return places if len(places) == 2 else []

    def door(self, placed: PlacedWall, key: str, doors: list[Any], at: int, door: Any) -> list[Handhold]:
        places = self.pair(door.get("along")) if isinstance(door, dict) else []
        cut = (
            next((one for one in placed.cuts if one.cut.name == str(door.get("name"))), None)
            if places
            else None
        )
        if cut is None:
            return []
        # Braces in the other doors' names must not be taken for places of numbers: these are marked apart.
        marked = copy.deepcopy(doors)
        marked[at]["along"] = [f"\x01 {self.unit}", f"\x02 {self.unit}"]
        text = toml_text(marked).replace("\\u0001", "{0}").replace("\\u0002", "{1}")
        frame = placed.wall.frame
        middle = frame.to_space(np.mean(cut.outline, axis=0)[None, :])[0]
        value = places[0] / self.per_mm
        drag = Drag(
            name=cut.cut.name,
            what="door",
            key=f"{key}.doors",
            place_mm=point_mm(middle),
            axis=unit_vector(frame.x_axis),
            value_mm=round(value, 4),
            least_mm=value - REACH_MM,
            most_mm=value + REACH_MM,
        )
        return [Handhold(drag, (self.write(f"{key}.doors", places, [1.0, 1.0], text),))]
