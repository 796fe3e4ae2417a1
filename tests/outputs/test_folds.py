"""Bent parts in the files: fold lines on their own layer, and the folded solid in the pictures."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from sumpwright.kit import FlatPart, Folder
from sumpwright.kit.solve import solve
from sumpwright.outputs import cut_files
from sumpwright.outputs.solids import part_solid
from tests.kit.hand_bodies import body_of, box
from tests.kit.made_bodies import kit_inputs


@cache
def channel() -> FlatPart:
    folder = Folder("press brake", 0.0045, 0.004, 1.5, 0.012, math.radians(120.0), 0.03, 0.06)
    (part,) = [p for p in solve(kit_inputs(folder=folder), body_of(box())).parts if p.folds]
    return part


@pytest.mark.expected_from(
    "published", "GDAL's DXF reader (through pyogrio): two fold lines, in mm, across the flat"
)
def test_fold_lines_have_their_own_layer(tmp_path: Path) -> None:
    import pyogrio

    path = tmp_path / "part.dxf"
    path.write_bytes(cut_files.dxf_bytes(channel()))
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
    lines = [s for s, layer in zip(shapely.from_wkb(shapes), fields[0], strict=True) if layer == "fold"]
    assert len(lines) == 2
    for line, fold in zip(lines, channel().folds, strict=True):
        assert line.length == pytest.approx(300.0, abs=1e-3)
        ends = np.array(line.coords)[:, :2]
        assert ends == pytest.approx(1e3 * np.array([fold.start, fold.end]), abs=1e-6)


@pytest.mark.expected_from(
    "closed form", "channel of 200 x 80 mm inside, 3 mm sheet: folded up it is 206 x 83 mm"
)
def test_the_picture_shows_it_folded_up() -> None:
    solid = part_solid(channel()).surface.vertices
    size = np.ptp(solid, axis=0)
    assert size == pytest.approx([0.300, 0.206, 0.083], abs=1e-5)
