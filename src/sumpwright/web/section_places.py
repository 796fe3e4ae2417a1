"""Which section of a file stands in which section of the sheet, and what it is called there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from sumpwright.job import sections, shop_sections
from sumpwright.job.section_types import Section
from sumpwright.outputs.sections import SECTIONS
from sumpwright.web.messages import SectionKey

ListPath = tuple[str, ...]

SECTION_KEYS: tuple[SectionKey, ...] = (
    "job", "rail", "body", "oil", "motion", "suction", "kit", "weld", "proof",
)  # fmt: skip

HEADINGS: Mapping[SectionKey, str] = dict(
    zip(SECTION_KEYS, ("The job", *(heading for _, heading in SECTIONS)), strict=True)
)
KEY_OF_CODE: Mapping[str, SectionKey] = dict(
    zip((code for code, _ in SECTIONS), SECTION_KEYS[1:], strict=True)
)

_JOB: Mapping[str, SectionKey] = {
    "job": "job", "old_pan": "job", "engine": "job",
    "rail": "rail", "scan": "rail", "gasket_picture": "rail",
    "pan": "body", "lumps": "body", "walls": "body", "roof_baffles": "body", "vehicle": "body",
    "keep_outs": "body", "drain": "body", "pickup": "body",
    "oil": "oil", "pump": "oil", "dipstick": "oil", "crank": "oil", "ports": "oil",
    "loads": "motion", "drives": "motion", "free_surface": "motion",
    "suction": "suction",
    "cutting": "kit", "joints": "kit", "bends": "kit",
    "fittings": "body", "stand_offs": "body", "stone_guard": "body", "jacking": "body",
    "patch_plates": "kit",
    "weld": "weld", "facing": "weld",
    "leak_test": "proof", "proof": "proof", "as_built": "proof",
}  # fmt: skip
_SHOP: Mapping[str, SectionKey] = {
    "shop": "kit", "stock": "kit", "offcuts": "kit", "folder": "kit", "press_brake": "kit", "cutting": "kit",
    "bend_coupons": "kit", "rates": "kit", "measuring": "rail", "bolts": "rail", "sockets": "body",
    "wrenches": "body", "welder": "weld", "torch": "weld", "weld_coupons": "weld", "leak_test": "proof",
}  # fmt: skip
_TITLES: Mapping[str, str] = {
    "job": "What it is called",
    "old_pan": "What the old pan did",
    "engine": "How the engine sits",
    "rail.fasteners": "Fasteners",
    "rail.lands": "Land",
    "lumps": "Lump",
    "walls": "Inner wall",
    "roof_baffles": "Roof baffle",
    "keep_outs": "Keep-out",
    "ports": "Port",
    "drives": "Logged run",
    "fittings": "Fitting",
    "stand_offs": "Post for tray or scraper",
    "stone_guard": "Stone guard",
    "jacking": "Where a jack may push",
    "patch_plates": "Patch plate",
    "suction.corners": "Corner of the tube",
    "suction.joints": "Joint of the tube",
    "scan.marks": "Mark on the scan",
    "gasket_picture.marks": "Mark on the picture",
    "gasket_picture": "Picture of the gasket",
    "sockets": "Socket",
    "wrenches": "Wrench",
    "offcuts": "Offcut",
    "bend_coupons": "Bend coupon",
    "weld_coupons": "Weld coupon",
}


def section_of_file(file: Literal["job", "shop"], name: str) -> SectionKey:
    """The sheet's section for a section of a file; what no row names stands with the parts."""
    return (_JOB if file == "job" else _SHOP).get(name, "kit")


def title_of(path: ListPath, member: str = "") -> str:
    """The heading of a group of fields."""
    name = ".".join(path)
    plain = _TITLES.get(name) or path[-1].replace("_", " ").capitalize()
    return f"{plain}: {member}" if member else plain


def single_models(file: Literal["job", "shop"]) -> Mapping[str, type[Section]]:
    """Sections that stand once."""
    return sections.SINGLE if file == "job" else shop_sections.SINGLE


def listed_models(file: Literal["job", "shop"]) -> Mapping[ListPath, type[Section]]:
    """Sections in double brackets."""
    return sections.LISTED if file == "job" else shop_sections.LISTED
