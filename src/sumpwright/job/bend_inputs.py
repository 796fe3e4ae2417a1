"""From the shop file to what the pan's sheet is bent with."""

from __future__ import annotations

import math

from sumpwright.findings import Assumption, Figure
from sumpwright.job.shop import ShopFile
from sumpwright.job.shop_sections import BendCouponSection, FolderSection, PressBrakeSection
from sumpwright.kit import BendCoupon, Folder
from sumpwright.kit.bend_formulas import bend_deduction, k_of_coupon, least_leg
from sumpwright.quantities.units import Metre, Radian, Ratio
from sumpwright.tables.materials import Family, find_material

SHARPEST: Radian = math.radians(120.0)
BEHIND: Metre = 0.040
ABOVE: Metre = 0.060
SHARE_OF_OPENING: dict[Family, Ratio] = {"steel": 0.16, "stainless": 0.20, "aluminium": 0.13}
"""Inside radius of an air bend as a share of the die's opening (common practice, no source)."""


def folder_of(shop: ShopFile | None, family: Family, sheet: Metre, told: list[Assumption]) -> Folder | None:
    """The machine that bends the pan's sheet: the press brake where it can, else the folder."""
    if shop is None:
        return None
    brake, folder = shop.press_brake, shop.folder
    if brake is not None and (folder is None or sheet <= brake.thickest or sheet > folder.thickest):
        return _brake(brake, family, sheet, told)
    return None if folder is None else _folder(folder, told)


def coupons_of(shop: ShopFile | None) -> tuple[BendCoupon, ...]:
    """The strips that this shop has bent and measured."""
    return () if shop is None else tuple(_coupon(coupon) for coupon in shop.bend_coupons)


def _folder(section: FolderSection, told: list[Assumption]) -> Folder:
    return Folder(
        "hand folder",
        section.radius,
        section.thickest,
        section.longest,
        section.least_leg,
        _or_usual("folder.sharpest", section.sharpest, SHARPEST, "angle", told),
        _or_usual("folder.behind", section.behind, BEHIND, "length", told),
        _or_usual("folder.above", section.above, ABOVE, "length", told),
        bool(section.only_square),
    )


def _brake(section: PressBrakeSection, family: Family, sheet: Metre, told: list[Assumption]) -> Folder:
    usual = SHARE_OF_OPENING.get(family, 0.16) * section.opening
    radius = _or_usual("press_brake.radius", section.radius, usual, "length", told)
    leg = least_leg(section.opening, radius, sheet)
    return Folder(
        "press brake",
        radius,
        section.thickest,
        section.longest,
        _or_usual("press_brake.least_leg", section.least_leg, leg, "length", told),
        _or_usual("press_brake.sharpest", section.sharpest, SHARPEST, "angle", told),
        _or_usual("press_brake.behind", section.behind, BEHIND, "length", told),
        _or_usual("press_brake.above", section.above, ABOVE, "length", told),
        bool(section.only_square),
    )


def _or_usual(key: str, given: float | None, usual: float, kind: str, told: list[Assumption]) -> float:
    if given is not None:
        return given
    unit = "rad" if kind == "angle" else "m"
    told.append(
        Assumption(
            key,
            "The shop file does not say; {usual} is taken.",
            (Figure("usual", usual, unit, kind, 0 if kind == "angle" else 1),),
        )
    )
    return usual


def _coupon(section: BendCouponSection) -> BendCoupon:
    metal = find_material(section.material)
    deduction = section.legs[0] + section.legs[1] - section.flat
    # What the outside legs are longer than the flat, turned into flat metal in the bend.
    outside = bend_deduction(section.turn, section.radius, 0.0, section.thickness)
    allowance = outside + section.turn * section.radius - deduction
    k = k_of_coupon(allowance, section.turn, section.radius, section.thickness)
    return BendCoupon(section.material if metal is None else metal.id, section.thickness, section.radius, k)
