"""The shop file: read, and filled up with the shipped figures where it says nothing."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, cast

from sumpwright.body.surroundings import Socket, Tools, Wrench
from sumpwright.findings import Assumption, Figure
from sumpwright.job.fields import Setting
from sumpwright.job.file_sections import take_sections
from sumpwright.job.metals import gauges_of, metal_rule
from sumpwright.job.model import Sheet, Shop
from sumpwright.job.nearest import nearest
from sumpwright.job.readings import TOOLS
from sumpwright.job.refusals import OpenFile
from sumpwright.job.shop_sections import (
    LISTED,
    NEEDED,
    RESERVED,
    SINGLE,
    BendCouponSection,
    BoltsSection,
    CuttingSection,
    FolderSection,
    MeasuringSection,
    OffcutSection,
    PressBrakeSection,
    RatesSection,
    ShopSection,
    SocketSection,
    StockSection,
    WrenchSection,
)
from sumpwright.job.weld_sections import TorchSection
from sumpwright.job.welder_sections import (
    PanRecordSection,
    WeldCouponSection,
    WelderSection,
    WeldStripSection,
)
from sumpwright.quantities.units import Metre, Radian
from sumpwright.tables.materials import find_material
from sumpwright.tables.welding import fillers, find_filler

SHOP_FILE = "shop.toml"
WITH_PLACEHOLDERS = ("cutting", "measuring", "bolts", "rates", "welder")
"""Sections whose keys may hold shipped figures."""


@dataclass(frozen=True, slots=True)
class ShopFile:
    """A shop file's sections; None where it has none or they are faulty."""

    shop: ShopSection | None
    stock: tuple[StockSection, ...]
    cutting: CuttingSection | None
    measuring: MeasuringSection | None
    bolts: BoltsSection | None
    offcuts: tuple[OffcutSection, ...] = ()
    rates: RatesSection | None = None
    sockets: tuple[SocketSection, ...] = ()
    wrenches: tuple[WrenchSection, ...] = ()
    folder: FolderSection | None = None
    press_brake: PressBrakeSection | None = None
    torch: TorchSection | None = None
    bend_coupons: tuple[BendCouponSection, ...] = ()
    welder: WelderSection | None = None
    weld_coupons: tuple[WeldCouponSection, ...] = ()
    weld_strips: tuple[WeldStripSection, ...] = ()
    pan_records: tuple[PanRecordSection, ...] = ()


@cache
def shipped() -> ShopFile:
    """The figures that come with the program."""
    text = resources.files("sumpwright.job").joinpath("shipped_shop.toml").read_text(encoding="utf-8")
    file = OpenFile("shipped_shop.toml", text, tomllib.loads(text))
    found = read_shop(file)
    if file.faults:
        raise ValueError(f"the shipped shop file is faulty: {file.faults}")
    return found


