"""Chill bars as flats to cut: one drawing for all bars of one length, the name etched on each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.lettering import words_width, write
from sumpwright.kit.model import FlatPart, Mark
from sumpwright.quantities.units import Metre, frozen_array
from sumpwright.weld.strongback_model import ChillBar

BAR_WIDTH: Metre = 0.025
BAR_THICKNESS: Metre = 0.006
"""Flat bar that takes the heat of a seam in thin sheet and is still held by a clamp: common practice."""

LENGTH_STEP: Metre = 0.010
"""Bars are cut to whole steps, so that seams of nearly one length share theirs."""


def with_bars(chills: Sequence[ChillBar], metal: str) -> tuple[tuple[ChillBar, ...], tuple[FlatPart, ...]]:
    """The bars with their drawing's name, and a flat for every length, the longest first."""
    lengths: dict[float, int] = {}
    for chill in chills:
        length = _cut_length(chill.length)
        lengths[length] = lengths.get(length, 0) + 1
    ordered = sorted(lengths, reverse=True)
    names = {length: f"chill bar {number}" for number, length in enumerate(ordered, start=1)}
    named = tuple(replace(chill, bar=names[_cut_length(chill.length)]) for chill in chills)
    return named, tuple(_flat(names[length], length, lengths[length], metal) for length in ordered)


def _cut_length(length: Metre) -> Metre:
    return round(LENGTH_STEP * math.floor(length / LENGTH_STEP + 1e-9), 6)


def _flat(name: str, length: Metre, quantity: int, metal: str) -> FlatPart:
    ring = [(0.0, 0.0), (length, 0.0), (length, BAR_WIDTH), (0.0, BAR_WIDTH)]
    marks: tuple[Mark, ...] = ()
    for height in (0.008, 0.006, 0.004):
        if words_width(name, height) < length - 0.010:
            middle = np.array([0.5 * length, 0.5 * BAR_WIDTH])
            marks = (Mark(name, tuple(write(name, height, middle)), "name"),)
            break
    return FlatPart(
        name=name,
        face=None,
        outline=Outline(frozen_array(np.array(ring)), frozen_array(np.zeros(4))),
        cut_outs=(),
        holes=(),
        marks=marks,
        frame=FlatFrame(
            frozen_array([0.0, 0.0, 0.0]), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, 1.0, 0.0])
        ),
        thickness=BAR_THICKNESS,
        material=metal,
        quantity=quantity,
        note="for welding only: break the long edge that lies under the root by 1 mm",
    )
