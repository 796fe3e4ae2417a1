"""Words beside every fold line: which fold it is, how far, and which way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from sumpwright.kit.lettering import words_width, write
from sumpwright.kit.mark_places import box, upright
from sumpwright.kit.metal import metal_of
from sumpwright.kit.model import FlatPart, Fold, Mark
from sumpwright.quantities.units import FloatArray, Metre

HEIGHTS: tuple[Metre, ...] = (0.004, 0.003, 0.0025)
SHARES = (0.5, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
CLEAR: Metre = 0.001
"""Bare metal about the words, to edges, holes and other marks."""


def fold_words(fold: Fold) -> str:
    """What is etched beside a fold line, read on the drawn side."""
    way = "towards you" if fold.towards_viewer else "away from you"
    number = f"{fold.order}: " if fold.order else ""
    return f"{number}{math.degrees(fold.turn):.1f} deg {way}".replace(".0 deg", " deg")


def with_fold_words(parts: Sequence[FlatPart]) -> tuple[FlatPart, ...]:
    """The parts with the words of their folds, where there is room beside the line."""
    return tuple(_marked(part) if part.folds else part for part in parts)


def _marked(part: FlatPart) -> FlatPart:
    metal = metal_of(part).buffer(-CLEAR)
    taken = [
        shapely.MultiPoint(np.concatenate([stroke.points for stroke in mark.strokes])).convex_hull.buffer(
            CLEAR
        )
        for mark in part.marks
        if mark.strokes
    ]
    free = metal.difference(shapely.union_all(taken)) if taken else metal
    marks = list(part.marks)
    missing = []
    for fold in part.folds:
        words = fold_words(fold)
        place = _room(fold, words, free)
        if place is None:
            missing.append(words)
            continue
        middle, angle, height = place
        marks.append(Mark(words, write(words, height, middle, angle), "fold"))
        free = free.difference(_box(words, middle, angle, height))
    note = f"beside its folds there is no room for: {'; '.join(missing)}" if missing else ""
    return replace(part, marks=tuple(marks), note="; ".join(text for text in (part.note, note) if text))


def _room(
    fold: Fold, words: str, free: shapely.geometry.base.BaseGeometry
) -> tuple[FloatArray, float, Metre] | None:
    """Middle, angle and height for the words on one side of the strip that the fold takes up."""
    start, end = np.array(fold.start), np.array(fold.end)
    along = (end - start) / np.linalg.norm(end - start)
    beside = np.array([-along[1], along[0]])
    angle = upright(math.atan2(along[1], along[0]))
    for height in HEIGHTS:
        off = 0.5 * fold.allowance + height
        for share in SHARES:
            for sign in (1.0, -1.0):
                middle = start + share * (end - start) + sign * off * beside
                if free.contains(_box(words, middle, angle, height)):
                    return middle, angle, height
    return None


def _box(words: str, middle: FloatArray, angle: float, height: Metre) -> shapely.Polygon:
    return shapely.Polygon(box(middle, words_width(words, height), 1.4 * height, angle))
