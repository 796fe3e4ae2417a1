"""Bosses and posts on a face of a bent sheet are welded like those on a flat one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body.fittings import Fitting, StandOff
from sumpwright.kit.model import SheetKit
from sumpwright.kit.solve import solve
from sumpwright.quantities.units import frozen_array
from sumpwright.weld.model import Seam, Strongback
from sumpwright.weld.obstacles import obstacles_of
from sumpwright.weld.seams import find_seams
from tests.body.hand_lumps import body_of, box, plan
from tests.kit.test_bends import bent_inputs
from tests.weld.made_pans import weld_inputs


def kits() -> tuple[SheetKit, SheetKit]:
    """The same pan with bends and without."""
    drain = Fitting("drain", "drain", frozen_array([0.15, 0.1, -0.12]), "M18", 0.028)
    post = StandOff("post", frozen_array([0.05, 0.1, -0.12]), "inside", 0.014, 0.020, "M6")
    bare = body_of(plan("sump", box(0, 300, 0, 200), 120))
    body = replace(bare, inputs=replace(bare.inputs, fittings=(drain,), stand_offs=(post,)))
    return solve(bent_inputs(), body), solve(replace(bent_inputs(), folder=None), body)


def on_floor(kit: SheetKit) -> dict[str, Seam]:
    return {seam.where: seam for seam in find_seams(weld_inputs(), kit) if seam.kind in ("boss", "ring")}


@pytest.mark.expected_from("closed form", "seams round 28 and 52.3 mm lie where they lie on the flat sheet")
def test_seams_of_bosses_on_a_bent_sheet() -> None:
    bent, flat = kits()
    assert any(part.folds for part in bent.parts)
    one, other = on_floor(bent), on_floor(flat)
    assert set(one) == set(other)
    assert len(one) == 4
    names = {part.name for part in bent.parts}
    for where, seam in one.items():
        assert seam.length == pytest.approx(other[where].length)
        middle = np.asarray(seam.ways[0].path)[:-1].mean(axis=0)
        assert middle == pytest.approx(np.asarray(other[where].ways[0].path)[:-1].mean(axis=0), abs=1e-9)
        # Only bosses and posts, which are bought, are no part of the kit.
        assert seam.part_b in names
    assert one["drain boss in sump floor"].length == pytest.approx(math.pi * 0.028)


@pytest.mark.expected_from("property", "a torch meets a boss on a bent sheet as it does on a flat one")
def test_bosses_on_a_bent_sheet_stand_in_the_way() -> None:
    board = Strongback(0.020, 0.040, False, 0.010)
    for kit in kits():
        obstacles = obstacles_of(kit, board)
        assert {"drain", "post"} <= set(obstacles.names)
