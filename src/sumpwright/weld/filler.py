"""Which filler and which settings each pair of metals in the pan gets."""

from __future__ import annotations

from dataclasses import dataclass, field

from sumpwright.kit.model import SheetKit
from sumpwright.quantities.units import Ampere, Metre
from sumpwright.tables.welding import (
    FillerChoice,
    Settings,
    current_kind,
    family_of,
    filler_for,
    find_filler,
    weld_settings,
)
from sumpwright.weld.filler_model import FillerInputs, FillerPlan, WeldPair
from sumpwright.weld.heat_formulas import working_share
from sumpwright.weld.welded import FLANGE_SEAMS, SHEET_SEAMS, Welded, welded_in

PROVEN_WITHIN = 0.25
"""A coupon of so nearly the same thickness proves a pair: common practice."""


_Key = tuple[str, str, Metre, Metre, str]


@dataclass(slots=True)
class _Group:
    seams: list[Welded] = field(default_factory=list)
    length: Metre = 0.0


def choose_fillers(inputs: FillerInputs, kit: SheetKit) -> FillerPlan:
    """Every pair of metals and thicknesses that is welded in the pan, inside too, with its filler."""
    groups: dict[_Key, _Group] = {}
    for seam in welded_in(kit):
        (thin_metal, thin), (thick_metal, thick) = sorted(
            ((seam.metal_a, seam.thickness_a), (seam.metal_b, seam.thickness_b)),
            key=lambda side: (side[1], side[0]),
        )
        # What is inside and has the shell's metal and sheet is the shell's pair.
        about = seam.what if seam.what in FLANGE_SEAMS else SHEET_SEAMS
        key = (thin_metal, thick_metal, round(thin, 6), round(thick, 6), about)
        group = groups.setdefault(key, _Group())
        group.seams.append(seam)
        group.length += seam.length
    ordered = sorted(groups.items(), key=lambda item: (-item[1].length, item[0]))
    return FillerPlan(tuple(_pair(inputs, key, group) for key, group in ordered), inputs.hot_oil)


def _pair(inputs: FillerInputs, key: _Key, group: _Group) -> WeldPair:
    metal_a, metal_b, thin, thick, what = key
    choice = filler_for(metal_a, metal_b)
    family = family_of(metal_a) or ""
    settings = weld_settings(inputs.welder.process, family, thin)
    amps = pair_amps(inputs.welder.process, family, thin, thick)
    share = None
    if amps is not None and amps[0] <= inputs.welder.most_amps:
        middle = min(0.5 * (amps[0] + amps[1]), inputs.welder.most_amps)
        share = working_share(middle, inputs.welder.duty_amps, inputs.welder.duty)
    longest = max(group.seams, key=lambda seam: seam.length)
    return WeldPair(
        metal_a,
        metal_b,
        thin,
        thick,
        what if what in FLANGE_SEAMS else _kinds(group.seams),
        len(group.seams),
        group.length,
        longest.where,
        longest.place,
        choice,
        "" if choice is None else _from_rack(inputs, choice, metal_a, metal_b),
        settings,
        current_kind(family, inputs.welder.process),
        share,
        amps,
        "stainless" in (family, family_of(metal_b)),
        any(
            {coupon.metal_a, coupon.metal_b} == {metal_a, metal_b}
            and abs(coupon.thickness - thin) <= PROVEN_WITHIN * thin
            for coupon in inputs.sound
        ),
    )


def _kinds(seams: list[Welded]) -> str:
    """The shell's own seams name their pair; without one, everything inside that makes it up."""
    kinds = list(dict.fromkeys(seam.what for seam in seams))
    return SHEET_SEAMS if SHEET_SEAMS in kinds else " and ".join(kinds)


def pair_amps(process: str, family: str, thin: Metre, thick: Metre) -> tuple[Ampere, Ampere] | None:
    """Current from the thin sheet's least to the most for the mean of both, or half again the thin one."""
    low = weld_settings(process, family, thin)
    high: Settings | None = weld_settings(process, family, min(0.5 * (thin + thick), 1.5 * thin))
    return None if low is None or high is None else (low.amps[0], high.amps[1])


def _from_rack(inputs: FillerInputs, choice: FillerChoice, metal_a: str, metal_b: str) -> str:
    """The best filler that is at hand; the first choice where the rack is not known or has none of them."""
    wanted = (choice.filler, *choice.or_also)
    if inputs.rods is None:
        return choice.filler
    for name in wanted:
        if name in inputs.rods:
            return name
    family = family_of(metal_a)
    same = [rod for rod in inputs.rods if (found := find_filler(rod)) is not None and found.family == family]
    return same[0] if same else choice.filler
