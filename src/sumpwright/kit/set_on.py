"""What is set onto the pan without piercing it: posts, the stone guard, the plate for a jack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from sumpwright.body import Cavity, PanBody
from sumpwright.body.fittings import Jacking, StandOff, StoneGuard, under
from sumpwright.body.guard import GuardShape, guard_shape
from sumpwright.body.outside import GUARD, LOAD_PLATE
from sumpwright.findings import Figure
from sumpwright.geometry import Circle, FlatFrame, Outline, Stroke
from sumpwright.kit.bosses import nearest_panel
from sumpwright.kit.inner_walls import part_of_shape
from sumpwright.kit.internals_model import BoughtPart, InternalTrouble, PlacedPlate, PlacedPost
from sumpwright.kit.marks import with_words
from sumpwright.kit.metal import metal_of
from sumpwright.kit.model import FlatPart, Mark
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

WELD_ROOM: Metre = 0.004
"""Sheet round a post for its bead: common practice."""
CROSS: Metre = 0.004
"""Half the width of the etched cross at a post's place."""


@dataclass(frozen=True, slots=True)
class SetOn:
    """The panels with their posts etched, the plates, and what is said of both."""

    panels: tuple[FlatPart, ...]
    parts: tuple[FlatPart, ...]
    posts: tuple[PlacedPost, ...]
    plates: tuple[PlacedPlate, ...]
    bought: tuple[BoughtPart, ...]
    trouble: tuple[InternalTrouble, ...]


def place_what_is_set_on(body: PanBody, panels: Sequence[FlatPart], cavity: Cavity, material: str) -> SetOn:
    """Everything of it, each where it is asked."""
    inputs = body.inputs
    found = {part.name: part for part in panels}
    posts: list[PlacedPost] = []
    plates: list[PlacedPlate] = []
    parts: list[FlatPart] = []
    trouble: list[InternalTrouble] = []
    shape = guard_shape(body, cavity)
    under_guard = () if shape is None else shape.posts
    for post in (*inputs.stand_offs, *under_guard):
        placed = _post(post, found, cavity)
        if isinstance(placed, InternalTrouble):
            trouble.append(placed)
        else:
            posts.append(placed[0])
            found[placed[1].name] = placed[1]
    if inputs.guard is not None and shape is not None:
        parts.append(_guard(shape, inputs.guard))
        trouble += _feet_missed(shape, inputs.guard)
    jacking = inputs.jacking
    if jacking is not None and jacking.at is not None:
        made = _load_plate(jacking, list(found.values()), cavity, material)
        if isinstance(made, InternalTrouble):
            trouble.append(made)
        else:
            parts.append(made[0])
            plates.append(made[1])
    bought = _bought(posts, inputs.guard if shape is not None else None, material)
    return SetOn(tuple(found.values()), tuple(parts), tuple(posts), tuple(plates), bought, tuple(trouble))


def _post(
    post: StandOff, found: dict[str, FlatPart], cavity: Cavity
) -> tuple[PlacedPost, FlatPart] | InternalTrouble:
    """The post on its panel, and the panel with its place etched."""
    place = (float(post.at[0]), float(post.at[1]), float(post.at[2]))
    part = nearest_panel(post.at, list(found.values()), cavity)
    if part is None:
        return InternalTrouble(
            post.name,
            "it stands on no face of the pan",
            "give a point on the sheet where it shall stand",
            place,
        )
    flat = np.asarray(part.frame.to_flat(np.asarray(post.at)[None]))[0]
    room = shapely.Point(*flat).buffer(0.5 * post.diameter + WELD_ROOM, quad_segs=16)
    if not metal_of(part).covers(room):
        return InternalTrouble(
            post.name,
            f"its weld hangs over the edge of {part.name} or a hole",
            "move it towards the middle of the face",
            place,
        )
    normal = np.asarray(part.frame.normal)
    skin = np.asarray(part.frame.to_space(flat[None]))[0]
    foot = skin if post.side == "outside" else skin - part.thickness * normal
    box = np.asarray(part.outline.points).min(axis=0)
    return (
        PlacedPost(post, part.name, frozen_array(foot), (float(flat[0] - box[0]), float(flat[1] - box[1]))),
        replace(part, marks=(*part.marks, _cross(flat, post.name))),
    )


def _cross(at: FloatArray, words: str) -> Mark:
    """A cross etched at a place."""
    arms = (np.array([CROSS, 0.0]), np.array([0.0, CROSS]))
    return Mark(words, tuple(Stroke(frozen_array([at - arm, at + arm])) for arm in arms), "place")


