"""The strongback with its clamps and chill bars, in the Welding section."""

from __future__ import annotations

import numpy as np

from sumpwright.outputs.cut_files import cut_file_names
from sumpwright.outputs.flat_drawings import draw_flat, drawing_height
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import UnitSystem, write_length, write_value
from sumpwright.quantities.units import Metre
from sumpwright.weld.strongback_model import ChillBar, StrongbackGear

_TALLEST = 110.0
_MOST_BARS = 12


def strongback_pages(form: Form, gear: StrongbackGear, units: UnitSystem) -> None:
    """What to bolt the flange to, where to clamp, where to chill, and what may stand in."""
    width = form.inner_width
    height = drawing_height(gear.plate, width, _TALLEST)
    form.caption("The strongback: what the flange is bolted to until the pan is cold", follow=height + 20.0)
    form.words(
        f"Steel plate {write_length(gear.plate.thickness, units)} thick,"
        f" {write_value(gear.mass, 'kg', 'mass', units, 1)}, file gear/{cut_file_names((gear.plate,))[0]}."
        " Bolts go through into nuts behind, so it lies on blocks. Skim or check it flat within a"
        " tenth of what"
        " the flange needs. A crossed mark is a clamp's place.",
        8.5,
    )

    def draw(sheet: Sheet, x: float, y: float, room: float, tall: float) -> None:
        draw_flat(sheet, gear.plate, 1, units, x, y, room, tall)

    form.picture(height, draw)
    if gear.between:
        pairs = ", ".join(f"{one}–{two}" for one, two in gear.between)
        form.words(f"A clamp in the middle between: {pairs}.", 9)
    if gear.torques:
        drawn = ", ".join(
            f"{name} {write_value(torque, 'N m', 'torque', units)}" for name, torque in gear.torques
        )
        form.words(
            "Draw the nuts from the middle outwards, steel bolts of class 8.8, dry, never into the"
            " engine's own"
            f" threads: {drawn}.",
            9,
        )
    if gear.chills:
        form.caption("Chill bars", follow=30.0)
        form.words(
            f"Flat bar, about 25 × 6 mm, {gear.chill_metal}, pressed against the back of the seam"
            " from the first"
            " tack until cold; never where it would be welded in. Drawings of the bars lie in the pack's gear"
            " folder; of copper they are sawn from bar to the same length.",
            8.5,
        )
        form.table(
            (
                Column("seam", 70),
                Column("bar", 24),
                Column("length", 24, "right"),
                Column("lies", 24),
            ),
            tuple(
                Row((bar.seam, bar.bar, write_length(_cut_length(gear, bar), units, 0), bar.side))
                for bar in gear.chills[:_MOST_BARS]
            ),
        )
    form.words("What may stand in for the plate", 9.5, bold=True)
    form.words(
        "A scrap block of the same engine, bare and clean, holds the true hole pattern: bolt the"
        " flange on with"
        " spacers of one thickness, and keep it away from a block that will run: spatter, heat and"
        " stray current"
        " spoil bores, bearings and seals. Never weld on a complete engine, and never on one that"
        " holds oil or"
        " fuel. The old pan's rail serves only to drill from: it is thinner than the new flange and"
        " bows with it.",
        8.5,
    )
    form.caution(
        "Bolted down and hot",
        "A pan bolted to a plate is under force while it cools. Let the bolts go only when a hand"
        " can rest on the"
        " metal, evenly and from the ends inwards, and keep fingers out from under a heavy plate."
        " Vent every space"
        " that the plate closes before the arc is struck.",
    )


def _cut_length(gear: StrongbackGear, bar: ChillBar) -> Metre:
    """The length of a bar as it is drawn."""
    for flat in gear.bars:
        if flat.name == bar.bar:
            return float(np.ptp(np.asarray(flat.outline.points)[:, 0]))
    return bar.length