def read_shop(file: OpenFile) -> ShopFile:
    """The sections of a shop file; what is wrong is noted in ``file``."""
    currency = file.data.get("shop")
    currency = currency.get("currency") if isinstance(currency, dict) else None
    setting = Setting(currency=currency if isinstance(currency, str) else "EUR")
    single, listed = take_sections(
        file,
        SINGLE,
        LISTED,
        RESERVED,
        lambda path, data: _stock_setting(setting, data) if path in LISTED else setting,
    )
    for name in NEEDED:
        if name not in file.data:
            file.fault((name,), f"the section [{name}] is needed and is missing", good=f"[{name}]")
    stock = cast(list[StockSection | None], listed["stock",])
    for at, line in enumerate(stock):
        if line is not None:
            trouble = metal_rule(line.material, "sheet")
            if trouble is not None:
                file.fault(("stock", at, "material"), trouble[0], f'material = "{trouble[1]}"', trouble[2])
    offcuts = cast(list[OffcutSection | None], listed["offcuts",])
    for at, offcut in enumerate(offcuts):
        if offcut is not None:
            _check_offcut(file, at, offcut)
    coupons = cast(list[BendCouponSection | None], listed["bend_coupons",])
    for at, coupon in enumerate(coupons):
        if coupon is not None:
            trouble = metal_rule(coupon.material, "sheet")
            if trouble is not None:
                file.fault(
                    ("bend_coupons", at, "material"), trouble[0], f'material = "{trouble[1]}"', trouble[2]
                )
    for name in ("weld_coupons", "weld_strips", "pan_records"):
        for at, one in enumerate(listed[name,]):
            for key in ("material", "with_material"):
                metal = getattr(one, key, None)
                trouble = metal_rule(metal, "sheet") if metal is not None else None
                if trouble is not None:
                    file.fault((name, at, key), trouble[0], f'{key} = "{trouble[1]}"', trouble[2])
    _check_rods(file, cast(WelderSection | None, single.get("welder")))
    _check_placeholders(file, single)
    cutting = cast(CuttingSection | None, single.get("cutting"))
    if cutting is not None and cutting.kerf is not None and not cutting.cuts_itself:
        file.fault(
            ("cutting", "kerf"),
            "a kerf is only wanted where the shop cuts itself; a cutter makes up for his own",
            good="cuts_itself = true",
        )
    return ShopFile(
        shop=cast(ShopSection | None, single.get("shop")),
        stock=tuple(line for line in stock if line is not None),
        cutting=cutting,
        measuring=cast(MeasuringSection | None, single.get("measuring")),
        bolts=cast(BoltsSection | None, single.get("bolts")),
        offcuts=tuple(offcut for offcut in offcuts if offcut is not None),
        rates=cast(RatesSection | None, single.get("rates")),
        sockets=tuple(one for one in cast(list[SocketSection | None], listed["sockets",]) if one is not None),
        wrenches=tuple(
            one for one in cast(list[WrenchSection | None], listed["wrenches",]) if one is not None
        ),
        folder=cast(FolderSection | None, single.get("folder")),
        press_brake=cast(PressBrakeSection | None, single.get("press_brake")),
        torch=cast(TorchSection | None, single.get("torch")),
        bend_coupons=tuple(one for one in coupons if one is not None),
        welder=cast(WelderSection | None, single.get("welder")),
        weld_coupons=tuple(
            one for one in cast(list[WeldCouponSection | None], listed["weld_coupons",]) if one is not None
        ),
        weld_strips=tuple(
            one for one in cast(list[WeldStripSection | None], listed["weld_strips",]) if one is not None
        ),
        pan_records=tuple(
            one for one in cast(list[PanRecordSection | None], listed["pan_records",]) if one is not None
        ),
    )


def _check_rods(file: OpenFile, welder: WelderSection | None) -> None:
    known = [filler.id for filler in fillers()]
    for at, rod in enumerate((welder.rods or []) if welder is not None else []):
        if find_filler(rod) is None:
            near = nearest(rod, known)
            hint = f"; did you mean {near!r}?" if near else ""
            file.fault(
                ("welder", "rods", at),
                f"this filler is not in the table{hint}",
                good=f'rods = ["{near or known[0]}"]',
                allowed=", ".join(known),
            )


def _check_offcut(file: OpenFile, at: int, offcut: OffcutSection) -> None:
    trouble = metal_rule(offcut.material, "sheet")
    if trouble is not None:
        file.fault(("offcuts", at, "material"), trouble[0], f'material = "{trouble[1]}"', trouble[2])
    if (offcut.size is None) == (offcut.outline is None):
        file.fault(
            ("offcuts", at),
            "an offcut has either a size or an outline",
            good='size = ["600 mm", "400 mm"]',
            read="",
        )
    if offcut.outline is not None:
        from shapely import Polygon

        shape = Polygon(offcut.outline)
        if not shape.is_valid or shape.area < 1e-4:
            file.fault(
                ("offcuts", at, "outline"),
                "the outline crosses itself or holds no metal; give its corners in order round it",
                read="",
            )


def _stock_setting(setting: Setting, data: Any) -> Setting:
    material = data.get("material") if isinstance(data, dict) else None
    return Setting(currency=setting.currency, gauges=gauges_of(material))


def _check_placeholders(file: OpenFile, single: Mapping[str, Any]) -> None:
    for name in WITH_PLACEHOLDERS:
        section = single.get(name)
        known = [key for key in SINGLE[name].model_fields if key != "placeholders"]
        for at, key in enumerate((section.placeholders or []) if section is not None else []):
            if key not in known:
                near = nearest(key, known)
                hint = f"; did you mean {near!r}?" if near else ""
                file.fault(
                    (name, "placeholders", at),
                    f"no key of this section is called so{hint}",
                    allowed=", ".join(known),
                )


