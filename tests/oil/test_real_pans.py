"""Volume and level of solved random pans, through the very surface that the body stage hands over."""

from __future__ import annotations

import os

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from sumpwright.body.solve import solve
from sumpwright.oil import LevelCurve, carried_up, levels
from tests.body.random_bodies import near_real_body, random_body
from tests.oil.oil_shapes import direction

WHOLE = os.environ.get("SUMPWRIGHT_SOAK") == "1"
SEEDS = range(400 if WHOLE else 4)


@pytest.mark.soak
@pytest.mark.expected_from("published", "manifold3d: trim by plane and volume of the same triangles")
@pytest.mark.parametrize("generator", [random_body, near_real_body])
def test_random_pans_below_random_planes(generator: object, evidence: object) -> None:
    rng = np.random.default_rng(81)
    judged = 0
    for seed in SEEDS:
        body = solve(*generator(seed))  # type: ignore[operator]
        if body.cavity is None:
            continue
        judged += 1
        surface = body.cavity.surface()
        solid = m3.Manifold(
            m3.Mesh64(np.array(surface.vertices), np.array(surface.triangles, dtype=np.uint64))
        )
        whole = solid.volume()
        assert whole == pytest.approx(body.cavity.volume, rel=1e-9)
        ups = np.array([direction(rng) for _ in range(14)])
        volumes = rng.uniform(0.0, 1.0, len(ups)) * whole
        for up, volume, level in zip(ups, volumes, levels(surface, ups, volumes), strict=True):
            below = solid.trim_by_plane(tuple(-up), -float(level)).volume()
            evidence.record("share of the whole", below / whole, volume / whole, 1e-9)  # type: ignore[attr-defined]
            curve = LevelCurve.prepare(surface, up)
            assert abs(curve.volume_below(float(level)) - volume) <= 1e-9 * whole
        open_top = carried_up(body.cavity)
        mesh = trimesh.Trimesh(open_top.vertices, open_top.triangles, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
    assert judged
