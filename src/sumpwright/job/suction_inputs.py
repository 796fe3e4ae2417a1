"""From the [suction] section to the suction stage's inputs."""

from __future__ import annotations

import math
from typing import Literal, cast

from sumpwright.body.pickup_line import PickupLine
from sumpwright.findings import Assumption, Figure
from sumpwright.job.job_file import JobFile
from sumpwright.oil import OilInputs
from sumpwright.quantities.units import Hertz, Kelvin, Metre, Pascal, RadianPerSecond, Second
from sumpwright.suction.model import SuctionInputs

HOT: Kelvin = 373.15
START_SPEED: Hertz = 250.0 / 60.0
FED_WITHIN: Second = 8.0
LEAST_HOT: Pascal = 80e3
LEAST_COLD: Pascal = 55e3
DRAWN_TUBE: Metre = 1.5e-6
"""Roughness of drawn tube, as printed beside the friction chart; from memory."""


def build_suction(
    job_file: JobFile, line: PickupLine | None, oil: OilInputs
) -> tuple[SuctionInputs | None, tuple[Assumption, ...]]:
    """The suction stage's inputs and what was taken where the job does not say; None without a pickup."""
    pickup = job_file.pickup
    if pickup is None:
        return None, ()
    section = job_file.suction
    told: list[Assumption] = []

    def taken(key: str, given: float | None, usual: float, words: str, unit: str, kind: str) -> float:
        if given is not None:
            return given
        if section is not None:
            told.append(Assumption(f"suction.{key}", words, (Figure("taken", usual, unit, kind),)))
        return usual

    given = section
    start = taken(
        "start_speed",
        None if given is None else _turns(given.start_speed),
        START_SPEED,
        "The engine is taken to turn at {taken} in the first seconds of a cold start.",
        "Hz",
        "engine speed",
    )
    within = taken(
        "fed_within",
        None if given is None else given.fed_within,
        FED_WITHIN,
        "At the coldest start the oil is given {taken} to be at the pump.",
        "s",
        "time",
    )
    hot = taken(
        "least_hot",
        None if given is None else given.least_hot,
        LEAST_HOT,
        "At least {taken} absolute are wanted at the pump's inlet, warm and steady.",
        "Pa",
        "pressure",
    )
    cold = taken(
        "least_cold",
        None if given is None else given.least_cold,
        LEAST_COLD,
        "At least {taken} absolute are wanted at the pump's inlet in a short cold start.",
        "Pa",
        "pressure",
    )
    altitude = taken(
        "altitude",
        None if given is None else given.altitude,
        0.0,
        "The engine is taken to run {taken} above the sea.",
        "m",
        "altitude",
    )
    if section is not None:
        for key, words in (
            ("shape", "The tube is taken as round."),
            ("mouth_shape", "The tube's mouth is taken to project into the oil, the worst of the three."),
            ("strokes", "The engine is taken as a four-stroke."),
        ):
            if key not in section.model_fields_set:
                told.append(Assumption(f"suction.{key}", words))
        told.append(
            Assumption(
                "suction",
                "The tube's inside is taken as smooth as drawn tube, {taken} rough.",
                (Figure("taken", DRAWN_TUBE, "m", "length", 4),),
                "from-memory",
            )
        )
    if oil.hot is None and section is not None:
        told.append(
            Assumption("oil.hot", "Hot oil is taken at {taken}.", (Figure("taken", HOT, "K", "temperature"),))
        )
    return (
        SuctionInputs(
            line=line,
            mouth_diameter=pickup.mouth_diameter,
            mouth_shape=cast(
                Literal["flush", "projecting", "bell"],
                "projecting" if section is None else section.mouth_shape,
            ),
            oil=oil.oil,
            pump=oil.pump,
            relief_returns_to=cast(
                Literal["pump inlet", "pan"] | None, None if section is None else section.relief_returns_to
            ),
            relief_from=None if section is None else _turns(section.relief_from),
            altitude=altitude,
            coldest_start=oil.coldest_start,
            hot=HOT if oil.hot is None else oil.hot,
            start_speed=start,
            fed_within=within,
            least_hot_pressure=hot,
            least_cold_pressure=cold,
            roughness=DRAWN_TUBE,
            cylinders=None if section is None or section.cylinders is None else round(section.cylinders),
            strokes=2 if section is not None and section.strokes == "two" else 4,
        ),
        tuple(told),
    )


def _turns(speed: RadianPerSecond | None) -> Hertz | None:
    return None if speed is None else speed / (2.0 * math.pi)
