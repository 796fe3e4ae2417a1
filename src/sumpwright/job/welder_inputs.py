"""From the shop file to the welder's card, its coupons and what they say of the movement."""

from __future__ import annotations

from typing import Literal, cast

from sumpwright.findings import Assumption, Figure
from sumpwright.job.shop import ShopFile, shipped
from sumpwright.job.welder_sections import WelderSection
from sumpwright.quantities.units import Ampere, Kelvin
from sumpwright.tables.materials import find_material
from sumpwright.tables.welding import find_filler
from sumpwright.weld.bow_model import BowInputs, PanRecord, StripCoupon
from sumpwright.weld.filler_model import FillerInputs, SoundCoupon
from sumpwright.weld.model import Current, Process, Welder

LEAST_AMPS: dict[str, Ampere] = {"TIG": 5.0, "MIG": 40.0}
HOT_OIL: Kelvin = 273.15 + 120.0


def welder_section(shop: ShopFile | None) -> tuple[WelderSection, bool]:
    """The welder's section, the shop's own (True) or the shipped one."""
    if shop is not None and shop.welder is not None:
        return shop.welder, True
    section = shipped().welder
    assert section is not None
    return section, False


def welder_of(shop: ShopFile | None) -> Welder:
    """The welder's card."""
    section, _ = welder_section(shop)
    return Welder(
        cast(Process, section.process),
        cast(Current, section.current),
        LEAST_AMPS[section.process] if section.least_amps is None else section.least_amps,
        section.most_amps,
        section.duty,
        section.most_amps if section.duty_amps is None else section.duty_amps,
        bool(section.purge),
    )


def build_filler(
    shop: ShopFile | None, hot_oil: Kelvin | None
) -> tuple[FillerInputs, tuple[Assumption, ...]]:
    """What the choice of filler needs, and what was taken."""
    section, is_own = welder_section(shop)
    told = []
    if not is_own:
        told.append(
            Assumption(
                "welder",
                f"The shop's welder is not given; a {section.process} machine with {section.current} and "
                "up to {amps} is taken.",
                (Figure("amps", section.most_amps, "A", "current"),),
            )
        )
    elif section.rods is None:
        told.append(
            Assumption(
                "welder.rods", "Which fillers are on the rack is not given; they are taken to be bought."
            )
        )
    if hot_oil is None:
        told.append(
            Assumption(
                "oil.hot",
                "How hot the oil gets is not given; fillers are chosen for {hot}.",
                (Figure("hot", HOT_OIL, "K", "temperature", 0),),
            )
        )
    coupons = () if shop is None else shop.weld_coupons
    return (
        FillerInputs(
            welder_of(shop),
            HOT_OIL if hot_oil is None else hot_oil,
            _rods(section) if is_own else None,
            is_own,
            tuple(
                SoundCoupon(_id(one.material), _id(one.with_material or one.material), one.thickness)
                for one in coupons
                if one.sound
            ),
        ),
        tuple(told),
    )


def build_bow(shop: ShopFile | None) -> BowInputs:
    """What the movement is worked out from."""
    section, is_own = welder_section(shop)
    return BowInputs(
        cast(Literal["TIG", "MIG"], section.process),
        is_own,
        ()
        if shop is None
        else tuple(
            StripCoupon(_id(one.material), one.thickness, one.width, one.length, one.bow)
            for one in shop.weld_strips
        ),
        ()
        if shop is None
        else tuple(
            PanRecord(_id(one.material), one.told_least, one.told_most, one.measured)
            for one in shop.pan_records
        ),
    )


def _rods(section: WelderSection) -> tuple[str, ...] | None:
    if section.rods is None:
        return None
    found = [find_filler(rod) for rod in section.rods]
    return tuple(filler.id for filler in found if filler is not None)


def _id(name: str) -> str:
    metal = find_material(name)
    return name if metal is None else metal.id
