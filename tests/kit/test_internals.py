"""Inner walls, doors, bosses and the pickup's flat parts inside pans made by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from sumpwright.body import PanBody, Pickup
from sumpwright.body.fittings import Fitting
from sumpwright.body.pickup_line import PickupLine, Screen, TubeCorner, TubeSection
from sumpwright.body.wall_model import Door, InnerWall, WallCut
from sumpwright.findings import Verdict
from sumpwright.kit.check import check
from sumpwright.kit.metal import metal_of
from sumpwright.kit.model import FlatPart, KitInputs, SheetKit, density_of
from sumpwright.kit.solve import solve
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan
from tests.body.hand_walls import before, door, roof, slot, upright, window
from tests.kit.nest_parts_by_hand import kit_inputs

FIT = 0.5 + 0.1  # mm: the fit clearance and the cutter's tolerance of the made-up cutter


def made(body: PanBody, inputs: KitInputs | None = None) -> SheetKit:
    kit = solve(kit_inputs() if inputs is None else inputs, body)
    assert kit.parts, kit.rebuild.why
    return kit


def box_body(*walls: InnerWall, slope: float = 0.0, **more: object) -> PanBody:
    """A box of 300 x 200 x 120 mm, or with leaning walls."""
    return body_of(plan("sump", box(0, 300, 0, 200), 120, slope_deg=slope), walls=walls, **more)


def part(kit: SheetKit, name: str) -> FlatPart:
    return next(each for each in kit.parts if each.name == name)


def size_mm(each: FlatPart) -> tuple[float, float]:
    low, high = np.asarray(each.outline.points).min(axis=0), np.asarray(each.outline.points).max(axis=0)
    return float(high[0] - low[0]) / MM, float(high[1] - low[1]) / MM


@pytest.mark.expected_from(
    "closed form", "200 mm less two clearances across, 120 mm less rail gap and one clearance"
)
def test_a_wall_across_a_box_keeps_its_clearance_on_every_side() -> None:
    kit = made(box_body(upright("A", (150, 0), (150, 200))))
    wide, high = size_mm(part(kit, "A"))
    assert wide == pytest.approx(200 - 2 * FIT, abs=1e-6)
    assert high == pytest.approx(120 - 3 - FIT, abs=1e-6)


@pytest.mark.expected_from(
    "closed form", "a wall t thick on a face leaning by b stays back t/2 tan(b) and the clearance"
)
def test_a_wall_on_leaning_faces_keeps_its_thickness_clear() -> None:
    slope = 20.0
    kit = made(box_body(upright("A", (0, 100), (300, 100), thickness=3.0), slope=slope))
    across = part(kit, "A")
    assert kit.internals is not None
    assert not kit.internals.clashes
    # Where wall meets wall it stands square, so only the clearance is kept, along the slope.
    line = shapely.Polygon(np.asarray(across.outline.points))
    bottom = 300 - 2 * 120 * math.tan(math.radians(slope))
    low = float(np.asarray(across.outline.points)[:, 1].min())
    foot = line.intersection(shapely.LineString([(-1, low + 1e-7), (1, low + 1e-7)])).length / MM
    lean = math.radians(slope)
    # Two set-backs square to the sloping sides, and the sides are longer higher up.
    expected = bottom - 2 * FIT / math.cos(lean) + 2 * FIT * math.tan(lean)
    assert foot == pytest.approx(expected, abs=2e-3)
    # A wall that runs at 45 degrees over the corner meets both faces aslant.
    kit = made(box_body(upright("B", (100, 0), (0, 100), thickness=3.0)))
    wide, _ = size_mm(part(kit, "B"))
    back = FIT + 1.5 / math.tan(math.radians(45))
    assert wide == pytest.approx(100 * math.sqrt(2) - 2 * back, abs=2e-3)
    assert kit.internals is not None
    assert not kit.internals.clashes


@pytest.mark.expected_from(
    "closed form", "a wall that ends at another of 2 mm stays back 1 mm and the clearance"
)
def test_a_wall_that_ends_at_another_keeps_half_its_thickness() -> None:
    walls = (
        upright("A", (150, 0), (150, 200), thickness=2.0),
        replace(upright("B", (0, 100), (300, 100), thickness=2.0), limits=(before((1.0, 0.0, 0.0), 150),)),
    )
    kit = made(box_body(*walls))
    wide, _ = size_mm(part(kit, "B"))
    tab = 2.0 + 0.25 * 2.0
    assert wide == pytest.approx(150 - FIT - 1.0 - FIT + tab, abs=1e-6)
    assert len(part(kit, "A").cut_outs) == 2
    assert "tabs into A" in part(kit, "B").note
    assert kit.internals is not None
    assert not kit.internals.clashes


@pytest.mark.expected_from("closed form", "window 40 x 30 mm and a slot over the lower edge, areas by hand")
def test_windows_and_drain_slots_are_cut() -> None:
    wall = upright("A", (150, 0), (150, 200), window("w", 40, 80, -90, -60), slot("s", 100, 110, -125, -110))
    kit = made(box_body(wall))
    whole = (200 - 2 * FIT) * (120 - 3 - FIT)
    metal = metal_of(part(kit, "A")).area / MM**2
    assert metal == pytest.approx(whole - 40 * 30 - 10 * (10 - FIT), abs=1e-3)
    assert len(part(kit, "A").cut_outs) == 1


@pytest.mark.expected_from("property", "a flap turned over has no hole where the wall has one")
@pytest.mark.parametrize("passes", ["with normal", "against normal"])
@pytest.mark.parametrize("hinge", ["top", "side"])
def test_a_door_goes_on_one_way_only_and_fits(passes: str, hinge: str) -> None:
    wall = upright("A", (150, 0), (150, 200), door("d", 70, 110, -80, -50, passes))
    cut = wall.cuts[0]
    assert cut.door is not None
    wall = replace(wall, cuts=(replace(cut, door=replace(cut.door, hinge=hinge)),))
    kit = made(box_body(wall))
    assert kit.internals is not None
    assert not kit.internals.trouble
    assert not kit.internals.clashes
    flap, bar, plate = part(kit, "A d flap"), part(kit, "A d bar"), part(kit, "A")
    in_space = {
        name: np.array([each.frame.to_space(np.array([[h.x, h.y]]))[0] for h in each.holes])
        for name, each in (("flap", flap), ("bar", bar), ("wall", plate))
    }
    normal = np.asarray(plate.frame.normal)
    for name in ("flap", "bar"):
        away = in_space[name] - in_space["wall"]
        assert np.abs(away - np.outer(away @ normal, normal)).max() < 1e-9
    ends = np.asarray(flap.outline.points)
    mirrored = [ends[:, 0].max() + ends[:, 0].min() - h.x for h in flap.holes]
    assert min(abs(m - h.x) for m in mirrored for h in flap.holes) > 2 * MM
    # The flap covers its opening with the overlap asked, on the side it opens to.
    opening = shapely.Polygon(flap.frame.to_flat(wall.frame.to_space(np.asarray(cut.outline))))
    assert metal_of(flap).buffer(1e-7).covers(opening.buffer(5 * MM, join_style="mitre"))
    outward = float((np.asarray(flap.frame.origin) - wall.frame.origin) @ normal)
    assert (outward > 0) is (passes == "with normal")
    assert flap.material == "rubber"


@pytest.mark.expected_from("property", "faults of inner walls are findings with a place, never a crash")
@pytest.mark.parametrize(
    ("walls", "word"),
    [
        ((upright("A", (150, 0), (150, 200)), upright("B", (0, 100), (300, 100))), "run through each other"),
        ((upright("A", (150, 0), (150, 200), window("w", 90, 110, -130, 10)),), "in two"),
        ((upright("A", (150, 0), (150, 200), door("d", 5, 195, -80, -50)),), "larger than the wall"),
    ],
)
def test_bad_walls_are_named_with_their_place(walls: tuple[InnerWall, ...], word: str) -> None:
    body = box_body(*walls)
    kit = made(body)
    findings = [f for f in check(kit_inputs(), kit).findings if f.code == "KIT-80"]
    assert findings
    assert all(f.verdict is Verdict.FAILS for f in findings)
    assert any(word in f.says for f in findings)
    for finding in findings:
        assert finding.place is not None
        low, high = body.cavity.vertices.min(axis=0), body.cavity.vertices.max(axis=0)  # type: ignore[union-attr]
        assert np.all(np.array(finding.place) >= low - 1e-6)
        assert np.all(np.array(finding.place) <= high + 1e-6)


@pytest.mark.expected_from(
    "property", "crossing walls want the same metal; the place lies on their common line"
)
def test_crossing_walls_clash_on_their_line() -> None:
    kit = made(box_body(upright("A", (150, 0), (150, 200)), upright("B", (0, 100), (300, 100))))
    assert kit.internals is not None
    assert any("A" in clash.parts and "B" in clash.parts for clash in kit.internals.clashes)
    place = kit.internals.trouble[0].place
    assert place[0] == pytest.approx(0.150)
    assert place[1] == pytest.approx(0.100)


@pytest.mark.expected_from(
    "property", "a bolted baffle's bosses touch the wall they are welded to and lie inside"
)
def test_a_roof_baffle_is_bolted_unless_asked_otherwise() -> None:
    body = box_body(roof("baffle", 60, window("fill", 100, 200, 50, 150)))
    kit = made(body)
    assert kit.internals is not None
    (fixing,) = kit.internals.fixings
    assert fixing.way == "bolted"
    assert fixing.boss_diameter is not None
    assert len(fixing.places) == len(part(kit, "baffle").holes) >= 4
    for x, y, _ in np.asarray(fixing.places) / MM:
        nearest = min(x, 300 - x, y, 200 - y)
        assert nearest == pytest.approx(fixing.boss_diameter / MM / 2, abs=0.6)
    tacked = made(body, replace(kit_inputs(), baffle_fixing="tacked"))
    assert tacked.internals is not None
    assert tacked.internals.fixings[0].way == "tacked"
    assert not part(tacked, "baffle").holes


@pytest.mark.expected_from(
    "closed form", "hole = boss and 0.3 mm, ring 12 mm wider all round, on the outside"
)
def test_bosses_get_a_hole_and_a_ring_and_are_refused_over_an_edge() -> None:
    drain = Fitting("drain", "drain", frozen_array([0.150, 0.100, -0.120]), "M18x1.5", 0.028)
    edge = Fitting("sensor", "sensor", frozen_array([0.150, 0.005, -0.120]), "M12x1.5", 0.020)
    bare = box_body()
    kit = made(replace(bare, inputs=replace(bare.inputs, fittings=(drain, edge))))
    assert kit.internals is not None
    (boss,) = kit.internals.bosses
    assert boss.hole == pytest.approx(28.3 * MM)
    panel, ring = part(kit, boss.face), part(kit, "drain ring")
    hole = next(h for h in panel.holes if h.label == "drain")
    middle = panel.frame.to_space(np.array([[hole.x, hole.y]]))[0]
    np.testing.assert_allclose(middle[:2], [0.150, 0.100], atol=1e-9)
    assert size_mm(ring)[1] == pytest.approx(0, abs=1e-9)  # two half circles: both points on one line
    assert size_mm(ring)[0] == pytest.approx(28.3 + 24)
    assert ring.frame.origin[2] == pytest.approx(-0.120 - 2 * 0.002)
    assert [t.where for t in kit.internals.trouble] == ["sensor"]
    assert any(b.name == "drain plug" for b in kit.internals.bought)


def pickup_line(shape: str = "round") -> PickupLine:
    section = TubeSection(shape, 0.022, 0.022, 0.0015)  # type: ignore[arg-type]
    path = frozen_array(np.array([[150, 100, -107], [150, 100, -60], [250, 100, -60]]) * MM)
    screen = Screen("woven", math.pi / 4 * 0.040**2, 0.001, 0.0016, 0.0005)
    return PickupLine(
        section,
        path,
        (TubeCorner("mitre", None),),
        path[-1],
        screen=screen,
        held_at=("pump", "cap"),
        has_feet=True,
    )


@pytest.mark.expected_from(
    "closed form", "screen of 40 mm: frame 52/40, plate 52/25.3, feet 13 mm of gap less 2, lap 8"
)
@pytest.mark.parametrize("shape", ["round", "square"])
def test_the_pickups_flat_parts(shape: str) -> None:
    pickup = Pickup(frozen_array(np.array([150, 100, -107]) * MM), 0.042, pickup_line(shape))
    kit = made(box_body(pickup=pickup))
    assert kit.internals is not None
    assert not kit.internals.clashes
    frame, plate, foot = (part(kit, f"pickup {name}") for name in ("screen frame", "end plate", "foot"))
    assert size_mm(frame)[0] == pytest.approx(52)
    assert frame.holes[0].diameter == pytest.approx(40 * MM)
    if shape == "round":
        assert plate.holes[0].diameter == pytest.approx(25.3 * MM)
    else:
        cut = np.asarray(plate.cut_outs[0].points)
        assert np.ptp(cut, axis=0) == pytest.approx([25.3 * MM, 25.3 * MM])
    assert sorted(size_mm(foot)) == pytest.approx([12, 8 + 13 - 2])
    assert foot.quantity == 3
    assert part(kit, "pickup bracket").quantity == 1
    tube = next(b for b in kit.internals.bought if b.name == "pickup tube")
    assert "wall" in tube.check


@pytest.mark.expected_from("property", "common practice, no source: aluminium does not weld to steel")
def test_plates_of_the_pickup_are_of_a_metal_that_welds_to_its_tube() -> None:
    def metals(tube: str | None) -> set[str]:
        line = replace(pickup_line(), metal=tube)
        pickup = Pickup(frozen_array(np.array([150, 100, -107]) * MM), 0.042, line)
        kit = made(box_body(pickup=pickup), replace(kit_inputs(), material="5052-H32"))
        return {each.material for each in kit.parts if each.name.startswith("pickup")}

    assert metals(None) == {"5052-H32"}
    assert metals("6061-T6") == {"5052-H32"}
    assert metals("mild") == {"mild"}


@pytest.mark.expected_from("published", "tables/data/materials.csv: mild steel 7850 kg/m3")
def test_a_part_weighs_what_its_own_metal_weighs() -> None:
    line = replace(pickup_line(), metal="mild")
    pickup = Pickup(frozen_array(np.array([150, 100, -107]) * MM), 0.042, line)
    inputs = replace(kit_inputs(), material="5052-H32", flange_material="5052-H32")
    kit = made(box_body(pickup=pickup), inputs)
    assert density_of(part(kit, "pickup bracket"), inputs) == 7850.0
    assert density_of(part(kit, "flange"), inputs) == inputs.flange_density


@pytest.mark.expected_from(
    "property", "without walls, pickup line and fittings nothing is made for the inside"
)
def test_a_bare_pan_has_no_inside() -> None:
    assert made(box_body()).internals is None


@pytest.mark.expected_from("property", "a door in metal instead of rubber is cut from sheet")
def test_a_metal_door_is_cut_from_sheet() -> None:
    cut = door("d", 70, 110, -80, -50)
    assert cut.door is not None
    metal = WallCut(cut.name, cut.kind, cut.outline, None, Door("with normal", 0.0005, 0.005, "hinged metal"))
    kit = made(box_body(upright("A", (150, 0), (150, 200), metal)))
    assert part(kit, "A d flap").material == kit_inputs().material


@pytest.mark.expected_from("property", "tabs of a wall that meets another aslant touch no metal")
@pytest.mark.parametrize("rise", [-60.0, 40.0, 90.0])
def test_tabs_of_aslant_walls_fit_their_slots(rise: float) -> None:
    leaning = upright("B", (0, 100), (150, 100 + rise), thickness=2.0)
    walls = (
        upright("A", (150, 0), (150, 200), thickness=2.0),
        replace(leaning, limits=(before((1.0, 0.0, 0.0), 150),)),
    )
    kit = made(box_body(*walls))
    assert kit.internals is not None
    assert len(part(kit, "A").cut_outs) == 2
    assert not kit.internals.clashes
    assert not kit.internals.trouble
