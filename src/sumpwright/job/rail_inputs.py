"""From the rail's sections to what the rail stage needs."""

from __future__ import annotations

from typing import Literal, cast

from sumpwright.findings import Assumption, Figure
from sumpwright.job.sections import FastenersSection, LandSection, PanSection, RailSection
from sumpwright.job.shop import ShopFile, tool_uncertainties
from sumpwright.quantities.units import Kelvin, Metre
from sumpwright.rail import Fastener, Land, MirrorSide, RailHole, RailInputs, Reading, Seal
from sumpwright.tables.fasteners import Thread, clearance_hole, find_thread, plain_washer
from sumpwright.tables.materials import find_material

ROOM_TEMPERATURE: Kelvin = 293.15
HOT: Kelvin = 383.15
SEAL_THICKNESS: dict[str, Metre] = {"liquid sealant": 0.0003, "gasket": 0.0015, "end seal": 0.003}
"""Clamped thickness where the job does not say: common practice, no source."""


def build_rail(
    rail: RailSection,
    groups: tuple[FastenersSection, ...],
    land_sections: tuple[LandSection, ...],
    pan: PanSection,
    old_clamped: Metre | None,
    readings: tuple[Reading, ...],
    shop: ShopFile | None,
    bolt_lengths: tuple[Metre, ...],
) -> tuple[RailInputs, tuple[Assumption, ...]]:
    """The rail stage's inputs, and what was taken where the job does not say."""
    told: list[Assumption] = []
    runs_against = _runs_against(rail)
    ring = list(rail.ring)
    if runs_against:
        # Inside, the ring always goes anticlockwise seen from above, from the same first hole.
        ring = [ring[0], *reversed(ring[1:])]
    lands = tuple(_land(land, runs_against, told) for land in land_sections)
    land_of = _lands_of_holes(ring, lands)
    group_of = {name: group for group in groups for name in group.holes}
    u = tool_uncertainties(shop)["caliper"]
    inputs = RailInputs(
        holes=tuple(
            RailHole(
                name=name,
                fastener=_fastener(group_of[name]),
                land=land_of[name],
                edge_diameter=group_of[name].hole_diameter,
                edge_diameter_u=u if group_of[name].hole_diameter is not None else None,
            )
            for name in ring
        ),
        readings=readings,
        datum=rail.datum,
        second=rail.second,
        bearing_left=_bearing_left(rail),
        mirror=_mirror(rail),
        lands=lands,
        block_material=_metal_id(rail.block),
        thread_material=_thread_metal(rail, told),
        temperature=_temperature(rail, told),
        coverage_limit=_coverage_limit(rail, groups, told),
        washer=_washer(pan, groups, told),
        flange_thickness=pan.flange,
        flange_thickness_reason="as the job file gives it",
        new_bolt_lengths=bolt_lengths,
        old_clamped=old_clamped,
        tool_temperature=rail.temperature if rail.tool_temperature is None else rail.tool_temperature,
    )
    return inputs, tuple(told)


def thread_systems(groups: tuple[FastenersSection, ...]) -> frozenset[str]:
    """Whether the rail has metric threads, inch threads or both."""
    return frozenset(thread.system for thread in _threads(groups))


def hot_temperature(rail: RailSection, told: list[Assumption]) -> Kelvin:
    """How hot pan and rail get."""
    if rail.hot is not None:
        return rail.hot
    told.append(
        Assumption(
            "rail.hot",
            "How hot pan and rail get is not given; {hot} is taken.",
            (Figure("hot", HOT, "K", "temperature"),),
        )
    )
    return HOT


def _threads(groups: tuple[FastenersSection, ...]) -> tuple[Thread, ...]:
    found = (find_thread(group.thread) for group in groups if group.thread is not None)
    return tuple(thread for thread in found if thread is not None)


def _fastener(group: FastenersSection) -> Fastener:
    thread = find_thread(group.thread) if group.thread is not None else None
    diameter = thread.diameter if thread is not None else group.diameter
    assert diameter is not None, "check_rail refuses a fastener without one"
    return Fastener(
        kind=cast(Literal["bolt", "stud", "dowel"], group.kind),
        thread=thread.name if thread is not None else None,
        diameter=diameter,
        pitch=thread.pitch if thread is not None else None,
        blind_depth=group.blind_depth,
        is_through=bool(group.through),
        old_bolt_length=group.old_bolt_length,
    )


def _runs_against(rail: RailSection) -> bool:
    """Whether the job's ring goes clockwise seen from above; False where it does not matter."""
    if rail.ring_runs is None:
        return False
    return (rail.ring_runs == "clockwise") == (rail.seen_from == "above")


