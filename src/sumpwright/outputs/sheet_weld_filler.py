"""Fillers, settings, what may be seen on a seam and how it is put right, in the Welding section."""

from __future__ import annotations

from sumpwright.job.model import Job
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_value
from sumpwright.quantities.units import Ampere, Metre, MetrePerSecond
from sumpwright.tables.welding import LEFT_AFTER_GRINDING, acceptance, not_to_weld
from sumpwright.weld.filler_model import FillerPlan, WeldPair


def filler_pages(form: Form, job: Job, plan: FillerPlan) -> None:
    """What to weld with, first of all on a coupon."""
    units = job.units
    form.caption("What each pair is welded with", follow=60.0)
    form.words(
        "Starting ranges for hand work on clean metal. First weld a coupon of the same pair with the"
        " same rod,"
        " cut it through or bend it, and only then the pan. Between seams let the metal cool until a hand can"
        " rest on it; stainless below 175 °C at the most.",
        8.5,
    )
    form.table(
        (
            Column("pair", 38),
            Column("seams", 22, "right"),
            Column("filler", 26),
            Column("current", 28, "right"),
            Column("arc", 20, "right"),
            Column("travel", 32, "right"),
            Column("rod or wire", 20, "right"),
            Column("tungsten", 25, "right"),
            Column("gas", 20, "right"),
        ),
        tuple(_pair(pair, units) for pair in plan.pairs),
    )
    form.caption("What must not be welded into the pan", follow=40.0)
    form.table(
        (Column("what", 50), Column("why", 50), Column("instead", 50)),
        tuple(Row((one.what, one.why, one.instead)) for one in not_to_weld()),
    )
    _acceptance(form, plan, units)


def _pair(pair: WeldPair, units: UnitSystem) -> Row:
    thin, thick = write_length(pair.thin, units), write_length(pair.thick, units)
    name = f"{pair.metal_a} {thin} to {pair.metal_b} {thick}, {pair.what}"
    seams = f"{pair.seams}, {write_length(pair.length, units, 0)}"
    if pair.choice is None:
        return Row((name, seams, "not welded", "–", "–", "–", "–", "–", "–"), True)
    filler = pair.filler + (f" (or {', '.join(pair.choice.or_also)})" if pair.choice.or_also else "")
    if pair.settings is None or pair.amps is None:
        return Row((name, seams, filler, "not known", "–", "–", "–", "–", "–"), True)
    card = pair.settings
    return Row(
        (
            name,
            seams,
            filler,
            f"{pair.current} {_amps(pair.amps, units)}",
            f"{write_number(card.volts[0], 0)} to {write_number(card.volts[1], 0)} V",
            _travel(card.travel, units),
            write_length(card.rod, units),
            "–" if card.tungsten is None else write_length(card.tungsten, units),
            f"argon {write_number(card.gas, 0)} L/min",
        )
    )


def _amps(amps: tuple[Ampere, Ampere], units: UnitSystem) -> str:
    return f"{write_number(amps[0], 0)} to {write_value(amps[1], 'A', 'current', units)}"


def _travel(travel: tuple[MetrePerSecond, MetrePerSecond], units: UnitSystem) -> str:
    """A hand's speed, in millimetres or inches a minute."""
    step, name = (0.0254, "in/min") if units == "in" else (1e-3, "mm/min")
    low, high = (60.0 * speed / step for speed in travel)
    return f"{write_number(low, 0)} to {write_number(high, 0)} {name}"


def _acceptance(form: Form, plan: FillerPlan, units: UnitSystem) -> None:
    thinnest: Metre | None = min((pair.thin for pair in plan.pairs), default=None)
    form.caption("Looking at every seam, and putting it right", follow=60.0)
    form.table(
        (Column("what is seen", 46), Column("allowed", 48), Column("put right by", 66)),
        tuple(
            Row(
                (
                    one.fault,
                    one.allowed
                    if one.share is None or thinnest is None
                    else f"{one.allowed}: {write_length(one.share * thinnest, units, 1)} here",
                    one.repair,
                )
            )
            for one in acceptance()
        ),
    )
    if thinnest is not None:
        left = write_length(LEFT_AFTER_GRINDING * thinnest, units, 2)
        form.words(
            f"A seam that is ground flush must keep at least nine tenths of the sheet: {left} of"
            f" {write_length(thinnest, units)}, measured with a ball-ended caliper or against a straight"
            f" edge."
            " Corners and seams that carry the flange are better left unground. After a repair the leak"
            " test is"
            " done again from the start. Limits from memory of ISO 5817 and 10042, stricter where oil stands;"
            " a code that binds you comes first.",
            8.5,
        )
