"""From [proof], [install] and the record to the proof stage's inputs."""

from __future__ import annotations

from typing import cast

from sumpwright.findings import Assumption, Figure
from sumpwright.job.job_file import JobFile
from sumpwright.proof.model import AsBuilt, ProofInputs, Sealing
from sumpwright.quantities.units import CubicMetre, Kelvin, Metre, Pascal, Second

PRESSURE: Pascal = 10_000.0
GAUGE_STEP: Pascal = 100.0
TEMPERATURE_STEP: Kelvin = 0.3
FEELER_STEP: Metre = 50e-6
STRAIGHT_EDGE: Metre = 20e-6
DIAL: Metre = 10e-6
JUG: CubicMetre = 5e-6
"""Of one litre."""
STICK_STEP: Metre = 1e-3
HOLD: Second = 300.0
BENCH: Kelvin = 293.15
ATMOSPHERE: Pascal = 101_325.0
PLATES: tuple[Metre, ...] = (0.005, 0.006, 0.008, 0.010, 0.012, 0.015, 0.020)
"""A thinner plate does not guide a drill: common practice."""
INCH_PLATES: tuple[Metre, ...] = tuple(n * 0.0254 / 16.0 for n in (3, 4, 5, 6, 8, 10, 12))
GASKET: Metre = 0.003
PORT_HOLE: Metre = 0.0118
"""Tap drill of a G 1/4 fitting: from memory."""


def build_proof(
    job_file: JobFile, record: AsBuilt | None, earlier: AsBuilt | None, in_inches: bool
) -> tuple[ProofInputs, tuple[Assumption, ...]]:
    """The proof stage's inputs, and what was taken where the job does not say."""
    section, install = job_file.proof, job_file.install
    told: list[Assumption] = []

    def taken(key: str, usual: float, words: str, unit: str, kind: str, source: str) -> float:
        given = None if section is None else getattr(section, key)
        if given is not None:
            return float(given)
        told.append(Assumption(f"proof.{key}", words, (Figure("taken", usual, unit, kind),), source))
        return usual

    practice = "common-practice"
    pressure = taken(
        "pressure", PRESSURE, "The leak test is planned for {taken}.", "Pa", "pressure", practice
    )
    step = taken(
        "gauge_step",
        GAUGE_STEP,
        "One reading of the test gauge may be off by {taken}.",
        "Pa",
        "pressure",
        practice,
    )
    warm = taken(
        "temperature_step",
        TEMPERATURE_STEP,
        "One reading of the air's temperature may be off by {taken}.",
        "K",
        "temperature difference",
        practice,
    )
    # What readings of the finished pan are off by only matters once there are any.
    has_read = record is not None

    def off(key: str, usual: float, words: str, kind: str = "length", unit: str = "m") -> float:
        given = None if section is None else getattr(section, key)
        if given is None and has_read:
            told.append(Assumption(f"proof.{key}", words, (Figure("taken", usual, unit, kind),), practice))
        return usual if given is None else float(given)

    feeler = off("feeler_step", FEELER_STEP, "The feeler's next leaf is taken as {taken} thicker.")
    edge = off("straight_edge", STRAIGHT_EDGE, "The straight edge may be off straight by {taken}.")
    dial = off("dial", DIAL, "One reading of dial or height gauge may be off by {taken}, table included.")
    jug = off("jug", JUG, "One litre of the measuring jug may be off by {taken}.", "volume", "m3")
    stick = off("stick_step", STICK_STEP, "One reading of the dipstick may be off by {taken}.")
    hold = taken("hold", HOLD, "The gauge is watched for {taken}.", "s", "time", practice)
    gasket = taken("gasket", GASKET, "The test gasket is rubber of {taken}.", "m", "length", practice)
    port = taken(
        "port_hole", PORT_HOLE, "Port fittings get a hole of {taken} (G 1/4).", "m", "length", "from-memory"
    )
    plate = None if section is None else section.plate
    if plate is None:
        told.append(Assumption("proof.plate", "The blanking plate is taken as mild steel.", (), practice))
    at_hand = None if section is None else section.plate_thickness
    if install is None or install.torque is None:
        told.append(
            Assumption(
                "install.torque",
                "The engine maker's torque is not given; the install card leaves room for it.",
                (),
                "job-file",
            )
        )
    return (
        ProofInputs(
            asked_pressure=pressure,
            atmosphere=ATMOSPHERE,
            gauge_step=step,
            temperature_step=warm,
            hold_time=hold,
            bench_temperature=BENCH,
            plate_material="mild" if plate is None else plate,
            plate_thicknesses=(at_hand,) if at_hand is not None else INCH_PLATES if in_inches else PLATES,
            gasket_thickness=gasket,
            port_hole=port,
            sealing=None if install is None else cast(Sealing | None, install.seal),
            sealant="" if install is None or install.sealant is None else install.sealant,
            cure=None if install is None else install.cure,
            torque=None if install is None else install.torque,
            bolt_order="" if install is None or install.bolt_order is None else install.bolt_order,
            pressure_is_given=section is not None and section.pressure is not None,
            feeler_step=feeler,
            straight_edge_off=edge,
            dial_off=dial,
            jug_off=jug / 1e-3,
            stick_off=stick,
            record=record,
            earlier=earlier,
        ),
        tuple(told),
    )
