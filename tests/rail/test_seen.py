"""Scans and pictures in the network: calipers govern, and what is wrong is said."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.rail import MirrorSide, Reading
from sumpwright.rail.check import check
from sumpwright.rail.network import build_network
from sumpwright.rail.picture_model import PictureMark
from sumpwright.rail.scan_model import SeenHole, SeenRail, SetUpShape
from sumpwright.rail.seen_check import _true_in_shape
from sumpwright.rail.solve import solve
from tests.rail.gaskets import flatbed
from tests.rail.rails import inputs
from tests.rail.scans import DEPTH, HOLES, MM, NAMES, cloud, hole_list
from tests.rail.test_picture import photograph

U = 0.04 * MM
FEW = ((0, 7), (0, 3), (3, 7), (0, 9), (3, 9), (7, 9), (1, 7), (1, 3), (1, 0), (1, 9))


def read(pairs=FEW, seed=0, u=U, add=None):
    rng = np.random.default_rng(seed)
    out = []
    for line, (i, j) in enumerate(pairs):
        d = math.dist(HOLES[i], HOLES[j]) + rng.normal(0, u) + (add or {}).get(line, 0.0)
        out.append(Reading(line + 2, "centre", NAMES[i], NAMES[j], d, "caliper", u, True))
    return out


def job(readings, **more):
    return inputs(
        hole_list(),
        readings,
        datum="h1",
        second="h8",
        mirror=MirrorSide("h10", "left", "above"),
        bearing=math.atan2(*(HOLES[7] - HOLES[0])[::-1]),
        **more,
    )


def codes(result, findings):
    return {f.code: f for f in findings}


@pytest.fixture(scope="module")
def bed():
    return flatbed(pixel=25.4e-3 / 120, stretch=0.006)[0]


@pytest.mark.expected_from("closed form", "holes and lengths of the drawn gasket")
def test_a_picture_places_holes_that_no_caliper_touched(bed):
    a = job(read(), pictures=(bed,))
    result = solve(a)
    assert result.pattern is not None
    off = np.hypot(*(result.pattern.xy - HOLES).T)
    assert off.max() < 0.12 * MM
    [seen] = result.seen
    assert seen.stretch == pytest.approx(0.006, abs=5e-4)
    said = codes(result, check(a, result).findings)
    assert {"RAIL-42", "RAIL-43", "RAIL-44"} <= set(said)
    assert said["RAIL-42"].verdict == "holds"


@pytest.mark.expected_from("property", "a scan one part in a hundred too small does not shrink the rail")
def test_calipers_govern_the_size_of_a_scan():
    scan = cloud(seed=3, spacing=0.7 * MM, scale=0.99)
    a = job(read(), scans=(scan,))
    result = solve(a)
    long_way = math.dist(result.pattern.xy[0], result.pattern.xy[7])
    assert long_way == pytest.approx(math.dist(HOLES[0], HOLES[7]), abs=0.1 * MM)
    assert result.seen[0].scale == pytest.approx(1 / 0.99, abs=5e-4)
    assert np.hypot(*(result.pattern.xy - HOLES).T).max() < 0.6 * MM
    report = check(a, result)
    assert codes(result, report.findings)["RAIL-43"].verdict == "close"
    assert result.seen[0].inside.space == pytest.approx(DEPTH * 0.306 * 0.186, rel=0.03)
    assert any("its inside is taken" in told.says for told in report.assumptions)


@pytest.mark.expected_from(
    "closed form", "most of k (r - r^3): 0.385 k at r = 1/sqrt 3; half a skew at arm's length"
)
def test_what_a_lens_or_a_skew_bed_would_cost_is_said(bed):
    corners = [(0.0, 0.0), (0.4, 0.0), (0.4, 0.3), (0.0, 0.3)]
    marks = tuple(PictureMark(0, 0, at=at) for at in corners)
    photo = replace(bed, marks=marks)
    seen = SeenRail(photo.name, "picture", (), np.zeros((0, 2)), ())
    told = _true_in_shape(job([], pictures=(photo,)), seen)
    assert "straight edge" in told.says
    assert told.figures[1].value == pytest.approx(0.3849 * 0.01 * 0.25, rel=1e-3)
    holes = tuple(SeenHole(f"h{k}", x, y, 1e-5, 6e-3, 6.0, 99) for k, (x, y) in enumerate(corners))
    told = _true_in_shape(job([], pictures=(bed,)), replace(seen, holes=holes))
    assert told.figures[1].value == pytest.approx(0.5 * math.radians(0.1) * 0.25)
    scan = replace(seen, kind="scan", holes=(replace(holes[0], off=2e-4), *holes[1:]))
    assert _true_in_shape(job([], pictures=()), scan).figures[0].value == 2e-4


def test_a_picture_without_calipers_has_no_size(bed):

    marks = (PictureMark(0, 0, hole="h1"),)
    result = solve(job([], pictures=(replace(bed, marks=marks),)))
    assert result.pattern is None
    report = check(job([], pictures=(bed,)), result)
    assert codes(result, report.findings)["RAIL-40"].verdict == "cannot say"
    assert "caliper" in codes(result, report.findings)["RAIL-40"].do


@pytest.mark.expected_from("closed form", "holes of the drawn gasket, one of them moved by 1.1 mm")
def test_one_hole_off_its_place_is_named():
    moved = HOLES.copy()
    moved[5] += (0.0, 0.0011)
    picture = flatbed(pixel=25.4e-3 / 120, holes=moved)[0]
    pairs = [(i, j) for i in range(12) for j in range(i) if (i + j) % 2 or i - j > 4]
    a = job(read(pairs), pictures=(picture,))
    result = solve(a)
    finding = codes(result, check(a, result).findings)["RAIL-44"]
    assert finding.where == "hole h6"
    assert finding.verdict == "close"
    assert finding.do.startswith("Read h6")
    assert np.hypot(*(result.pattern.xy - HOLES).T).max() < 0.15 * MM


def test_a_scan_that_is_no_pan_leaves_the_calipers_alone():
    pairs = [(i, j) for i in range(12) for j in range(i) if (i + j) % 2]
    plain = solve(job(read(pairs)))
    rng = np.random.default_rng(1)
    junk = replace(cloud(seed=0, spacing=3 * MM), points=rng.uniform(0, 400, (2000, 3)))
    a = job(read(pairs), scans=(junk,))
    result = solve(a)
    assert np.array_equal(result.pattern.xy, plain.pattern.xy)
    assert codes(result, check(a, result).findings)["RAIL-40"].verdict == "cannot say"


@pytest.mark.expected_from(
    "property", "worse picked marks make looser holes; holes stay within what is stated"
)
def test_straightening_costs_what_it_says():
    worst = []
    for pick in (0.05, 3.0):
        a = job(read(), pictures=(replace(photograph(), pick_u=pick, mark_u=1e-5),))
        result = solve(a)
        var = np.diagonal(result.pattern.free_covariance).reshape(-1, 2)
        assert (
            np.abs(result.pattern.xy - HOLES).max(axis=1) < 5 * np.sqrt(var.max(axis=1)) + 0.05 * MM
        ).all()
        worst.append(np.sqrt(var.max()))
    assert worst[1] > 1.15 * worst[0]


@pytest.mark.expected_from("convergence", "derivatives against differences of the rows themselves")
def test_derivatives_of_a_picture_out_of_shape():
    rng = np.random.default_rng(0)
    readings = read()
    readings += [
        Reading(0, "scan", name, None, float(xy[k]), "picture", U, False, group="p", part=part)
        for name, xy in zip(NAMES, HOLES, strict=True)
        for k, part in enumerate("xy")
    ]
    network = build_network(job(readings, setups=(SetUpShape("p", None, 1e-3, 1e-3),)))
    x = network.start_vector(HOLES) + rng.normal(0, 1e-3, network.unknown_count)
    x[network.held] = 1.0
    J = network.jacobian(x)
    for k in range(network.unknown_count):
        if k in network.held:
            continue
        step = np.zeros_like(x)
        step[k] = 1e-6
        slope = (network.computed(x + step) - network.computed(x - step)) / 2e-6
        assert J[:, k] == pytest.approx(slope, abs=1e-6)
