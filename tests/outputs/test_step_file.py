"""The STEP file: exact volumes, true arcs, the same bytes again, and read back by the modeller."""

from __future__ import annotations

import importlib
import math
from functools import cache

import numpy as np
import pytest

from sumpwright.geometry.arcs import outline_area
from sumpwright.kit.solve import solve
from sumpwright.outputs.step_file import part_shapes, step_bytes
from tests.kit.hand_bodies import body_of, box
from tests.kit.made_bodies import kit_inputs
from tests.kit.test_lands import RAILS, on

pytest.importorskip("OCP", reason="the extra 'step' is not installed")


def volume(shape):
    """Of a solid of the modeller [mm3]."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    return props.Mass()


@cache
def kit_on(name):
    body = body_of(box()) if name == "flat" else on(RAILS[name])
    return solve(kit_inputs(etched=False), body)


@pytest.mark.parametrize("name", ["flat", "a step at one end"])
@pytest.mark.expected_from("closed form", "outline less holes, times thickness (OpenCASCADE's volume)")
def test_volume_of_flat_parts(name):
    for part in kit_on(name).parts:
        (shape,) = part_shapes(part)
        area = outline_area(part.outline) + sum(outline_area(cut) for cut in part.cut_outs)
        area -= sum(0.25 * math.pi * hole.diameter**2 for hole in part.holes)
        assert volume(shape) == pytest.approx(1e9 * area * part.thickness, rel=1e-9)


@pytest.mark.expected_from("closed form", "between two circles, cut off by the flange's face, 22 mm wide")
def test_volume_of_a_rolled_strip():
    strip = next(part for part in kit_on("an arch that hangs").parts if part.roll is not None)
    axis = 33.0 - 14.7

    def below_face(radius):
        half = math.acos(axis / radius)
        return radius**2 * half - axis * radius * math.sin(half)

    (shape,) = part_shapes(strip)
    assert volume(shape) == pytest.approx((below_face(36.0) - below_face(33.0)) * 22.0, rel=1e-9)


@pytest.mark.expected_from("property", "OpenCASCADE's booleans: no two parts of a kit have metal in common")
def test_parts_share_no_metal_in_another_modeller():
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    for name in ("flat", "an arch that hangs"):
        shapes = [shape for part in kit_on(name).parts for shape in part_shapes(part)]
        for k, one in enumerate(shapes):
            for other in shapes[:k]:
                common = BRepAlgoAPI_Common(one, other).Shape()
                assert volume(common) == pytest.approx(0.0, abs=1e-3)


@pytest.mark.expected_from("property", "OpenCASCADE reads the file back: the same volume")
def test_the_file_is_the_same_again_and_reads_back(tmp_path):
    parts = kit_on("an arch that hangs").parts
    first = step_bytes(parts)
    assert first == step_bytes(parts)
    path = tmp_path / "pan.step"
    path.write_bytes(first)
    reader = importlib.import_module("OCP.STEPControl").STEPControl_Reader()
    reader.ReadFile(str(path))
    reader.TransferRoots()
    whole = sum(volume(shape) for part in parts for shape in part_shapes(part))
    assert volume(reader.OneShape()) == pytest.approx(whole, rel=1e-9)
    assert np.isfinite(whole)
