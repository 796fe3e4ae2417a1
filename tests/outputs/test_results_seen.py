"""Scans and pictures in results.json: what was seen of every hole, and how far the calipers put it."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.outputs.results_file import results_json
from sumpwright.quantities.units import frozen_array
from sumpwright.rail.scan_model import SeenHole, SeenRail
from tests.outputs import sample


@pytest.mark.expected_from("closed form", "metres and radians as millimetres and degrees")
def test_holes_seen_stand_in_the_results() -> None:
    holes = (
        SeenHole("h1", 0.0, 0.0, 2e-5, 0.0068, 2.0 * math.pi, 120, 1e-4, 3e-5),
        SeenHole(None, 0.1, 0.0, 4e-5, 0.0080, math.pi, 60),
    )
    seen = SeenRail("gasket.png", "picture", holes, frozen_array(np.zeros((0, 2))), (), stretch=1.002)
    results = sample.results()
    data = json.loads(results_json(sample.job(), replace(results, rail=replace(results.rail, seen=(seen,)))))
    (told,) = data["rail"]["seen"]
    assert (told["file"], told["kind"], told["stretch"], told["scale"]) == (
        "gasket.png",
        "picture",
        1.002,
        None,
    )
    first, second = told["holes"]
    assert first == {
        "name": "h1",
        "diameter_mm": 6.8,
        "u_mm": 0.02,
        "arc_deg": 360.0,
        "points": 120,
        "off_mm": 0.1,
    }
    assert (second["name"], second["arc_deg"], second["off_mm"]) == ("", 180.0, None)


def test_without_scans_nothing_is_seen() -> None:
    assert json.loads(results_json(sample.job(), sample.results()))["rail"]["seen"] == []
