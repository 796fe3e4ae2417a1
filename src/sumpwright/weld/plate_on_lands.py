"""What a flat strongback does not hold: lands of the rail that do not lie in the datum plane."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.body.finding_words import plain
from sumpwright.findings import Figure, Finding, Verdict


def plate_on_lands(body: PanBody) -> tuple[Finding, ...]:
    """One finding for every step and arched end that the flat plate passes over or runs into.

    The plate is drawn flat on the datum plane; its holes are right, its face is not. Empty on
    a rail that is one plane.
    """
    if body.uneven is None:
        return ()
    steps = [
        Finding(
            code="WELD-67",
            verdict=Verdict.CLOSE,
            where=f"strongback at land {plain(step.name)}",
            says="The plate is drawn flat and stands {gap} off the flange of this land, so nothing there "
            "holds the flange while it is welded; its movement is worked out as if something did",
            figures=(Figure("gap", -step.top, "m", "length"),),
            value=-step.top,
            limit=0.0,
            unit="m",
            kind="length",
            how_sure="The land's height with its seal, as the flange is drawn.",
            do="Put steel shim blocks {gap} thick between plate and flange under every bolt of this land, "
            "faced to one height, with bolts longer by as much; or bolt the flange to "
            "a bare block of the same engine",
            source="common-practice",
        )
        for step in body.uneven.steps
    ]
    arches = [
        Finding(
            code="WELD-67",
            verdict=Verdict.CLOSE,
            where=f"strongback at land {plain(arch.name)}",
            says="The plate is drawn flat, and the pan's seat here is an arch of {radius}, which "
            + ("leaves the plate at its crown by {rise}" if arch.hangs else "runs into the plate by {rise}")
            + ": nothing there holds it round while it is welded, and its movement is worked out as if "
            "something did",
            figures=(
                Figure("radius", arch.radius, "m", "length"),
                Figure("rise", abs(arch.crown), "m", "length"),
            ),
            value=abs(arch.crown),
            limit=0.0,
            unit="m",
            kind="length",
            how_sure="The seat's own circle with its seal, as its plate is drawn.",
            do="Bolt a block turned or cut to {radius} to the plate here and hold the seat on it"
            if arch.hangs
            else "Cut the plate away over the arch and hold the seat from outside on a block "
            "cut to {radius}, or bolt the flange to a bare block of the same engine",
            source="common-practice",
        )
        for arch in body.uneven.arches
    ]
    return (*steps, *arches)
