"""From pan, lumps and shop to what the kit stage needs; and whether a process has figures for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.body import Lump
from sumpwright.findings import Assumption, Figure
from sumpwright.job.bend_inputs import coupons_of, folder_of
from sumpwright.job.price_inputs import offcuts_of, rates_of
from sumpwright.job.sections import KitCuttingSection, PanSection
from sumpwright.job.shop import ShopFile, shipped
from sumpwright.job.shop_sections import CuttingSection
from sumpwright.kit.model import CutterRules, JointChoice, KitInputs, StockSheet
from sumpwright.quantities.units import Kelvin, Metre
from sumpwright.tables.cutting import cutting_practice, process_tolerance
from sumpwright.tables.materials import Material, find_material

SHEET_MARGIN: Metre = 0.010
"""Kept free along a sheet's edge in a nest where the shop does not say: common practice."""


@dataclass(frozen=True, slots=True)
class CutterTrouble:
    """Why the cutter's tolerance is not known for a thickness."""

    rule: str


def longest_side(lumps: tuple[Lump, ...]) -> Metre:
    """The longest dimension that is cut in one piece: the flange round all lumps."""
    plans = [lump.outline for lump in lumps if lump.view == "plan" and lump.adds]
    sides = [lump.outline[:, :1] for lump in lumps if lump.view == "side" and lump.adds]
    spans = [float(np.ptp(points, axis=0).max()) for points in (*plans, *sides)]
    for axis in (0, 1):
        reach = [points[:, axis] for points in plans]
        if reach:
            spans.append(float(np.ptp(np.concatenate(reach))))
    return max(spans, default=0.3)


def cutter_rules(cutting: CuttingSection, thickness: Metre, longest: Metre) -> CutterRules | CutterTrouble:
    """What the process can do in one thickness, the shop's own figures first."""
    practice = cutting_practice(cutting.process, thickness)
    if practice is None:
        return CutterTrouble(f"no figures are known for cutting by {cutting.process}")
    tolerance = cutting.tolerance
    if tolerance is None:
        cited = process_tolerance(practice, thickness, longest)
        if cited is None:
            return CutterTrouble(
                f"the tolerance table for {cutting.process} ends below this thickness or size; give your "
                "cutter's own"
            )
        tolerance = cited.value
    return CutterRules(
        process=cutting.process,
        tolerance=tolerance,
        least_hole=_own(cutting.least_hole, thickness, practice.least_hole),
        least_web=_own(cutting.least_web, thickness, practice.least_web),
        least_edge=_own(cutting.least_edge, thickness, practice.least_edge),
        kerf=(cutting.kerf if cutting.kerf is not None else practice.kerf) if cutting.cuts_itself else None,
        tolerance_class=practice.tolerance_class if cutting.tolerance is None else None,
    )


def _own(given: tuple[float, Metre] | None, thickness: Metre, usual: Metre) -> Metre:
    return usual if given is None else given[0] * thickness + given[1]


def cutting_of(shop: ShopFile | None) -> CuttingSection:
    """The shop's own cutting section, else the shipped one."""
    own = shop.cutting if shop is not None else None
    default = shipped().cutting
    assert default is not None
    return own if own is not None else default