def tool_uncertainties(shop: ShopFile | None) -> dict[str, Metre]:
    """Standard uncertainty of one reading by tool: the shop's own, the shipped one where it says nothing."""
    own = shop.measuring if shop is not None else None
    default = shipped().measuring
    found = {}
    for tool in TOOLS:
        key = tool.replace(" ", "_")
        value = getattr(own, key, None)
        found[tool] = getattr(default, key) if value is None else value
    return found


HANDLE_WIDTH: Metre = 0.020
RATCHET_CLICK: Radian = math.radians(5.0)
"""A ratchet of 72 teeth."""


def turning_tools(own: ShopFile | None) -> Tools:
    """What bolts are turned with: the shop's own list, the shipped one where it has none."""
    has_own = own is not None and bool(own.sockets or own.wrenches)
    source = own if own is not None and has_own else shipped()
    return Tools(
        tuple(
            Socket(
                one.across_flats,
                one.outside,
                one.length,
                one.extension,
                one.reach,
                one.handle_length,
                HANDLE_WIDTH if one.handle_width is None else one.handle_width,
                RATCHET_CLICK if one.click is None else one.click,
            )
            for one in source.sockets
        ),
        tuple(
            Wrench(
                one.across_flats, one.head_width, one.head_thickness, one.length, one.handle_width, one.swing
            )
            for one in source.wrenches
        ),
        not has_own,
    )


def build_shop(own: ShopFile | None, thread_systems: frozenset[str]) -> tuple[Shop, tuple[Assumption, ...]]:
    """The shop of this job, and what was taken from the shipped figures.

    ``thread_systems`` holds "metric", "inch" or both: the threads of this rail, whose bolt
    lengths are wanted.
    """
    default = shipped()
    section = own.shop if own is not None else None
    assert default.shop is not None
    told = []
    bolts, default_bolts = own.bolts if own is not None else None, default.bolts
    lengths: set[Metre] = set()
    for system in sorted(thread_systems):
        key = f"{system}_lengths"
        given = getattr(bolts, key, None)
        lengths.update(getattr(default_bolts, key) if given is None else given)
        if given is None:
            told.append(
                Assumption(
                    f"bolts.{key}",
                    f"The shop file does not say which {system} bolt lengths can be bought; the usual "
                    "ones are taken.",
                )
            )
    tools = tool_uncertainties(own)
    stock = own.stock if own is not None else ()
    placeholders = _placeholders(own)
    if own is None:
        told.insert(
            0,
            Assumption(
                SHOP_FILE,
                "There is no shop.toml beside the job: the shipped figures stand in for the shop's own.",
            ),
        )
    for key in placeholders:
        told.append(
            Assumption(
                key, f"The figure of '{key}' in the shop file is the shipped placeholder, not the shop's own."
            )
        )
    return (
        Shop(
            name=section.name if section is not None else default.shop.name,
            currency=(section.currency if section is not None else None) or default.shop.currency or "EUR",
            stock=tuple(_sheet(line) for line in stock),
            bolt_lengths=tuple(sorted(lengths)),
            tool_u=tuple(tools.items()),
            placeholders=placeholders,
        ),
        tuple(told),
    )


def tools_taken(own: ShopFile | None, tools: frozenset[str]) -> tuple[Assumption, ...]:
    """What was assumed of the tools that this job's readings were taken with."""
    told = []
    section = own.measuring if own is not None else None
    for tool in sorted(tools):
        key = tool.replace(" ", "_")
        if getattr(section, key, None) is None:
            u = tool_uncertainties(None)[tool]
            told.append(
                Assumption(
                    f"measuring.{key}",
                    f"How well the shop reads with '{tool}' is not given; two readings in three are "
                    "taken to fall "
                    "within {u} of the truth.",
                    (Figure("u", u, "m", "length"),),
                )
            )
    return tuple(told)


def _sheet(line: StockSection) -> Sheet:
    metal = find_material(line.material)
    return Sheet(
        material=metal.id if metal is not None else line.material,
        thickness=line.thickness,
        size=None if line.size is None else (line.size[0], line.size[1]),
        price_per_kg=line.price,
        is_placeholder=bool(line.placeholder),
    )


def _placeholders(own: ShopFile | None) -> tuple[str, ...]:
    if own is None:
        return ()
    keys = [
        f"{name}.{key}"
        for name in WITH_PLACEHOLDERS
        for key in (getattr(getattr(own, name), "placeholders", None) or [])
    ]
    keys += [f"stock.{at}.price" for at, line in enumerate(own.stock, start=1) if line.placeholder]
    return tuple(keys)
