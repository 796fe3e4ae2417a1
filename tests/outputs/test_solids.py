"""The solids read back by trimesh, which shares no code with the writers."""

from __future__ import annotations

import io

import numpy as np
import pytest

from sumpwright.geometry.arcs import outline_area
from sumpwright.outputs import solids
from tests.outputs import sample

PARTS = sample.parts()
SOLIDS = tuple(solids.part_solid(part) for part in PARTS)


@pytest.mark.expected_from("published", "trimesh: every mesh closed; volume = exact area times thickness")
def test_glb_holds_closed_solids_of_the_right_volume() -> None:
    import trimesh

    scene = trimesh.load(io.BytesIO(solids.glb_bytes(SOLIDS)), file_type="glb")
    assert set(scene.geometry) == {part.name for part in PARTS}
    for part in PARTS:
        mesh = scene.geometry[part.name]
        area = outline_area(part.outline) - sum(abs(outline_area(cut)) for cut in part.cut_outs)
        area -= sum(np.pi / 4 * hole.diameter**2 for hole in part.holes)
        # Chords leave out less than the sag along every hole, and cut off less at every corner.
        round_length = sum(np.pi * hole.diameter for hole in part.holes) + 2 * np.pi * 0.014
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert abs(mesh.volume - area * part.thickness) <= round_length * solids.SAG * part.thickness


@pytest.mark.expected_from("published", "glTF 2.0 specification, 3.4: +Y up, +Z forward, -X right, metres")
def test_glb_stands_upright_with_the_front_forward() -> None:
    import trimesh

    scene = trimesh.load(io.BytesIO(solids.glb_bytes(SOLIDS)), file_type="glb")
    low, high = scene.bounds
    assert high[1] == pytest.approx(0.0, abs=1e-6)  # rail plane on top
    assert high[2] == pytest.approx(0.467, abs=1e-6)  # engine front
    assert low[0] == pytest.approx(-0.226, abs=1e-6)  # engine right
    assert scene.geometry["tray front wall"].bounds[0][2] > 0.4


@pytest.mark.expected_from("published", "trimesh: the STL's box in mm, engine axes")
def test_stl_is_in_millimetres_and_engine_axes() -> None:
    import trimesh

    mesh = trimesh.load(io.BytesIO(solids.stl_bytes(SOLIDS)), file_type="stl")
    low, high = mesh.bounds
    assert (low[0], high[0], low[1]) == pytest.approx((-20.0, 467.0, -226.0), abs=1e-3)
    assert high[2] == pytest.approx(0.0, abs=1e-4)
    assert mesh.volume > 0


def test_same_solids_same_bytes() -> None:
    again = tuple(solids.part_solid(part) for part in sample.parts())
    assert solids.stl_bytes(again) == solids.stl_bytes(SOLIDS)
    assert solids.glb_bytes(again) == solids.glb_bytes(SOLIDS)


def test_no_parts_is_still_a_file() -> None:
    assert len(solids.stl_bytes(())) == 84
