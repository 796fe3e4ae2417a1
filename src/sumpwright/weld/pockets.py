"""Places that no wash reaches, and spaces that are closed round while they are welded."""

from __future__ import annotations

from sumpwright.kit import SheetKit


def pockets_of(kit: SheetKit) -> tuple[str, ...]:
    """Closed or hidden spaces, in words: under rings, and compartments without a way out."""
    found: list[str] = []
    if kit.internals is not None:
        found += [f"under {boss.ring}" for boss in kit.internals.bosses if boss.ring]
        found += [f"under {placed.plate}" for placed in kit.internals.plates]
    division = kit.body.division
    if division is not None:
        reached = {
            compartment
            for opening in division.openings
            for compartment in (opening.from_compartment, opening.to_compartment)
        }
        found += [
            f"compartment {compartment.name}"
            for compartment in division.compartments
            if len(division.compartments) > 1 and compartment.index not in reached
        ]
    return tuple(found)