def _land(land: LandSection, runs_against: bool, told: list[Assumption]) -> Land:
    thickness = land.seal_thickness
    if thickness is None:
        thickness = SEAL_THICKNESS[land.seal]
        told.append(
            Assumption(
                f"rail.lands.{land.name}.seal_thickness",
                f"How thick the {land.seal} on the land '{land.name}' is when clamped is not given; "
                "{thickness} is taken.",
                (Figure("thickness", thickness, "m", "length"),),
            )
        )
    ends = (land.from_hole, land.to_hole)
    return Land(
        name=land.name,
        kind=cast(Literal["flat", "step", "arch"], land.kind),
        seal=Seal(cast(Literal["gasket", "liquid sealant", "end seal"], land.seal), thickness),
        height=(land.above or 0.0) - (land.below or 0.0),
        radius=land.radius,
        width=land.width,
        from_hole=ends[1] if runs_against else ends[0],
        to_hole=ends[0] if runs_against else ends[1],
        from_line=_line(land.to_line if runs_against else land.from_line),
        to_line=_line(land.from_line if runs_against else land.to_line),
        middle=None if land.middle is None else (land.middle[0], land.middle[1]),
    )


def _line(points: list[list[float]] | None) -> tuple[tuple[float, float], tuple[float, float]] | None:
    if points is None:
        return None
    return (points[0][0], points[0][1]), (points[1][0], points[1][1])


def _lands_of_holes(ring: list[str], lands: tuple[Land, ...]) -> dict[str, str]:
    """The land of each hole: those strictly between a land's ends, the rest on the land without ends."""
    rest = next(land.name for land in lands if land.from_hole is None)
    found = dict.fromkeys(ring, rest)
    for land in lands:
        if land.from_hole is None or land.to_hole is None:
            continue
        at = ring.index(land.from_hole)
        turned = [*ring[at + 1 :], *ring[: at + 1]]
        for name in turned[: turned.index(land.to_hole)]:
            found[name] = land.name
    return found


def _bearing_left(rail: RailSection) -> float | None:
    if rail.bearing_right is not None:
        return 0.0 - rail.bearing_right
    return rail.bearing_left


def _mirror(rail: RailSection) -> MirrorSide | None:
    if rail.side_hole is None or rail.side is None or rail.seen_from is None:
        return None
    return MirrorSide(
        rail.side_hole,
        cast(Literal["left", "right"], rail.side),
        cast(Literal["above", "below"], rail.seen_from),
    )


def _metal_id(name: str) -> str:
    metal = find_material(name)
    assert metal is not None, "check_rail refuses unknown metals"
    return metal.id


def _thread_metal(rail: RailSection, told: list[Assumption]) -> str:
    if rail.threads is not None:
        return _metal_id(rail.threads)
    told.append(
        Assumption(
            "rail.threads",
            f"The metal the threads are cut in is not given; it is taken as the block's, {rail.block}.",
        )
    )
    return _metal_id(rail.block)


def _temperature(rail: RailSection, told: list[Assumption]) -> Kelvin:
    if rail.temperature is not None:
        return rail.temperature
    told.append(
        Assumption(
            "rail.temperature",
            "How warm block and caliper were is not given; {temperature} is taken.",
            (Figure("temperature", ROOM_TEMPERATURE, "K", "temperature"),),
        )
    )
    return ROOM_TEMPERATURE


def _coverage_limit(rail: RailSection, groups: tuple[FastenersSection, ...], told: list[Assumption]) -> Metre:
    """How far a hole may be off: the play of the tightest clearance hole, unless the job says."""
    if rail.hole_off_at_most is not None:
        return rail.hole_off_at_most
    plays = []
    for thread in _threads(groups):
        hole = clearance_hole(thread.size)
        if hole is not None:
            plays.append(((hole.value - thread.diameter) / 2, thread.name, hole.source))
    # A rail of dowels alone has no clearance hole: then the play of the smallest bolt of the table.
    play, name, source = min(plays, default=(0.0002, "the smallest bolt", "iso-273"))
    told.append(
        Assumption(
            "rail.hole_off_at_most",
            f"How far a hole may be off is not given; the play all round {name} in its usual clearance "
            "hole is "
            "taken, {play}.",
            (Figure("play", play, "m", "length"),),
            source,
        )
    )
    return play


def _washer(pan: PanSection, groups: tuple[FastenersSection, ...], told: list[Assumption]) -> Metre:
    if pan.washer is not None:
        return pan.washer
    found = [washer for thread in _threads(groups) if (washer := plain_washer(thread.size)) is not None]
    if not found:
        return 0.0
    washer = max(found, key=lambda item: item.thickness)
    told.append(
        Assumption(
            "pan.washer",
            "Washers under the bolt heads are not given; plain ones of {thickness} are taken.",
            (Figure("thickness", washer.thickness, "m", "length"),),
            washer.source,
        )
    )
    return washer.thickness