def build_kit(
    pan: PanSection,
    lumps: tuple[Lump, ...],
    block: str,
    rise: Kelvin,
    shop: ShopFile | None,
    choices: KitCuttingSection | None = None,
    joints: tuple[JointChoice, ...] = (),
) -> tuple[KitInputs, tuple[Assumption, ...]] | CutterTrouble:
    """The kit stage's inputs, and what was taken where job and shop do not say."""
    told: list[Assumption] = []
    cutting = cutting_of(shop)
    longest = longest_side(lumps)
    cutter = cutter_rules(cutting, pan.sheet, longest)
    flange_cutter = cutter_rules(cutting, pan.flange, longest)
    if isinstance(cutter, CutterTrouble):
        return cutter
    if isinstance(flange_cutter, CutterTrouble):
        return flange_cutter
    _tell_cutting(shop, cutting, cutter, flange_cutter, told)
    sheet, flange = _metal(pan.material), _metal(pan.flange_material or pan.material)
    if pan.flange_material is None:
        told.append(
            Assumption(
                "pan.flange_material",
                f"The flange's metal is not given; it is taken as the sheet's, {sheet.id}.",
            )
        )
    overlap = pan.seam_overlap
    if overlap is None:
        overlap = 0.0
        told.append(
            Assumption(
                "pan.seam_overlap",
                "How far outward corners lap is not given; they are left open, edge on edge, for a "
                "groove that is filled.",
            )
        )
    no_bends = choices is not None and choices.bends is False
    fixing = None if choices is None else choices.baffle_fixing
    inputs = KitInputs(
        material=sheet.id,
        flange_material=flange.id,
        density=sheet.density.value,
        flange_density=flange.density.value,
        expansion_pan=flange.expansion.value,
        expansion_block=_metal(block).expansion.value,
        temperature_rise=rise,
        cutter=cutter,
        flange_cutter=flange_cutter,
        seam_overlap=overlap,
        stock=_stock_sizes(shop),
        flange_in_segments=choices is not None and bool(choices.flange_in_segments),
        nests=bool(cutting.cuts_itself) if cutting.nests is None else cutting.nests,
        sheet_margin=SHEET_MARGIN if cutting.sheet_margin is None else cutting.sheet_margin,
        offcuts=offcuts_of(shop),
        rates=rates_of(shop),
        folder=None if no_bends else folder_of(shop, sheet.family, pan.sheet, told),
        coupons=coupons_of(shop),
        joint_choices=joints,
        baffle_fixing="tacked" if fixing == "tacked" else "bolted",
    )
    if inputs.nests and cutting.sheet_margin is None:
        told.append(
            Assumption(
                "cutting.sheet_margin",
                "How much of a sheet's edge stays free in a nest is not given; {margin} are taken.",
                (Figure("margin", SHEET_MARGIN, "m", "length", 0),),
            )
        )
    return inputs, tuple(told)


def _stock_sizes(shop: ShopFile | None) -> tuple[StockSheet, ...]:
    """Sheet sizes by metal and thickness; where a line names no size any can be had, so none is listed."""
    lines = shop.stock if shop is not None else ()
    any_size = {(_metal(line.material).id, line.thickness) for line in lines if line.size is None}
    return tuple(
        StockSheet(_metal(line.material).id, line.thickness, max(line.size), min(line.size))
        for line in lines
        if line.size is not None and (_metal(line.material).id, line.thickness) not in any_size
    )


def _metal(name: str) -> Material:
    metal = find_material(name)
    assert metal is not None, "the rules refuse unknown metals"
    return metal


def _tell_cutting(
    shop: ShopFile | None,
    cutting: CuttingSection,
    cutter: CutterRules,
    flange_cutter: CutterRules,
    told: list[Assumption],
) -> None:
    if shop is None or shop.cutting is None:
        told.append(
            Assumption(
                "cutting.process",
                f"How the sheet is cut is not given; cutting by {cutting.process} is taken.",
            )
        )
    if cutting.tolerance is None:
        practice = cutting_practice(cutting.process, 0.002)
        of_class = practice is not None and practice.tolerance_class is not None
        told.append(
            Assumption(
                "cutting.tolerance",
                f"How true the cutter cuts is not given; plus and minus {{sheet}} in the sheet and "
                f"{{flange}} in the "
                f"flange are taken, usual for {cutting.process} over the whole length.",
                (
                    Figure("sheet", cutter.tolerance, "m", "length", 2),
                    Figure("flange", flange_cutter.tolerance, "m", "length", 2),
                ),
                "iso-9013" if of_class else "common practice, no source",
            )
        )
    missing = [key for key in ("least_hole", "least_web", "least_edge") if getattr(cutting, key) is None]
    if missing:
        told.append(
            Assumption(
                "cutting." + missing[0],
                f"The cutter's own limits for small holes and narrow webs are not all given; those usual for "
                f"{cutting.process} are taken: holes from {{hole}}, webs from {{web}}, {{edge}} from a "
                f"hole to an edge "
                "in the sheet.",
                (
                    Figure("hole", cutter.least_hole, "m", "length"),
                    Figure("web", cutter.least_web, "m", "length"),
                    Figure("edge", cutter.least_edge, "m", "length"),
                ),
            )
        )
    if cutting.cuts_itself and cutting.kerf is None:
        assert cutter.kerf is not None
        told.append(
            Assumption(
                "cutting.kerf",
                f"The kerf is not given; {{kerf}} is taken, usual for {cutting.process}.",
                (Figure("kerf", cutter.kerf, "m", "length", 2),),
            )
        )
