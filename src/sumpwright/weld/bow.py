"""How far the pan moves when it is welded: all seams pull on one model of all panels.

The zone of a seam ends at its yield in tension when it is cold, and gives way no further
until it is unloaded. Welded free, the zones pull with that force on the metal that is left
beside them. Welded on the plate, the same force is taken up by the plate; when the cold pan
is let go, what the plate held springs, and then all metal resists, zones included.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sumpwright.kit.flange_formulas import full_groove_area
from sumpwright.kit.flange_segments import GROOVE
from sumpwright.kit.model import SheetKit
from sumpwright.quantities.units import FloatArray, IntArray, JoulePerMetre, Metre
from sumpwright.tables.materials import Material
from sumpwright.tables.weld_metals import specific_heat
from sumpwright.tables.welding import weld_settings
from sumpwright.weld.bow_elements import (
    SheetMesh,
    areas,
    greatest_compression,
    local_axes,
    panel_stress,
)
from sumpwright.weld.bow_joints import hole_shifts, rigid_fit
from sumpwright.weld.bow_mesh import CannotMeshError, mesh_panels
from sumpwright.weld.bow_model import (
    BowInputs,
    BowResult,
    Doubt,
    HoleShift,
    PanelRisk,
    SeamPull,
)
from sumpwright.weld.bow_pan import NotOnePanError, PanPanels, pan_panels
from sumpwright.weld.bow_solve import (
    SeamLine,
    Sheet,
    held_still,
    ready,
    seam_pull,
    stiffness,
)
from sumpwright.weld.distortion_formulas import (
    buckling_stress,
    greatest_pull,
    strip_pull,
    transverse_shrinkage,
    transverse_shrinkage_wide,
    weld_pull,
)
from sumpwright.weld.heat_formulas import heat_input
from sumpwright.weld.strongback import strongback_gear

EFFICIENCY = {"TIG": 0.6, "MIG": 0.8}
"""Share of the arc's heat that enters the metal: from memory."""

PULL_DOUBT = (0.7, 1.3)
"""Within this of the formula's constant lie the pulls that were published: from memory."""

COUPON_SPREAD = 0.2
"""Left either way when a coupon shows the pull, for seams that go slower or quicker: common practice."""

RECORD_SPREAD = 0.25
"""Left either way when an earlier pan shows it: common practice."""

CLAMPED_EDGES = 6.97
"""Buckling factor of a panel whose edges do not turn."""

CELLS = 1700
"""Nodes aimed at: twice as many change the bow by less than a tenth."""


