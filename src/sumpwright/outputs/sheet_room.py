"""Tables of the Shape section on inner walls and on the room round the pan."""

from __future__ import annotations

from sumpwright.body.surroundings import BoltAccess, Fit
from sumpwright.body.wall_model import Division
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_length, write_value


def compartment_tables(form: Form, division: Division, units: UnitSystem) -> None:
    """What the inner walls set apart, and the ways between."""
    names = {one.index: one.name for one in division.compartments}
    form.caption("Compartments")
    form.table(
        (Column("compartment", 60), Column("volume below the rail", 40, "right")),
        tuple(
            Row((one.name, write_value(one.volume, "m3", "volume", units, 2)))
            for one in division.compartments
        ),
    )
    if division.openings:
        form.caption("Ways between them")
        form.table(
            (
                Column("opening", 36),
                Column("kind", 24),
                Column("in wall", 30),
                Column("from", 34),
                Column("to", 34),
                Column("area", 24, "right"),
                Column("passes", 22),
            ),
            tuple(
                Row(
                    (
                        one.name,
                        one.kind,
                        one.wall,
                        names.get(one.from_compartment, ""),
                        names.get(one.to_compartment, ""),
                        write_value(one.area, "m2", "area", units, 0),
                        {"both": "both ways", "forward": "from, to", "backward": "to, from"}[one.passes],
                    )
                )
                for one in division.openings
            ),
        )


def room_tables(form: Form, fit: Fit, units: UnitSystem) -> None:
    """Least gaps, the ground, and which bolts a tool reaches."""
    if fit.clearances:
        form.caption("Room to what stands round the pan")
        form.table(
            (
                Column("keep clear of", 44),
                Column("least gap", 26, "right"),
                Column("at", 44),
                Column("when", 60),
            ),
            tuple(
                Row(
                    (one.keep_out, write_length(one.gap, units, 1), one.part, one.posture),
                    one.gap < 0.0 or one.swallowed,
                )
                for one in fit.clearances
            ),
        )
    ground = fit.ground
    if ground is not None:
        said = []
        if ground.lowest is not None:
            said.append(
                f"lowest point {write_length(ground.lowest, units, 1)} above the ground ({ground.part})"
            )
        if ground.at_bump is not None:
            said.append(f"{write_length(ground.at_bump, units, 1)} at bump")
        for slope, words in (
            (ground.crest, "passes over an edge between two slopes of"),
            (ground.approach, "front tyres meet a ramp first up to"),
            (ground.departure, "rear tyres leave a ramp last up to"),
        ):
            if slope is not None:
                said.append(f"{words} {write_value(slope.angle, 'rad', 'angle', units, 0)}")
        if said:
            words = "; ".join(said)
            form.words(f"{words[0].upper()}{words[1:]}.")
    if fit.access:
        _access(form, fit.access, units)
    way = None if fit.withdrawal is None else fit.withdrawal.way
    if way:
        steps = ", then ".join(f"{words} {write_length(length, units, 0)}" for words, length in way)
        form.words(f"The pan comes off {steps}.")


def _swing_words(members: list[BoltAccess], units: UnitSystem) -> str:
    """The least free swing of a ratchet's handle among these."""
    swings = [one.free_swing for one in members if one.free_swing is not None]
    return "–" if not swings else write_value(min(swings), "rad", "angle", units, 0)


def _access(form: Form, access: tuple[BoltAccess, ...], units: UnitSystem) -> None:
    form.caption("Which tool reaches which bolt")
    groups: dict[tuple[str, str], list[BoltAccess]] = {}
    for one in access:
        groups.setdefault((one.tool, one.blocked_by if not one.tool else ""), []).append(one)
    rows = []
    for (tool, blocked), members in groups.items():
        rooms = [one.room for one in members if one.room is not None]
        tightest = "–" if not rooms else write_length(min(rooms), units, 1)
        why = "; ".join(dict.fromkeys(one.why_not for one in members if one.why_not))
        rows.append(
            Row(
                (
                    ", ".join(one.name.removeprefix("hole ") for one in members),
                    tool or "none",
                    tightest,
                    _swing_words(members, units),
                    "; ".join(words for words in (blocked, why) if words),
                ),
                not tool,
            )
        )
    form.table(
        (
            Column("bolt", 70),
            Column("tool", 34),
            Column("least gap beside it", 30, "right"),
            Column("swing of the handle", 30, "right"),
            Column("in the way", 36),
        ),
        tuple(rows),
    )
