"""The rebuilt kit set up a second time by another solid modeller (OpenCASCADE, extra ``step``)."""

from __future__ import annotations

import pytest

from sumpwright.body.solve import solve as solve_body
from sumpwright.kit.rebuild import sheet_of
from sumpwright.kit.solids import rings
from sumpwright.kit.solve import solve
from tests.body.random_bodies import near_real_body
from tests.kit.made_bodies import kit_inputs

pytest.importorskip("OCP", reason="the extra 'step' is not installed")

MM = 1e3
"""The modeller's tolerances are made for millimetres."""


def occ_solid(sheet):
    """The sheet as a boundary solid: a plane face with holes, swept along the normal."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    wires = []
    for ring in rings(sheet.outline):
        polygon = BRepBuilderAPI_MakePolygon()
        for point in sheet.frame.to_space(ring) * MM:
            polygon.Add(gp_Pnt(*map(float, point)))
        polygon.Close()
        wires.append(polygon.Wire())
    face = BRepBuilderAPI_MakeFace(wires[0], True)
    for hole in wires[1:]:
        face.Add(hole)
    return BRepPrimAPI_MakePrism(
        face.Face(), gp_Vec(*map(float, sheet.frame.normal * sheet.thickness * MM))
    ).Shape()


def volume(shape):
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    return props.Mass() / MM**3


def common_volume(one, other):
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    return volume(BRepAlgoAPI_Common(one, other).Shape())


@pytest.mark.expected_from("property", "volumes by OpenCASCADE from the same outlines, to 1e-9 of each part")
@pytest.mark.parametrize("seed", [0, 6])
def test_parts_have_the_same_volume_in_another_modeller(seed):
    kit = solve(kit_inputs(), solve_body(*near_real_body(seed)))
    for part in kit.parts:
        sheet = sheet_of(part)
        assert volume(occ_solid(sheet)) == pytest.approx(float(sheet.solid().volume()), rel=1e-9)


@pytest.mark.expected_from("property", "no two parts share volume by OpenCASCADE's own intersection either")
def test_parts_do_not_collide_in_another_modeller():
    kit = solve(kit_inputs(), solve_body(*near_real_body(6)))
    sheets = [sheet_of(part) for part in kit.parts if part.face is not None]
    solids = [occ_solid(sheet) for sheet in sheets]
    metal = sum(float(sheet.solid().volume()) for sheet in sheets)
    boxes = [sheet.solid().bounding_box() for sheet in sheets]
    shared = 0.0
    for i, one in enumerate(solids):
        for j in range(i + 1, len(solids)):
            if all(boxes[i][k] <= boxes[j][k + 3] and boxes[j][k] <= boxes[i][k + 3] for k in range(3)):
                shared += common_volume(one, solids[j])
    assert shared < 1e-6 * metal