def solve_bow(inputs: BowInputs, kit: SheetKit) -> BowResult:
    """The pan's movement as ranges; where it cannot be laid out as panels, the answer says why."""
    gear = strongback_gear(inputs.strongback, kit)
    try:
        pan = pan_panels(kit)
        mesh, chains = mesh_panels(pan.corners, pan.panels, _cell(inputs, pan))
    except NotOnePanError as trouble:
        return replace(nothing(str(trouble)), strongback=gear)
    except CannotMeshError as trouble:
        why = f"the panel {trouble} could not be cut into triangles"
        return replace(nothing(why), strongback=gear)
    lengths = np.array([np.linalg.norm(pan.corners[s.end] - pan.corners[s.start]) for s in pan.seams])
    pulls = seam_pulls(inputs, pan, lengths)
    if isinstance(pulls, str):
        return replace(nothing(pulls), strongback=gear)
    lines = [SeamLine(seam.name, chains.along(seam.start, seam.end), seam.beside) for seam in pan.seams]
    loads = np.array([seam_pull(mesh, line) for line in lines])
    flange = np.unique(mesh.triangles[mesh.panel == pan.flange])
    whole = ready(mesh, stiffness(mesh), held_still(mesh))
    moves = tuple(_welded(whole, pan, pulls, loads, flange, end) for end in (0, 1))
    lift = [out_of_plane(mesh.nodes[flange], move.released[flange, 2]) for move in moves]
    free = [out_of_plane(mesh.nodes[flange], move.free[flange, 2]) for move in moves]
    released = (float(np.ptp(lift[0])), float(np.ptp(lift[1])))
    thickness = pan.panels[pan.flange].thickness
    draw, shift = _joint_draw(kit, pan, thickness)
    return BowResult(
        doubt=pulls.doubt,
        trust=pulls.trust,
        free=(float(np.ptp(free[0])), float(np.ptp(free[1]))),
        released=released,
        along=(bow_along(mesh.nodes[flange], lift[0]), bow_along(mesh.nodes[flange], lift[1])),
        seams=_told(pan, pulls, lengths, moves[1].by_seam[:, flange, 2], mesh.nodes[flange], lift[1]),
        risks=_risks(mesh, pan, moves),
        holes=_holes(mesh, flange, kit, moves),
        joint_draw=draw,
        joint_shift=shift,
        facing=released,
        left_least=thickness - released[1],
        nodes=mesh.nodes,
        triangles=mesh.triangles,
        flange_nodes=flange,
        lift=0.5 * (lift[0] + lift[1]),
        left_out=pan.left_out,
        strongback=gear,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Move:
    """What the seams do to the sheet at one end of the range."""

    free: FloatArray  # (n, 6) m and rad, welded lying free
    released: FloatArray  # (n, 6), welded on the plate and let go
    by_seam: FloatArray  # (s, n, 6), each seam by itself, welded free


def _welded(
    whole: Sheet, pan: PanPanels, pulls: SeamPulls, loads: FloatArray, flange: IntArray, end: int
) -> _Move:
    """Free, and held on the plate then let go."""
    mesh = whole.mesh
    weakened = replace(mesh, modulus=mesh.modulus * (1.0 - pulls.zone_share(pan, end))[mesh.panel])
    left = stiffness(weakened)
    each = loads * pulls.force[end][:, None]
    by_seam = ready(weakened, left, held_still(mesh)).moved_by(each)
    together = each.sum(axis=0)
    held = on_plate(mesh, flange)
    on_it = ready(weakened, left, held).moved_by(together[None])[0]
    # What the plate had to push, taken away again from the cold pan.
    push = np.zeros(together.shape)
    push[held] = (left @ on_it.ravel() - together)[held]
    sprung = whole.moved_by(-push[None])[0]
    return _Move(by_seam.sum(axis=0), on_it + sprung, by_seam)


def out_of_plane(places: FloatArray, lift: FloatArray) -> FloatArray:
    """What is left of lifts (n,) at places (n, 3) once the best plane through them is taken off."""
    plane = np.column_stack([places[:, :2], np.ones(len(places))])
    return np.asarray(lift - plane @ np.linalg.lstsq(plane, lift, rcond=None)[0])


def _cell(inputs: BowInputs, pan: PanPanels) -> Metre:
    """Side of a triangle that gives about as many nodes as are aimed at."""
    if inputs.cell is not None:
        return inputs.cell
    area = float(_areas(pan).sum())
    return float(np.sqrt(area / (CELLS * 0.866)))


def on_plate(mesh: SheetMesh, flange: IntArray) -> IntArray:
    """Freedoms that the plate takes: the flange can neither lift nor tip, and does not slide off."""
    held = [6 * flange + k for k in (2, 3, 4)]
    first = flange[np.argmin(mesh.nodes[flange, 0])]
    last = flange[np.argmax(mesh.nodes[flange, 0])]
    return np.unique(np.concatenate([*held, [6 * first, 6 * first + 1, 6 * last + 1]]))


@dataclass(frozen=True, slots=True, eq=False)
class SeamPulls:
    """Pull and zone of every seam at both ends of the range."""

    heat: FloatArray  # (2, s) J/m
    force: FloatArray  # (2, s) N
    cap: FloatArray  # (s,) N
    sections: FloatArray  # (s, 2) m2 of each panel that belongs to the seam
    strength: FloatArray  # (s,) Pa
    lengths: FloatArray  # (s,) m
    doubt: Doubt
    trust: float | None

    def zone_share(self, pan: PanPanels, end: int) -> FloatArray:
        """Share of each panel's metal (p,) that is at yield in the seams' zones; a half at most."""
        zone = self.force[end] / self.strength
        split = self.sections / self.sections.sum(axis=1)[:, None]
        volume = np.zeros(len(pan.panels))
        for k, seam in enumerate(pan.seams):
            for side in (0, 1):
                volume[seam.panels[side]] += zone[k] * split[k, side] * self.lengths[k]
        return np.asarray(np.minimum(0.5, volume / _volumes(pan)))


def seam_pulls(inputs: BowInputs, pan: PanPanels, lengths: FloatArray) -> SeamPulls | str:
    """Pulls by heat and metal, capped, tied to the shop's coupon or record; or why there are none."""
    section = _strip_sections(pan)
    heat, force, caps, sections, strength = [], [], [], [], []
    told: tuple[Doubt, float | None] = ("order of magnitude", None)
    for seam in pan.seams:
        pair = [(pan.panels[k], pan.metals[k]) for k in seam.panels]
        (thin, metal), (thick, _) = sorted(pair, key=lambda one: one[0].thickness)
        both = heat_range(inputs.process, metal.family, thin.thickness, thick.thickness)
        if both is None:
            return (
                f"no settings are known for welding {metal.id} of {thin.thickness * 1e3:.1f} mm "
                f"with {inputs.process}"
            )
        if metal.yield_at_weld is None or specific_heat(metal.id) is None:
            return f"strength at the weld or specific heat of {metal.id} is not in the tables"
        own = [section[k] for k in seam.panels]
        weakest = min(m.yield_at_weld.value for _, m in pair if m.yield_at_weld is not None)
        cap = greatest_pull(weakest, sum(own))
        least, most, *told_of_it = _range_of(inputs, metal, thin.thickness, both, cap)
        told = told_of_it[0] if told[0] == "order of magnitude" else told
        share = inputs.tack_share if seam.joint is None else 1.0
        heat.append(both)
        force.append((share * least, share * most))
        caps.append(cap)
        sections.append(own)
        strength.append(weakest)
    doubt, trust = told
    return SeamPulls(
        heat=np.array(heat).T,
        force=np.array(force).T,
        cap=np.array(caps),
        sections=np.array(sections),
        strength=np.array(strength),
        lengths=lengths,
        doubt=doubt,
        trust=trust,
    )


def _range_of(
    inputs: BowInputs,
    metal: Material,
    thickness: Metre,
    heat: tuple[JoulePerMetre, JoulePerMetre],
    cap: float,
) -> tuple[float, float, tuple[Doubt, float | None]]:
    """Least and most pull of a seam, and what ties it to this shop.

    Up to the cap the pull follows the heat. A zone that takes in more than half of the metal
    pulls less again, because what holds against it has warmed as well, but never less than
    the bead and what yields beside it, taken as two thicknesses on either side.
    """
    strip = metal.yield_at_weld.value * 4.0 * thickness**2 if metal.yield_at_weld is not None else 0.0
    low, high = (factor * _pull(metal, q) for factor, q in zip(PULL_DOUBT, heat, strict=True))
    most = min(high, cap)
    least = min(low, most) if high <= cap else min(low, most, max(strip, 2.0 * cap - high))
    for coupon in inputs.coupons:
        if coupon.material != metal.id or abs(coupon.thickness - thickness) > 0.15 * thickness:
            continue
        shown = strip_pull(coupon.bow, coupon.width, coupon.thickness, coupon.length, metal.modulus.value)
        assert metal.yield_at_weld is not None
        own_cap = greatest_pull(metal.yield_at_weld.value, coupon.width * coupon.thickness)
        # A strip that is too narrow for its zone shows a share of its cap, a wide one the pull itself.
        here = shown if high <= own_cap else shown / own_cap * cap
        here = min(here, cap)
        return (
            (1.0 - COUPON_SPREAD) * here,
            min(cap, (1.0 + COUPON_SPREAD) * here),
            (
                "by coupon",
                here / float(np.sqrt(least * most)),
            ),
        )
    ratios = [
        record.measured / float(np.sqrt(record.told_least * record.told_most))
        for record in inputs.records
        if record.material == metal.id and record.told_least > 0.0 and record.measured > 0.0
    ]
    if ratios:
        # Several pans of this shop: their middle, as ratios go.
        trust = float(np.exp(np.mean(np.log(ratios))))
        here = trust * float(np.sqrt(least * most))
        return (1.0 - RECORD_SPREAD) * here, (1.0 + RECORD_SPREAD) * here, ("by record", trust)
    return least, most, ("order of magnitude", None)


def heat_range(
    process: str, family: str, thin: Metre, thick: Metre
) -> tuple[JoulePerMetre, JoulePerMetre] | None:
    """Least and most heat of a seam between two sheets; None where no settings are known.

    Thin to thick is set somewhere between the thin sheet and the mean of both, at most half
    again the thin one: common practice.
    """
    low = weld_settings(process, family, thin)
    high = weld_settings(process, family, min(0.5 * (thin + thick), 1.5 * thin))
    if low is None or high is None:
        return None
    eta = EFFICIENCY[process]
    # A quick hand sets more current: least goes with least, and the ends belong together.
    return (
        heat_input(low.amps[0], low.volts[0], low.travel[1], eta),
        heat_input(high.amps[1], high.volts[1], high.travel[0], eta),
    )


def _pull(metal: Material, heat: JoulePerMetre) -> float:
    warmth = specific_heat(metal.id)
    assert warmth is not None
    return weld_pull(heat, metal.expansion.value, metal.modulus.value, metal.density.value, warmth.value)


def _strip_sections(pan: PanPanels) -> list[float]:
    """Section of sheet that belongs to one seam of each panel [m2]: its area over its girth, times t."""
    girths = []
    for panel in pan.panels:
        rings = [pan.corners[list(ring)] for ring in panel.rings]
        girths.append(sum(float(np.linalg.norm(np.roll(r, -1, axis=0) - r, axis=1).sum()) for r in rings))
    return [float(volume) / girth for volume, girth in zip(_volumes(pan), girths, strict=True)]


def _areas(pan: PanPanels) -> FloatArray:
    """Area of every panel (p,) m2."""
    found = []
    for panel in pan.panels:
        area = 0.0
        for ring in panel.rings:
            points = pan.corners[list(ring)] - pan.corners[panel.rings[0][0]]
            twice = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
            area += 0.5 * float(twice @ np.asarray(panel.normal))
        found.append(abs(area))
    return np.array(found)


def _volumes(pan: PanPanels) -> FloatArray:
    """Metal of every panel (p,) m3."""
    return np.asarray(_areas(pan) * np.array([panel.thickness for panel in pan.panels]))


def _told(
    pan: PanPanels,
    pulls: SeamPulls,
    lengths: FloatArray,
    by_seam: FloatArray,
    places: FloatArray,
    whole: FloatArray,
) -> tuple[SeamPull, ...]:
    """Every seam with its part of the bow: its own lifts where the whole is highest and lowest."""
    high, low = int(np.argmax(whole)), int(np.argmin(whole))
    found = []
    for k, seam in enumerate(pan.seams):
        own = out_of_plane(places, by_seam[k])
        found.append(
            SeamPull(
                seam.name,
                seam.joint,
                float(lengths[k]),
                float(pulls.heat[0, k]),
                float(pulls.heat[1, k]),
                float(pulls.force[0, k]),
                float(pulls.force[1, k]),
                float(pulls.cap[k]),
                float(own[high] - own[low]),
            )
        )
    return tuple(found)


def bow_along(places: FloatArray, lift: FloatArray) -> Metre:
    """Height of one even bow along the flange's longer way, ends up positive."""
    spread = np.ptp(places, axis=0)
    axis = int(np.argmax(spread[:2]))
    x = (places[:, axis] - places[:, axis].min()) / spread[axis] * 2.0 - 1.0
    fit = np.column_stack([np.ones_like(x), places[:, :2], x**2])
    return float(np.linalg.lstsq(fit, lift, rcond=None)[0][3])


def _risks(mesh: SheetMesh, pan: PanPanels, moves: tuple[_Move, ...]) -> tuple[PanelRisk, ...]:
    """Panels whose mean compression comes near to what makes them wave."""
    import shapely

    _, flat = local_axes(mesh)
    area = areas(flat)
    stress = [greatest_compression(panel_stress(mesh, move.free)) for move in moves]
    found = []
    for k, panel in enumerate(pan.panels):
        if k == pan.flange:
            continue
        own = mesh.panel == k
        mean = [float(np.average(values[own], weights=area[own])) for values in stress]
        width = _short_side(pan.corners[list(panel.rings[0])], np.asarray(panel.normal), shapely)
        from_ = buckling_stress(panel.modulus, panel.poisson, panel.thickness, width)
        sure = buckling_stress(panel.modulus, panel.poisson, panel.thickness, width, CLAMPED_EDGES)
        found.append(PanelRisk(panel.name, width, mean[0], mean[1], from_, sure))
    return tuple(found)


def _short_side(points: FloatArray, normal: FloatArray, shapely: Any) -> Metre:
    """Shorter side of the least rectangle round a panel."""
    along = points[1] - points[0]
    along = along / np.linalg.norm(along)
    flat = (points - points[0]) @ np.stack([along, np.cross(normal, along)]).T
    box = np.asarray(shapely.get_coordinates(shapely.Polygon(flat).minimum_rotated_rectangle))
    return float(np.linalg.norm(np.diff(box[:3], axis=0), axis=1).min())


def _holes(mesh: SheetMesh, flange: IntArray, kit: SheetKit, moves: tuple[_Move, ...]) -> HoleShift:
    """Lift, draw and tilt at every hole, from the three nearest nodes of the flange."""
    pattern = kit.body.pattern
    at = np.asarray(pattern.xy)
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    places = mesh.nodes[flange]
    values = {}
    for end in (0, 1):
        move = moves[end].released[flange]
        own = np.column_stack([out_of_plane(places, move[:, 2]), move[:, :2], move[:, 3:5]])
        # Tilt counts from the mean plane as well.
        plane = np.column_stack([places[:, :2], np.ones(len(places))])
        slope = np.linalg.lstsq(plane, move[:, 2], rcond=None)[0]
        own[:, 3] -= slope[1]
        own[:, 4] += slope[0]
        inside = LinearNDInterpolator(places[:, :2], own)(at)
        nearest = NearestNDInterpolator(places[:, :2], own)(at)
        values[end] = np.where(np.isnan(inside), nearest, inside)
    draw = values[1][:, 1:3]
    return HoleShift(
        tuple(pattern.names),
        values[0][:, 0],
        values[1][:, 0],
        draw - rigid_fit(at, draw),
        np.hypot(values[1][:, 3], values[1][:, 4]),
    )


def _joint_draw(
    kit: SheetKit, pan: PanPanels, thickness: Metre
) -> tuple[tuple[Metre, Metre] | None, tuple[Metre, Metre] | None]:
    """How far one joint of a flange in segments draws together, and how far that moves a hole at most."""
    if not any(joint.kind == "flange joint" for joint in kit.joints):
        return None, None
    area = full_groove_area(thickness, GROOVE)
    draw = transverse_shrinkage(area, thickness), transverse_shrinkage_wide(area, thickness, 0.0)
    # Shifts go with the draw: one answer serves both ends.
    each = hole_shifts(kit, pan, 1.0)
    farthest = float(np.hypot(each[:, 0], each[:, 1]).max())
    return draw, (farthest * draw[0], farthest * draw[1])


def nothing(why: str) -> BowResult:
    """An answer that says why there is none."""
    nan = float("nan")
    none = np.zeros(0)
    return BowResult(
        doubt="order of magnitude",
        trust=None,
        free=(nan, nan),
        released=(nan, nan),
        along=(nan, nan),
        seams=(),
        risks=(),
        holes=None,
        joint_draw=None,
        joint_shift=None,
        facing=(nan, nan),
        left_least=nan,
        nodes=np.zeros((0, 3)),
        triangles=np.zeros((0, 3), np.int64),
        flange_nodes=np.zeros(0, np.int64),
        lift=none,
        left_out=(),
        trouble=why,
    )
