"""Bosses, tubes, posts, stone guard and jacking plate as the pan's views draw them."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.body.fittings import OnFace, on_face, under
from sumpwright.body.guard import guard_shape
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.outputs.paper import Sheet
from sumpwright.quantities.units import FloatArray, Metre

Flat = Callable[[FloatArray], FloatArray]
Place = Callable[[FloatArray], tuple[float, float]]
_TURNS = 2.0 * math.pi * np.arange(24) / 24


def reach_of_fittings(body: PanBody, cavity: Cavity) -> FloatArray:
    """Points (n, 3) m that stand out farthest, for the room that a view needs."""
    found = [
        on.place + (body.inputs.sheet + fitting.stands_out) * np.asarray(on.face.plane.normal)
        for fitting in body.inputs.fittings
        if (on := on_face(cavity, fitting.at)) is not None
    ]
    shape = guard_shape(body, cavity)
    if shape is not None:
        found += list(np.asarray(shape.frame.to_space(np.asarray(shape.outline))))
    return np.array(found).reshape(-1, 3)


def draw_fittings(
    sheet: Sheet, body: PanBody, cavity: Cavity, flat: Flat, towards: FloatArray, place: Place
) -> None:
    """Everything of them at its place, thin; ``flat`` lays (n, 3) m into the view.

    Each is named once, in the view that looks straightest at its face.
    """

    def line(points: FloatArray, close: bool = True, weight: float = 0.25) -> None:
        sheet.polyline([place(point) for point in flat(points)], close=close, weight=weight, grey=0.2)

    def name(at: FloatArray, words: str, normal: FloatArray) -> None:
        if int(np.argmax(np.abs(normal))) != int(np.argmax(np.abs(towards))):
            return
        x, y = place(flat(np.asarray(at)[None])[0])
        sheet.text(x + 1.2, y - 2.6, words, 6.5, halo=True)

    inputs = body.inputs
    for fitting in inputs.fittings:
        on = on_face(cavity, fitting.at)
        if on is None:
            continue
        out = np.asarray(on.face.plane.normal)
        ends = [on.place, on.place + (inputs.sheet + fitting.stands_out) * out]
        for end in ends:
            line(_circle(end, out, fitting.boss_diameter))
        line(np.array(ends), close=False)
        if fitting.kind != "dipstick":  # the stick itself bears its name
            name(ends[1], fitting.name, out)
        if fitting.inside is not None:
            line(np.vstack([on.place, np.asarray(fitting.inside)]), close=False, weight=0.5)
    shape = guard_shape(body, cavity)
    posts = (*inputs.stand_offs, *(() if shape is None else shape.posts))
    for post in posts:
        on = on_face(cavity, post.at)
        if on is not None:
            _post(line, on, post.side == "outside", inputs.sheet, post.diameter, post.long)
            if not post.name.startswith("guard post"):
                name(on.place, post.name, np.asarray(on.face.plane.normal))
    if shape is not None and inputs.guard is not None:
        outer = np.asarray(shape.frame.to_space(np.asarray(shape.outline)))
        inner = outer - inputs.guard.guard_thickness * np.asarray(shape.frame.normal)
        line(outer, weight=0.35)
        line(inner, weight=0.35)
        name(outer.mean(axis=0), "stone guard", np.array([0.0, 1.0, 0.0]))
        for x, y, diameter, words in shape.holes:
            if words == "drain opening":
                middle = np.asarray(shape.frame.to_space(np.array([[x, y]])))[0]
                line(_circle(middle, np.asarray(shape.frame.normal), diameter))
    jacking = inputs.jacking
    if jacking is not None and jacking.at is not None:
        on = under(cavity, jacking.at)
        if on is not None:
            _post(line, on, True, inputs.sheet, jacking.plate_diameter, jacking.plate_thickness)
            name(on.place, "jack here only", np.asarray(on.face.plane.normal))


def _post(
    line: Callable[[FloatArray], None], on: OnFace, is_outside: bool, sheet: Metre, across: Metre, long: Metre
) -> None:
    out = np.asarray(on.face.plane.normal)
    foot = on.place + (sheet * out if is_outside else 0.0)
    for end in (foot, foot + long * (out if is_outside else -out)):
        line(_circle(end, out, across))


def _circle(middle: FloatArray, normal: FloatArray, diameter: Metre) -> FloatArray:
    """Points (n, 3) of a circle."""
    x_axis, y_axis = axes_in_plane(normal)
    return np.asarray(
        middle + 0.5 * diameter * (np.outer(np.cos(_TURNS), x_axis) + np.outer(np.sin(_TURNS), y_axis))
    )
