"""What a bad reading looks like: the slips of the bench that would give just this figure."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail.model import RailHole, Reading

_INCH: Metre = 0.0254
_MILLIMETRE: Metre = 1e-3
_MOST_SLIPS = 3
_SCALES = (
    (
        _MILLIMETRE,
        2,
        "mm",
        (
            (0.1, "the scale read 100 mm off"),
            (0.01, "the scale read 10 mm off"),
            (0.001, "the scale read 1 mm off"),
        ),
    ),
    (
        _INCH,
        3,
        "inch",
        (
            (_INCH, "the scale read an inch off"),
            (0.1 * _INCH, "the dial read one turn (0.1 inch) off"),
            (0.025 * _INCH, "the scale read one mark (0.025 inch) off"),
        ),
    ),
)
"""Scales a figure may have been read on: unit, decimals, name, and the steps one slips by."""

_DISTANCE_PARTS = {"centre": 0.0, "inside": -1.0, "outside": 1.0}


def looks_like(
    reading: Reading,
    should: Metre,
    u: Metre,
    holes: tuple[RailHole, ...],
    xy: FloatArray,
    diameters: FloatArray,
) -> tuple[str, ...]:
    """Slips that explain the reading within its uncertainty, closest first.

    Args:
        reading: the reading that was set aside.
        should: what the others say [m].
        u: standard uncertainty of reading and prediction together [m].
        holes: in ring order.
        xy: adjusted centres (n, 2) [m].
        diameters: edge diameters (n,) [m].
    """
    near = 3.0 * u
    found: list[tuple[float, int, str]] = []
    for rank, (value, words) in enumerate(_figures(reading, should, holes, xy, diameters)):
        miss = abs(reading.value - value)
        # A slip no larger than the uncertainty explains nothing.
        # An error of what it should have been grows with the slip.
        if miss <= near * max(1.0, value / should) and abs(value - should) > near:
            found.append((miss, rank, words))
    for words in _digit_slips(reading.value, should, near):
        found.append((near, len(found) + 1000, words))
    found.sort()
    return tuple(dict.fromkeys(words for *_, words in found))[:_MOST_SLIPS]


def _figures(
    reading: Reading, should: Metre, holes: tuple[RailHole, ...], xy: FloatArray, diameters: FloatArray
) -> Iterator[tuple[Metre, str]]:
    """What would have been read after each slip, and the slip in words."""
    names = [hole.name for hole in holes]
    yield should / 25.4, "an inch figure written down as millimetres"
    yield should * 25.4, "a millimetre figure written down as inches"
    if reading.kind == "diameter":
        yield should / 2.0, "the radius in place of the diameter"
        return
    if reading.kind not in _DISTANCE_PARTS or reading.b is None:
        return
    a, b = names.index(reading.a), names.index(reading.b)
    centre = float(np.hypot(*(xy[b] - xy[a])))
    both = (float(diameters[a]) + float(diameters[b])) / 2.0
    for kind, part in _DISTANCE_PARTS.items():
        if kind != reading.kind:
            words = {
                "centre": "the centres in place of the edges",
                "inside": "a figure read inside, jaws between the holes",
                "outside": "a figure read outside, over both holes",
            }[kind]
            yield centre + part * both, words
    for end, other in ((a, b), (b, a)):
        radius = float(diameters[end]) / 2.0
        own = centre + _DISTANCE_PARTS[reading.kind] * both
        alike = abs(float(diameters[a]) - float(diameters[b])) < 1e-4
        where = f"{names[a]} or {names[b]}" if alike else names[end]
        mixed = (
            f"an edge of {where} taken for its centre"
            if reading.kind == "centre"
            else f"the centre of {where} taken for its edge"
        )
        for sign in (1.0, -1.0):
            yield own + sign * radius, mixed
            yield own + sign * 2.0 * radius, f"the wrong edge of {where}"
        for step in (1, -1, 2, -2):
            wrong = (end + step) % len(names)
            if wrong in (a, b):
                continue
            d = float(np.hypot(*(xy[wrong] - xy[other])))
            part = _DISTANCE_PARTS[reading.kind] * (float(diameters[wrong]) + float(diameters[other])) / 2.0
            yield d + part, f"{names[wrong]} read in place of {names[end]}"


def _digit_slips(read: Metre, should: Metre, near: Metre) -> Iterator[str]:
    """Two neighbouring figures changed over, or the scale read a whole step off."""
    for unit, decimals, name, steps in _SCALES:
        number = read / unit
        text = f"{number:.{decimals}f}"
        if abs(float(text) - number) > 1e-6 * max(1.0, number):
            continue  # not a figure of this scale
        digits = [k for k, letter in enumerate(text) if letter.isdigit()]
        for i, j in pairwise(digits):
            if text[i] == text[j]:
                continue
            letters = list(text)
            letters[i], letters[j] = letters[j], letters[i]
            if abs(float("".join(letters)) * unit - should) <= near:
                yield f"two figures changed over: {''.join(letters)} {name} written as {text}"
        for step, words in steps:
            if step > near and math.isclose(abs(read - should), step, abs_tol=min(near, 0.2 * step)):
                yield words
