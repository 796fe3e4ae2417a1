"""What is said of inner walls: does each stand in the oil, and can oil reach every compartment."""

from __future__ import annotations

from sumpwright.body.finding_words import place_of, plain
from sumpwright.body.model import PanBody
from sumpwright.body.wall_model import Division
from sumpwright.findings import Assumption, Figure, Finding, Verdict


def wall_findings(body: PanBody, division: Division) -> list[Finding]:
    """Findings of the inner walls."""
    found = [
        Finding(
            code="BODY-20",
            verdict=Verdict.FAILS,
            where=f"inner wall '{plain(wall)}'",
            says=f"Inner wall '{plain(wall)}': {plain(what)}.",
            how_sure="Worked out exactly from the walls and lumps as given.",
            do=plain(cure),
            source="plane-geometry",
        )
        for wall, what, cure in division.trouble
    ]
    if division.compartments:
        found.append(_parted(division))
        found += _shut_off(division)
        found += _roofs(division)
    return found


def _parted(division: Division) -> Finding:
    least = min(division.compartments, key=lambda one: one.volume)
    return Finding(
        "BODY-21",
        Verdict.HOLDS,
        "inner walls",
        f"The inner walls part the oil into {{count}}; the smallest, {plain(least.name)}, holds "
        "{least} up to the rail plane.",
        (
            Figure("count", float(len(division.compartments)), "1", "count"),
            Figure("least", least.volume, "m3", "volume", 2),
        ),
        how_sure="Exact for the walls as given; the metal of the walls is not taken off.",
        source="plane-geometry",
    )


def _shut_off(division: Division) -> list[Finding]:
    """Compartments that oil cannot enter, or that it cannot leave."""
    found = []
    for compartment in division.compartments:
        ways_in = ways_out = 0
        for opening in division.openings:
            here = (opening.from_compartment, opening.to_compartment)
            if compartment.index not in here:
                continue
            outwards = opening.from_compartment == compartment.index
            ways_out += opening.passes == "both" or (opening.passes == "forward") == outwards
            ways_in += opening.passes == "both" or (opening.passes == "forward") != outwards
        if len(division.compartments) > 1 and (ways_in == 0 or ways_out == 0):
            lack = "in or out" if ways_in == ways_out else "in" if ways_in == 0 else "out"
            found.append(
                Finding(
                    code="BODY-22",
                    verdict=Verdict.FAILS,
                    where=f"compartment {plain(compartment.name)}",
                    says=f"Compartment {plain(compartment.name)} has no way {lack} for the oil.",
                    how_sure="Counted from the openings as given; leaks past doors are not counted.",
                    do="cut a window or a drain slot, or turn a door round",
                    source="plane-geometry",
                    place=place_of(compartment.centre),
                )
            )
    return found


def _roofs(division: Division) -> list[Finding]:
    """Roof baffles through or past which oil cannot come down, or air cannot go up."""
    found = []
    for placed in division.walls:
        if placed.wall.kind != "roof baffle":
            continue
        down = up = False
        for opening in division.openings:
            if opening.wall != placed.wall.name:
                continue
            forward_is_down = float(opening.normal[2]) < 0.0
            down |= opening.passes == "both" or (opening.passes == "forward") == forward_is_down
            up |= opening.passes == "both" or (opening.passes == "forward") != forward_is_down
        if down and up:
            continue
        name = plain(placed.wall.name)
        lack = " and ".join(
            words
            for words, is_there in (
                ("oil cannot come down through it", down),
                ("air cannot go up through it", up),
            )
            if not is_there
        )
        middle = placed.outlines[0].mean(axis=0)[None]
        found.append(
            Finding(
                code="BODY-23",
                verdict=Verdict.FAILS,
                where=f"roof baffle '{name}'",
                says=f"Roof baffle '{name}' has no opening that stays open: {lack}.",
                how_sure="Counted from the openings as given, and from what it leaves free beside itself.",
                do="cut windows that stay open, some under where the oil falls and some at the highest place",
                source="plane-geometry",
                place=place_of(placed.wall.frame.to_space(middle)[0]),
            )
        )
    return found


def wall_assumptions(body: PanBody) -> list[Assumption]:
    """What is taken of inner walls."""
    if not body.inputs.walls:
        return []
    return [
        Assumption(
            "walls",
            "Inner walls count as sheets without thickness in the volumes; their metal takes "
            "the place of {metal}.",
            (
                Figure(
                    "metal",
                    sum(wall.displaced for wall in body.division.walls) if body.division else 0.0,
                    "m3",
                    "volume",
                    2,
                ),
            ),
            "plane-geometry",
        )
    ]
