"""What the rail stage says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sumpwright.findings import Finding, StageReport, Verdict
from sumpwright.outputs.words import fill
from sumpwright.rail import Fastener, Land, MirrorSide, RailHole, Reading, Seal
from sumpwright.rail.bolts import bolt_lines, engagement_times, length_window
from sumpwright.rail.check import check
from sumpwright.rail.solve import solve
from tests.rail.rails import FLAT, M6, MM, centre, five_hole_rail, hole, inputs, ring_pairs, ring_rail


def report(made) -> StageReport:
    out = check(made, solve(made))
    for f in out.findings:
        # Every sentence can be filled, in both systems.
        for units in ("mm", "in"):
            assert fill(f.says, f.figures, units)
            fill(f.how_sure, f.figures, units)
            fill(f.do, f.figures, units)
        if f.verdict is not Verdict.HOLDS:
            assert f.do
    return out


def of(code: str, out: StageReport) -> list[Finding]:
    return [f for f in out.findings if f.code == code]


def test_a_good_rail_holds():
    a, _ = ring_rail(16, pairs=ring_pairs(16, (1, 2, 3, 5, 8)))
    out = report(a)
    assert {f.code for f in out.findings} == {"RAIL-02", "RAIL-05", "RAIL-06", "RAIL-10", "RAIL-11"}
    assert all(f.verdict is Verdict.HOLDS for f in out.findings)


def test_the_bad_reading_is_named_with_what_it_should_have_been():
    out = report(five_hole_rail({6: 0.60}))
    (bad,) = of("RAIL-04", out)
    said = fill(bad.says, bad.figures, "mm")
    assert "line 8" in said
    assert "294.08 mm" in said
    assert "293.51 mm" in said
    # Line 10 explains the miss nearly as well: not called settled.
    assert bad.verdict is Verdict.CANNOT_SAY
    assert "line 10" in bad.do
    a, _ = ring_rail(16, pairs=ring_pairs(16, (1, 2, 3, 5, 8)))
    readings = list(a.readings)
    readings[20] = replace(readings[20], value=readings[20].value + 1 * MM)
    (bad,) = of("RAIL-04", report(replace(a, readings=tuple(readings))))
    assert bad.verdict is Verdict.CLOSE
    assert "line 22" in bad.says


@pytest.mark.expected_from("property", "the covariance is widened by the scatter found")
def test_readings_that_scatter_more_than_stated_fail_without_a_culprit():
    a, _ = ring_rail(16, pairs=ring_pairs(16, (1, 2, 3, 5, 8)), u=0.2 * MM)
    a = replace(a, readings=tuple(replace(r, u=0.04 * MM) for r in a.readings))
    result = solve(a)
    out = report(a)
    (agree,) = of("RAIL-02", out)
    assert agree.verdict is Verdict.FAILS
    assert not any(c.set_aside for c in result.checks)
    assert "rougher than stated" in agree.do
    assert result.covariance_factor == pytest.approx(result.s0**2)


def test_a_reading_nothing_checks_cannot_say():
    a = five_hole_rail()
    (unchecked,) = of("RAIL-06", report(a))
    assert unchecked.verdict is Verdict.CANNOT_SAY
    assert "line 3" in unchecked.says


def test_just_enough_readings_cannot_say():
    readings = [centre(2, "a", "b", 0.4), centre(3, "a", "c", 0.3), centre(4, "b", "c", 0.3)]
    side = MirrorSide("c", "left", "above")
    out = report(inputs([hole(n) for n in "abc"], readings, mirror=side))
    assert of("RAIL-02", out)[0].verdict is Verdict.CANNOT_SAY
    assert of("RAIL-05", out)[0].verdict is Verdict.CANNOT_SAY


def test_what_keeps_the_pattern_back_is_said_with_its_cure():
    out = report(replace(five_hole_rail(), mirror=None, bearing_left=None))
    both = of("RAIL-01", out)
    assert len(both) == 2
    assert all(f.verdict is Verdict.CANNOT_SAY for f in both)
    assert "rail.side_hole" in both[0].do


def test_one_of_several_is_wrong():
    names, xy = "abcd", {"a": (0, 0), "b": (0.3, 0), "c": (0.28, 0.2), "d": (0.02, 0.18)}
    pairs = [(p, q) for i, p in enumerate(names) for q in names[i + 1 :]]
    readings = [
        centre(k + 2, p, q, ((xy[p][0] - xy[q][0]) ** 2 + (xy[p][1] - xy[q][1]) ** 2) ** 0.5)
        for k, (p, q) in enumerate(pairs)
    ]
    readings[1] = replace(readings[1], value=readings[1].value + 2 * MM)
    out = report(inputs([hole(n) for n in names], readings, mirror=MirrorSide("c", "left", "above")))
    (one,) = of("RAIL-03", out)
    assert one.verdict is Verdict.FAILS
    assert of("RAIL-02", out)[0].verdict is Verdict.FAILS


def test_a_pair_read_badly_twice_is_told_once():
    rail = five_hole_rail({6: 0.6})
    result = solve(rail)
    (bad,) = [c for c in result.checks if c.set_aside]
    again = replace(bad, reading=replace(bad.reading, line=90, a=bad.reading.b, b=bad.reading.a))
    told = of("RAIL-04", check(rail, replace(result, checks=(*result.checks, again))))
    assert len(told) == 1
    assert "The other reading of it misses alike" in told[0].do


@pytest.mark.parametrize(
    ("land", "says"),
    [
        (Land("front arch", "arch", Seal("end seal", 3 * MM), radius=52 * MM, width=14 * MM), "52"),
        (Land("low end", "step", Seal("gasket", 1 * MM), height=-12 * MM), "is a step, 12.00 mm below the"),
        (Land("high", "flat", Seal("gasket", 1 * MM), height=0.3 * MM), "lies 0.30 mm above the"),
    ],
)
def test_a_land_off_the_plane_cannot_say(land, says):
    out = report(replace(five_hole_rail(), lands=(FLAT, land)))
    (one,) = of("RAIL-07", out)
    assert one.verdict is Verdict.CANNOT_SAY
    assert says in fill(one.says, one.figures, "mm")


def test_a_land_within_the_limit_is_flat():
    land = Land("main", "flat", Seal("gasket", 1 * MM), height=-0.2 * MM)
    assert not of("RAIL-07", report(replace(five_hole_rail(), lands=(land,))))


BLIND = Fastener("bolt", "M6", 6 * MM, 1 * MM, 14 * MM, old_bolt_length=16 * MM)


def with_fastener(fastener: Fastener, **more):
    a = five_hole_rail()
    return replace(a, holes=tuple(replace(h, fastener=fastener) for h in a.holes), **more)


@pytest.mark.expected_from(
    "closed form", "M6 x 16 through 8 + 1.6 + 0.3 leaves 6.1 (common practice, no source)"
)
def test_the_handbook_bolt_does_not_hold_enough_in_iron():
    a = with_fastener(
        BLIND, flange_thickness=8 * MM, old_clamped=3.5 * MM, new_bolt_lengths=(12 * MM, 16 * MM)
    )
    line = bolt_lines(a)[0]
    assert line.clamped == pytest.approx(9.9 * MM)
    assert line.old_engagement == pytest.approx(12.5 * MM)
    assert line.new_length is None
    (none_fits,) = of("RAIL-09", report(a))
    assert none_fits.verdict is Verdict.FAILS
    in_steel = replace(a, thread_material="mild steel")
    assert bolt_lines(in_steel)[0].new_length == pytest.approx(16 * MM)
    assert bolt_lines(in_steel)[0].new_engagement == pytest.approx(6.1 * MM)


@pytest.mark.expected_from(
    "closed form", "clamped + 1.25 d, 1.5 d, depth - 2 mm (common practice, no source)"
)
def test_a_bolt_is_as_short_as_holds_well_and_never_bottoms():
    a = with_fastener(BLIND, new_bolt_lengths=tuple(x * MM for x in (16, 20, 22, 25)))
    window = length_window(a, a.holes[0])
    assert (window.least, window.liked, window.most) == pytest.approx((19.4 * MM, 20.9 * MM, 23.9 * MM))
    assert bolt_lines(a)[0].new_length == pytest.approx(22 * MM)
    assert bolt_lines(a)[0].bottom_clearance == pytest.approx(3.9 * MM)
    short = replace(a, new_bolt_lengths=(20 * MM, 25 * MM))
    assert bolt_lines(short)[0].new_length == pytest.approx(20 * MM)
    out = report(short)
    assert of("RAIL-10", out)[0].verdict is Verdict.HOLDS
    assert of("RAIL-11", out)[0].verdict is Verdict.HOLDS


def test_a_tapped_hole_too_shallow_fails_whatever_the_length():
    shallow = replace(BLIND, blind_depth=8 * MM)
    (none_fits,) = of("RAIL-09", report(with_fastener(shallow)))
    assert none_fits.verdict is Verdict.FAILS
    assert none_fits.says.startswith("No length can")


def test_bolts_without_depth_list_metal_or_flange_cannot_say():
    no_depth = replace(BLIND, blind_depth=None)
    assert of("RAIL-11", report(with_fastener(no_depth)))[0].verdict is Verdict.CANNOT_SAY
    assert not of("RAIL-11", report(with_fastener(replace(no_depth, is_through=True))))
    for more in ({"new_bolt_lengths": ()},):
        assert of("RAIL-09", report(with_fastener(BLIND, **more)))[0].verdict is Verdict.CANNOT_SAY
    for more in ({"thread_material": "unobtainium"}, {"flange_thickness": 0.0}):
        assert of("RAIL-08", report(with_fastener(BLIND, **more)))[0].verdict is Verdict.CANNOT_SAY


@pytest.mark.expected_from(
    "published", "common practice, no source: 1 d in steel, 1.25 to 1.5 d in iron, 2 d in aluminium"
)
@pytest.mark.parametrize(
    ("metal", "times"), [("grey iron", (1.25, 1.5)), ("A356", (2.0, 2.0)), ("mild", (1.0, 1.0))]
)
def test_thread_needed_by_metal(metal, times):
    assert engagement_times(metal) == times


@pytest.mark.expected_from("closed form", "12.9 clamped + 0.8 x 8 + 2 x 1.25")
def test_studs_stand_out_far_enough_for_their_nuts():
    stud = Fastener("stud", "M8", 8 * MM, 1.25 * MM, None, old_bolt_length=19 * MM)
    a = with_fastener(stud, flange_thickness=11 * MM)
    line = bolt_lines(a)[0]
    assert line.is_stud
    assert line.new_length == pytest.approx((12.9 + 6.4 + 2.5) * MM)
    assert of("RAIL-12", report(a))[0].verdict is Verdict.FAILS
    long = with_fastener(replace(stud, old_bolt_length=30 * MM), flange_thickness=11 * MM)
    assert bolt_lines(long)[0].new_length == pytest.approx(30 * MM)
    assert of("RAIL-12", report(long))[0].verdict is Verdict.HOLDS
    unknown = with_fastener(replace(stud, old_bolt_length=None), flange_thickness=11 * MM)
    assert of("RAIL-12", report(unknown))[0].verdict is Verdict.CANNOT_SAY


def test_dowels_need_no_bolt():
    dowel = Fastener("dowel", None, 8 * MM, None, None)
    assert bolt_lines(with_fastener(dowel)) == ()
    assert not of("RAIL-10", report(with_fastener(dowel)))


def test_given_diameters_are_shown_as_assumptions():
    a, _ = ring_rail(8, kind="inside", pairs=ring_pairs(8, (1, 2, 3)))
    keys = {x.key for x in report(a).assumptions}
    assert keys == {"rail.fasteners.edge_diameter"}
    a = replace(
        a,
        holes=tuple(replace(h, edge_diameter_u=0.02 * MM) for h in a.holes),
        readings=tuple(replace(r, u_is_default=False) for r in a.readings),
    )
    assert report(a).assumptions == ()


def test_names_with_braces_do_not_break_a_sentence():
    a = five_hole_rail({6: 0.6})
    new = {h.name: "{" + h.name + "}" for h in a.holes}
    b = replace(
        a,
        holes=tuple(replace(h, name=new[h.name]) for h in a.holes),
        readings=tuple(replace(r, a=new[r.a], b=new[r.b]) for r in a.readings),
        datum="{1}",
        second="{2}",
        mirror=MirrorSide("{4}", "left", "above"),
    )
    assert of("RAIL-04", report(b))
    assert of("RAIL-01", report(replace(b, mirror=None, second="{9}")))


def test_a_given_diameter_that_disagrees_is_named():
    a, _ = ring_rail(10, kind="inside", pairs=ring_pairs(10, (1, 2, 3, 4, 5)))
    holes = list(a.holes)
    holes[3] = RailHole("h4", M6, "main", 8.6 * MM)
    diameters = [Reading(100, "diameter", "h4", None, 6.6 * MM, "caliper", 0.03 * MM, False)] * 2
    made = replace(a, holes=tuple(holes), readings=(*a.readings, *diameters))
    bad = of("RAIL-04", report(made))
    assert any("as given in the job" in f.says for f in bad)
