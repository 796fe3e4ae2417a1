"""Other ways to make the same pan, side by side, in the Parts section."""

from __future__ import annotations

from sumpwright.job.model import Alternative
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_value


def alternatives_table(form: Form, ways: tuple[Alternative, ...], units: UnitSystem) -> None:
    """One row a way, the job itself first."""
    form.caption("Made another way", follow=50.0)
    priced = any(way.price is not None for way in ways)
    starred = any(way.price is not None and way.price.has_placeholders for way in ways)
    words = (
        "Every row is a change of the job file, worked out anew and built up again; nothing is changed by it."
    )
    if priced:
        words += " Sheet is counted by the box round each part in all rows, without nests."
    if starred:
        words += " A star marks placeholder prices: the rows compare, none is an offer."
    form.words(words + " How much each way warps is not told here.", 8.5)
    form.table(
        (
            Column("way", 36),
            Column("price", 28, "right"),
            Column("mass", 18, "right"),
            Column("to weld", 20, "right"),
            Column("parts", 13, "right"),
            Column("bends", 14, "right"),
            Column("what speaks against it", 54),
        ),
        tuple(_row(way, units) for way in ways),
    )


def _row(way: Alternative, units: UnitSystem) -> Row:
    if way.why_not:
        return Row((way.name, "–", "–", "–", "–", "–", f"not worked out: {way.why_not}"))
    against = ["refused when built up again"] if way.refused else []
    against += [f"fails: {what}" for what in way.fails[:2]]
    if len(way.fails) > 2:
        against.append(f"and {len(way.fails) - 2} more")
    return Row(
        (
            way.name,
            price_words(way),
            "–" if way.mass is None else write_value(way.mass, "kg", "mass", units, 2),
            "–" if way.weld_length is None else write_length(way.weld_length, units, 0),
            str(way.parts),
            str(way.bends),
            "; ".join((*against, *way.notes)) or "nothing fails",
        ),
        not way.changes,
    )


def price_words(way: Alternative) -> str:
    """The price, starred where a placeholder stands in it; what is missing where it cannot be added up."""
    if way.price is None:
        return "no rates"
    if way.price.total is None:
        missing = sorted({line.key for line in way.price.lines if line.cost is None})
        return f"enter {', '.join(missing)}"
    star = " *" if way.price.has_placeholders else ""
    return f"{write_number(way.price.total, 0)} {way.price.currency}{star}"
