"""The inside of the pan in the Parts section: walls and doors, the pickup's tube, what to buy."""

from __future__ import annotations

from sumpwright.kit.internals_model import Internals
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.tube_template import piece_words
from sumpwright.outputs.words import UnitSystem, fill, write_length, write_value


def inside_pages(form: Form, internals: Internals, units: UnitSystem) -> None:
    """Everything of the inside that is not a finding."""
    if internals.fixings:
        _fixings(form, internals, units)
    if internals.doors:
        _doors(form, internals, units)
    if internals.bosses:
        _bosses(form, internals, units)
    if internals.posts or internals.plates:
        _posts(form, internals, units)
    if internals.tube is not None:
        _tube(form, internals, units)
    if internals.bought:
        _bought(form, internals, units)


def _fixings(form: Form, internals: Internals, units: UnitSystem) -> None:
    form.caption("How the inner walls are held")
    form.table(
        (Column("wall", 40), Column("held", 30), Column("bosses", 18, "right"), Column("hole", 24, "right")),
        tuple(
            Row(
                (
                    fixing.wall,
                    fixing.way,
                    str(len(fixing.places)) if fixing.way == "bolted" else "–",
                    "–" if fixing.hole is None else f"Ø {write_length(fixing.hole, units)}",
                )
            )
            for fixing in internals.fixings
        ),
    )


def _doors(form: Form, internals: Internals, units: UnitSystem) -> None:
    form.caption("Doors")
    form.words(
        "Flap against the wall, bar over its ears, two bolts through all three; the stop is tacked on the"
        " wall over the bar. The two holes lie unevenly: a flap turned over does not go on.",
        8.5,
    )
    form.table(
        (
            Column("wall", 36),
            Column("opening", 30),
            Column("holes from the flap's left end", 50, "right"),
            Column("opens", 24, "right"),
        ),
        tuple(
            Row(
                (
                    door.wall,
                    door.opening,
                    " and ".join(write_length(at, units, 1) for at in door.holes),
                    write_value(door.opens, "rad", "angle", units, 0),
                )
            )
            for door in internals.doors
        ),
    )


def _bosses(form: Form, internals: Internals, units: UnitSystem) -> None:
    form.caption("Bosses")
    form.table(
        (
            Column("boss", 34),
            Column("in", 40),
            Column("thread", 24),
            Column("outside", 24, "right"),
            Column("hole to cut", 24, "right"),
            Column("ring", 30),
        ),
        tuple(
            Row(
                (
                    boss.fitting.name,
                    boss.face,
                    boss.fitting.thread,
                    f"Ø {write_length(boss.fitting.boss_diameter, units)}",
                    f"Ø {write_length(boss.hole, units)}",
                    boss.ring or "none",
                )
            )
            for boss in internals.bosses
        ),
    )


def _posts(form: Form, internals: Internals, units: UnitSystem) -> None:
    form.caption("Posts and plates set on the sheet")
    form.words(
        "A cross is etched on the drawn side where each post stands, whichever side it is welded to; the two "
        "figures count from the lower left of the flat as drawn. Nothing is drilled through.",
        8.5,
    )
    form.table(
        (
            Column("what", 38),
            Column("on", 40),
            Column("side", 18),
            Column("across", 22, "right"),
            Column("long", 22, "right"),
            Column("right, up", 40, "right"),
        ),
        (
            *(
                Row(
                    (
                        placed.post.name,
                        placed.face,
                        placed.post.side,
                        f"Ø {write_length(placed.post.diameter, units)}",
                        write_length(placed.post.long, units),
                        " , ".join(write_length(value, units, 1) for value in placed.from_corner),
                    )
                )
                for placed in internals.posts
            ),
            *(
                Row(
                    (
                        placed.plate,
                        placed.face,
                        "outside",
                        f"Ø {write_length(placed.plate_diameter, units)}",
                        "–",
                        "–",
                    )
                )
                for placed in internals.plates
            ),
        ),
    )
    if internals.plates:
        form.words(
            "Never work under a pan, an engine or a vehicle that stands on a jack alone: stands first, on "
            "the frame. Leave a gap in the plate's bead: no shut space is welded or heated.",
            8.5,
        )


def _tube(form: Form, internals: Internals, units: UnitSystem) -> None:
    tube = internals.tube
    assert tube is not None
    form.caption("The pickup's tube, from the mouth to the pump")
    if tube.cuts:
        form.words(
            "Wrap templates at true size are in tube-template.pdf. Saw each piece off square first, then cut."
            " Turned: from the outside of the first cut to the outside of the second, looking along the tube"
            " from the mouth.",
            8.5,
        )
    form.table(
        (
            Column("piece", 18),
            Column("on the middle line", 24, "right"),
            Column("saw off", 22, "right"),
            Column("ends", 32),
            Column("turned", 24),
            Column("bends, from its start", 60),
        ),
        tuple(Row(piece_words(piece, units)) for piece in tube.pieces),
    )


def _bought(form: Form, internals: Internals, units: UnitSystem) -> None:
    form.caption("To buy, and how to know it at the bench")
    form.words("Rail bolts and their lengths stand in the Rail section.", 8.5)
    form.table(
        (
            Column("part", 30),
            Column("how many", 20),
            Column("size", 44),
            Column("made of", 44),
            Column("check", 52),
        ),
        tuple(
            Row(
                (
                    part.name,
                    fill(part.quantity, part.figures, units),
                    fill(part.size, part.figures, units),
                    part.material,
                    part.check,
                )
            )
            for part in internals.bought
        ),
    )
