"""What to buy for inside and outside, and how to tell at the bench that it is the right stuff."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.fittings import Fitting
from sumpwright.body.pickup_line import PickupLine, Screen
from sumpwright.findings import Figure
from sumpwright.kit.doors import BOLT_HOLE, FLAP
from sumpwright.kit.internals_model import BoughtPart, DoorSet, Fixing, PickupTube, PlacedBoss
from sumpwright.kit.pickup_parts import LAND
from sumpwright.quantities.units import Metre

MAGNET = "; the magnet holds a nut hanging and sits tight"
WELDABLE = "plain, weldable bar: no free-machining grade, no plating"


def bought_parts(
    body: PanBody,
    material: str,
    fixings: Sequence[Fixing],
    doors: Sequence[DoorSet],
    tube: PickupTube | None,
    bosses: Sequence[PlacedBoss],
) -> tuple[BoughtPart, ...]:
    """The list, in the order of the work; lengths of rail bolts stand in the Rail section."""
    found: list[BoughtPart] = []
    pickup = body.inputs.pickup
    line = None if pickup is None else pickup.line
    if tube is not None and line is not None:
        found.append(_tube(tube, line))
    if line is not None and line.screen is not None:
        found.append(_screen(line.screen))
    for boss in bosses:
        found += _boss(boss, material)
    found += _wall_bolts(fixings, material)
    if doors:
        found += _door_stuff(len(doors))
    found += _seals(body)
    found.append(
        BoughtPart(
            "filler rod",
            "as the weld plan says",
            "for {sheet} sheet",
            f"matched to the metals of pan and flange ({material})",
            "stamp on each rod, or keep it in its marked tube",
            (_length("sheet", body.inputs.sheet),),
        )
    )
    return tuple(found)


def _tube(tube: PickupTube, line: PickupLine) -> BoughtPart:
    section = line.section
    figures = (
        _length("stock", tube.stock_length, 0),
        _length("outside", tube.outside),
        _length("high", section.clear_height + 2.0 * section.wall),
        _length("wall", section.wall),
    )
    is_round = section.shape == "round"
    return BoughtPart(
        "pickup tube",
        "{stock}",
        "round, {outside} outside, {wall} wall" if is_round else "box, {outside} by {high}, {wall} wall",
        "as the job file says, without a seam bead inside",
        "measure the wall at both ends; a magnet tells plain steel from stainless and aluminium",
        figures,
    )


def _screen(screen: Screen) -> BoughtPart:
    figures = (
        Figure("count", 0.0254 / screen.pitch, "1", "count", 0),
        _length("wire", screen.thickness, 2),
        _length("opening", screen.opening, 2),
        _length("pitch", screen.pitch, 2),
        _length("across", math.sqrt(4.0 * screen.area / math.pi) + 2.0 * LAND, 0),
    )
    woven = "woven, {count} meshes to the inch, {wire} wire; cut {across} round"
    plate = "perforated, {opening} holes {pitch} apart, {wire} thick; cut {across} round"
    return BoughtPart(
        "pickup screen",
        "1",
        woven if screen.kind == "woven" else plate,
        "stainless",
        (
            "count the meshes along a rule; a magnet hardly holds"
            if screen.kind == "woven"
            else "measure hole and pitch; a magnet hardly holds"
        ),
        figures,
    )


def _boss(boss: PlacedBoss, material: str) -> list[BoughtPart]:
    fitting = boss.fitting
    found = [
        BoughtPart(
            f"{fitting.name} boss",
            "1",
            f"{fitting.thread}, {{outside}} outside",
            f"the pan's kind of metal ({material}); {WELDABLE}",
            "the seller's note and a magnet; "
            + (
                "measure outside and bore"
                if fitting.thread == "plain"
                else "try its plug by hand before it is welded"
            ),
            (_length("outside", fitting.boss_diameter),),
        )
    ]
    if fitting.kind == "drain":
        found += [
            BoughtPart(
                "drain plug",
                "1",
                f"{fitting.thread}, with a magnet" if fitting.has_magnet else fitting.thread,
                "steel, with a collar",
                f"try it in the boss by hand; a pitch gauge on both{MAGNET if fitting.has_magnet else ''}",
            ),
            BoughtPart(
                "drain washer",
                "2",
                f"for {fitting.thread}",
                "soft copper or aluminium",
                "new and flat; copper that was used is annealed first",
            ),
        ]
    if fitting.kind == "sensor":
        found.append(
            BoughtPart(
                f"{fitting.name} washer",
                "1",
                f"for {fitting.thread}",
                "bonded seal of fluoro rubber, or soft copper",
                "new, for this thread; the rubber's data sheet says what heat it stands",
            )
        )
    if fitting.inside is not None and fitting.kind in ("extraction tube", "return"):
        found.append(_inner_tube(fitting))
    return found


def _inner_tube(fitting: Fitting) -> BoughtPart:
    """The tube that runs on inside the pan, with 30 mm to cut to length."""
    assert fitting.inside is not None
    line = np.vstack([fitting.at, fitting.inside])
    long = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    outside = fitting.boss_diameter if fitting.inside_diameter is None else fitting.inside_diameter
    return BoughtPart(
        f"{fitting.name}, tube inside",
        "1",
        "{outside} outside, {long} to cut to length",
        "plain steel or stainless, or aluminium where the boss is; no copper in hot oil",
        "a magnet tells plain steel; blow through it before it is welded",
        (_length("outside", outside), _length("long", long + 0.030, 0)),
    )


def _wall_bolts(fixings: Sequence[Fixing], material: str) -> list[BoughtPart]:
    count = sum(len(fixing.places) for fixing in fixings)
    if not count:
        return []
    widest = max(fixing.boss_diameter or 0.0 for fixing in fixings)
    return [
        BoughtPart(
            "inner wall bosses",
            str(count),
            "M6 right through, {outside} round, {long} long",
            f"the pan's kind of metal ({material}); {WELDABLE}",
            "the seller's note and a magnet; run a bolt through before and after welding",
            (_length("outside", widest), _length("long", 0.015)),
        ),
        BoughtPart(
            "inner wall bolts",
            str(count),
            "M6 x 12, each with a lock washer that bites, or drilled for wire",
            "steel 8.8",
            "head stamp 8.8",
        ),
    ]


def _door_stuff(count: int) -> list[BoughtPart]:
    return [
        BoughtPart(
            "door rubber",
            f"for {count} flaps",
            "{flap} sheet",
            "fluoro rubber; nitrile hardens above about 100 degC",
            "the seller's data sheet. Never burn or flame-cut it: its fume is poisonous",
            (_length("flap", FLAP),),
        ),
        BoughtPart(
            "door bolts and lock nuts",
            str(2 * count),
            "M4 x 16, for {hole} holes",
            "steel 8.8, all-metal lock nuts",
            "head stamp 8.8; a nut that runs on by finger does not lock",
            (_length("hole", BOLT_HOLE),),
        ),
    ]


def _seals(body: PanBody) -> list[BoughtPart]:
    """One line for each kind of seal on the rail."""
    pattern = body.pattern
    kinds = dict.fromkeys(land.seal.kind for land in pattern.lands) if pattern is not None else {}
    checks = {
        "liquid sealant": ("a tube or cartridge", "oil-proof, in date", "date on the tube; a dab that skins"),
        "gasket": ("to the rail's outline", "for oil", "measure its thickness"),
        "end seal": ("to the arch", "for oil", "measure its height free"),
    }
    found = []
    for kind in kinds:
        size, stuff, check = checks.get(kind, ("to the rail", "for oil", "the maker's note"))
        found.append(BoughtPart(f"rail {kind}", "1", size, stuff, check))
    return found


def _length(name: str, value: Metre, digits: int | None = None) -> Figure:
    return Figure(name, value, "m", "length", digits)