def _guard(shape: GuardShape, guard: StoneGuard) -> FlatPart:
    outline = shapely.Polygon(np.asarray(shape.outline))
    holes = tuple(Circle(x, y, diameter, words) for x, y, diameter, words in shape.holes)
    return part_of_shape(
        GUARD,
        outline,
        shape.frame,
        guard.guard_thickness,
        guard.material,
        holes,
        f"bolted to its posts under {shape.floor.name}; it comes off to look at the pan",
    )


def _feet_missed(shape: GuardShape, guard: StoneGuard) -> list[InternalTrouble]:
    return [
        InternalTrouble(
            f"guard post {number}",
            f"no {shape.floor.name} is under it, or its edge is too near",
            "move this foot onto the floor",
            (*_flat(guard.feet[number - 1]), float(shape.frame.origin[2])),
        )
        for number in shape.off_floor
    ]


def _flat(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _load_plate(
    jacking: Jacking, parts: Sequence[FlatPart], cavity: Cavity, material: str
) -> tuple[FlatPart, PlacedPlate] | InternalTrouble:
    """A round plate outside on the floor, and where it lies."""
    assert jacking.at is not None
    on = under(cavity, jacking.at)
    place = (float(jacking.at[0]), float(jacking.at[1]), 0.0 if on is None else float(on.place[2]))
    panel = next((part for part in parts if on is not None and part.face == on.face.index), None)
    if on is None or panel is None:
        return InternalTrouble(
            LOAD_PLATE, "there is no floor over it", "move jacking.at under a floor of the pan", place
        )
    flat = np.asarray(panel.frame.to_flat(np.asarray(on.place)[None]))[0]
    room = shapely.Point(*flat).buffer(0.5 * jacking.plate_diameter + WELD_ROOM, quad_segs=16)
    if not metal_of(panel).covers(room):
        return InternalTrouble(
            LOAD_PLATE,
            f"it hangs over the edge of {panel.name} or a hole",
            "move it towards the middle of the floor, or make it smaller",
            place,
        )
    half = 0.5 * jacking.plate_diameter
    normal = np.asarray(panel.frame.normal)
    skin = np.asarray(panel.frame.to_space(flat[None]))[0]
    frame = FlatFrame(
        frozen_array(skin + jacking.plate_thickness * normal), panel.frame.x_axis, panel.frame.y_axis
    )
    square = part_of_shape(
        LOAD_PLATE, shapely.box(-half, -half, half, half), frame, jacking.plate_thickness, material
    )
    outline = Outline(frozen_array([[0.0, half], [2.0 * half, half]]), frozen_array([1.0, 1.0]))
    note = f"outside on {panel.name}; the jack pushes here and nowhere else; a gap in its bead is its vent"
    return (
        replace(square, outline=outline, note=note),
        PlacedPlate(LOAD_PLATE, panel.name, frozen_array(skin), jacking.plate_diameter),
    )


def _bought(posts: Sequence[PlacedPost], guard: StoneGuard | None, material: str) -> tuple[BoughtPart, ...]:
    found = [
        BoughtPart(
            placed.post.name,
            "1",
            f"{placed.post.thread}, {{outside}} round, {{long}} long",
            f"the pan's kind of metal ({material}); plain, weldable bar: no free-machining grade, no plating",
            "the seller's note and a magnet; measure its length"
            if placed.post.thread == "plain"
            else "the seller's note and a magnet; run a bolt in before and after welding",
            (
                Figure("outside", placed.post.diameter, "m", "length"),
                Figure("long", placed.post.long, "m", "length"),
            ),
        )
        for placed in posts
    ]
    count = sum(placed.post.name.startswith("guard post") for placed in posts)
    if guard is not None and count:
        found.append(
            BoughtPart(
                "stone guard bolts",
                str(count),
                f"{guard.foot_thread}, low head, into the post by one and a half diameters or more",
                "steel 8.8 or stainless A2-70",
                "head stamp; try each in its post",
            )
        )
    return tuple(found)


def with_warning(parts: tuple[FlatPart, ...], body: PanBody) -> tuple[FlatPart, ...]:
    """The floors with NO_JACK etched outside, where a jack may push nowhere."""
    jacking, cavity = body.inputs.jacking, body.cavity
    if jacking is None or jacking.way != "nowhere" or cavity is None:
        return parts
    floors = {face.index for face in cavity.faces if face.role == "floor"}
    return tuple(with_words(part, NO_JACK) if part.face in floors else part for part in parts)


NO_JACK = "no jack here"
