"""The [proof] and [install] sections of the job file: how the pan is tested, sealed and fitted."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Name, OneOf
from sumpwright.job.section_types import Section, length, volume

SEALINGS = ("anaerobic", "silicone", "gasket")


class ProofSection(Section):
    """Leak test on the bench."""

    pressure: Annotated[float | None, Asked("pressure", 1_000.0, 100e3, "10 kPa", "1.5 psi")] = Field(
        None, description="Test pressure wanted, above the air outside; usual are 7 to 14 kPa (1 to 2 psi)."
    )
    gauge_step: Annotated[float | None, Asked("pressure", 1.0, 5_000.0, "100 Pa", "0.02 psi")] = Field(
        None, description="How far off one reading of the gauge may be."
    )
    temperature_step: Annotated[
        float | None, Asked("temperature difference", 0.01, 5.0, "0.3 K", "0.5 degF")
    ] = Field(None, description="How far off one reading of the air's temperature may be.")
    feeler_step: Annotated[float | None, length(0.001, 0.5, "0.05 mm", "0.002 in")] = Field(
        None, description="How much thicker the feeler's next leaf is."
    )
    straight_edge: Annotated[float | None, length(0, 0.5, "0.02 mm", "0.001 in")] = Field(
        None, description="How far off straight the straight edge may be."
    )
    dial: Annotated[float | None, length(0.0005, 0.5, "0.01 mm", "0.0005 in")] = Field(
        None, description="How far off one reading of dial or height gauge may be, its table included."
    )
    jug: Annotated[float | None, volume(0.00005, 0.1, "5 mL", "0.01 us qt")] = Field(
        None, description="How far off one litre of the measuring jug may be."
    )
    stick_step: Annotated[float | None, length(0.05, 20, "1 mm", "1/32 in")] = Field(
        None, description="How far off one reading of the dipstick may be."
    )
    hold: Annotated[float | None, Asked("time", 30, 7_200, "5 min", "5 min")] = Field(
        None, description="How long the gauge is watched."
    )
    plate: Annotated[str | None, Name(40, "mild")] = Field(
        None, description="Metal of the blanking plate, as the stock list calls it."
    )
    plate_thickness: Annotated[float | None, length(3, 30, "6 mm", "1/4 in")] = Field(
        None, description="Of the plate at hand; without it the thinnest usual one that does."
    )
    gasket: Annotated[float | None, length(0.5, 10, "3 mm", "1/8 in")] = Field(
        None, description="Thickness of the test gasket's rubber."
    )
    port_hole: Annotated[float | None, length(3, 40, "11.8 mm", "29/64 in")] = Field(
        None, description="Hole to drill in the plate for each fitting."
    )


class InstallSection(Section):
    """How the pan is sealed and bolted to the engine."""

    seal: Annotated[str | None, OneOf(SEALINGS)] = Field(
        None, description="anaerobic: a film that sets without air. silicone. gasket."
    )
    sealant: Annotated[str | None, Name(60, "grey gasket silicone")] = Field(
        None, description="What it is called, for the card."
    )
    cure: Annotated[float | None, Asked("time", 0, 14 * 86_400, "24 h", "24 h")] = Field(
        None, description="By its data sheet, before oil and pressure."
    )
    torque: Annotated[float | None, Asked("torque", 0.5, 200, "9 N m", "80 lbf in")] = Field(
        None, description="The engine maker's value for the pan's bolts."
    )
    bolt_order: Annotated[str | None, Name(120, "middle outward, crosswise, two rounds")] = Field(
        None, description="The engine maker's order, where there is one."
    )
