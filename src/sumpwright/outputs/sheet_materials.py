"""Which metal: the same pan in every sheet metal, side by side."""

from __future__ import annotations

from sumpwright.findings import Verdict
from sumpwright.job.model import Job, MaterialChoice
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import (
    UnitSystem,
    finding_words,
    write_length,
    write_number,
    write_value,
)
from sumpwright.tables.material_choice import metal_in_use
from sumpwright.tables.materials import find_material


def material_pages(form: Form, job: Job, choices: tuple[MaterialChoice, ...]) -> None:
    """Numbers in one table, words in another."""
    units = job.units
    form.caption("Which metal", follow=90.0)
    words = (
        "Every row is a change of the job file, worked out anew; nothing is changed by it. Steel is"
        " taken at two"
        " thirds of the aluminium's thickness. Slip is how far the farthest hole creeps over this"
        " block when hot."
        " A dent stays from the force named, on a small spot; tearing compares the work until the sheet rips."
        " Moving: out of flat off the plate. Class A needs no facing with liquid sealant (0.1 mm), B"
        " is faced by up"
        " to 0.5 mm, C by up to 1 mm, D by more."
    )
    if any(one.price is not None and one.price.has_placeholders for one in choices):
        words += " A star marks placeholder prices: the rows compare, none is an offer."
    form.words(words, 8.5)
    own = next((one for one in choices if not one.changes), None)
    form.table(
        (
            Column("metal", 34),
            Column("price", 30, "right"),
            Column("mass", 18, "right"),
            Column("slip", 24, "right"),
            Column("dents at", 20, "right"),
            Column("tearing", 18, "right"),
            Column("moves", 40, "right"),
            Column("class", 16, "right"),
            Column("welding here", 26),
        ),
        tuple(_row(one, own, units) for one in choices),
    )
    form.table(
        (
            Column("metal", 22),
            Column("road", 40),
            Column("bilge", 44),
            Column("facing", 40),
            Column("welding", 70),
        ),
        tuple(_words_row(one, units) for one in choices),
    )
    form.words(
        "Prices of metals change monthly: your own figure in the stock list counts. Words on"
        " corrosion and facing"
        " are common practice, no source; tensile strength and elongation mostly from memory.",
        8.0,
    )


def _row(one: MaterialChoice, own: MaterialChoice | None, units: UnitSystem) -> Row:
    name = f"{one.material}, {write_length(one.sheet, units)} on {write_length(one.flange, units)}"
    if one.why_not:
        return Row((name, f"not worked out: {one.why_not}", *("–",) * 7))
    tearing = "–"
    if own is not None and own.tearing and one.tearing is not None:
        tearing = f"{write_number(one.tearing / own.tearing, 1)} ×"
    return Row(
        (
            name,
            price_text(one),
            "–" if one.mass is None else write_value(one.mass, "kg", "mass", units, 1),
            "–" if one.slip is None else write_length(one.slip, units, 2),
            "–" if one.dent is None else write_value(one.dent, "N", "force", units, 0),
            tearing,
            _span(one.moves, units),
            one.distortion or "–",
            "–" if one.welding is None else _WELDING[one.welding],
        ),
        not one.changes,
    )


_WELDING = {
    Verdict.HOLDS: "easy",
    Verdict.CLOSE: "with care",
    Verdict.FAILS: "not here",
    Verdict.CANNOT_SAY: "cannot say",
}


def _span(moves: tuple[float, float] | None, units: UnitSystem) -> str:
    if moves is None:
        return "–"
    return f"{write_length(moves[0], units, 2).rpartition(' ')[0]} to {write_length(moves[1], units, 2)}"


def price_text(one: MaterialChoice) -> str:
    """The price, starred where a placeholder stands in it; what is missing where it cannot be added up."""
    if one.price is None:
        return "no rates"
    if one.price.total is None:
        return "enter " + ", ".join(sorted({line.key for line in one.price.lines if line.cost is None}))
    star = " *" if one.price.has_placeholders else ""
    return f"{write_number(one.price.total, 0)} {one.price.currency}{star}"


def _words_row(one: MaterialChoice, units: UnitSystem) -> Row:
    use, metal = metal_in_use(one.material), find_material(one.material)
    against = [f"{finding_words(f, units).says.rstrip('.')}" for f in one.welding_findings[:2]]
    against += ["refused when built up again"] if one.refused else []
    against += [f"fails: {what}" for what in one.fails[:2]]
    if metal is not None:
        against.insert(0, metal.weldability)
    return Row(
        (
            one.material,
            "–" if use is None else use.road,
            "–" if use is None else use.bilge,
            "–" if use is None else use.facing,
            "; ".join((*against, *one.notes)),
        ),
        not one.changes,
    )
