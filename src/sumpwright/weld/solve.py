"""From the kit to its seams, and to an order in which all of them are reached."""

from __future__ import annotations

from sumpwright.kit import SheetKit
from sumpwright.weld.model import WeldInputs, WeldResult
from sumpwright.weld.seams import find_seams


def solve(inputs: WeldInputs, kit: SheetKit) -> WeldResult:
    """The weld plan of a kit; without parts there is nothing to weld."""
    return WeldResult(find_seams(inputs, kit))
