"""What the seams are called on the bench sheet and in the record: the welding stage's own seams."""

from __future__ import annotations

import re

from sumpwright.kit import SheetKit
from sumpwright.weld.model import Seam, WeldInputs

_NUMBERED = re.compile(r"#?\d+\s*[.:)]?\s+(\D.*)")


def names_of(seams: tuple[Seam, ...]) -> dict[int, str]:
    """The name of each seam by its number; those at the same place are counted."""
    found: dict[int, str] = {}
    met: dict[str, int] = {}
    for seam in seams:
        met[seam.where] = met.get(seam.where, 0) + 1
        found[seam.number] = seam.where if met[seam.where] == 1 else f"{seam.where} ({met[seam.where]})"
    return found


def tight_seams(inputs: WeldInputs, kit: SheetKit) -> tuple[str, ...]:
    """Names of the seams that have to hold oil."""
    from sumpwright.weld.seams import find_seams

    seams = find_seams(inputs, kit)
    names = names_of(seams)
    return tuple(names[seam.number] for seam in seams if seam.is_oil_tight)


def all_seams(inputs: WeldInputs, kit: SheetKit) -> tuple[str, ...]:
    """Names of all seams of the pan."""
    from sumpwright.weld.seams import find_seams

    return tuple(names_of(find_seams(inputs, kit)).values())


def without_number(words: str) -> str:
    """A seam's name as written down, without the weld map's number before it."""
    found = _NUMBERED.fullmatch(words.strip())
    return words.strip() if found is None else found[1].strip()


def key_of(name: str) -> str:
    """One key for a seam, whichever of its parts is named first and however large its letters are."""
    return " to ".join(sorted(part.strip() for part in name.casefold().split(" to ")))
