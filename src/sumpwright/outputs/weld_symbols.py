"""Weld symbols after ISO 2553: arrow line, reference line with its dashed line, and the weld's sign."""

from __future__ import annotations

import math

from sumpwright.outputs.paper import Sheet
from sumpwright.weld.model import Seam, SeamKind

_SIGNS: dict[SeamKind, str] = {
    "open corner": "v",
    "overlapped": "v",
    "full lap": "square",
    "wall under flange": "fillet",
    "inward cut back": "fillet",
    "inward lap": "fillet",
    "flange joint": "v",
    "corner inside": "fillet",
    "inner wall": "fillet",
    "boss": "fillet",
    "ring": "fillet",
    "bracket": "fillet",
    "patch plate": "fillet",
}

SIGN_WORDS = {
    "v": "single-V butt",
    "square": "square butt",
    "fillet": "fillet",
}


def sign_of(seam: Seam) -> str:
    """The name of a seam's sign: "v", "square" or "fillet"."""
    if seam.kind == "patch plate" and seam.groove_angle == math.pi:
        return "square"  # let in flush
    return _SIGNS[seam.kind]


def draw_symbol(sheet: Sheet, seam: Seam, stitches: int, x: float, y: float) -> None:
    """The symbol with its arrow at the left; 30 mm wide, reference line at ``y`` [mm]."""
    left, right = x + 6.0, x + 29.0
    sheet.arrow(left, y, x, y - 3.2, weight=0.25, head=1.8)
    sheet.line(left, y, right, y, weight=0.3)
    with sheet.dashed(1.2, 0.8):
        sheet.line(left, y - 0.9, right, y - 0.9, weight=0.15)
    if seam.is_closed:
        sheet.circle(left, y, 0.9, weight=0.25)
    sign, foot = sign_of(seam), left + 3.5
    if sign == "fillet":
        leg = min(seam.thickness_a, seam.thickness_b) * 1e3
        sheet.text(foot - 0.6, y + 0.7, f"z{leg:.3g}", 6, align="middle")
        sheet.polyline([(foot + 3.0, y), (foot + 3.0, y + 2.6), (foot + 5.6, y)], close=True, weight=0.3)
    elif sign == "v":
        sheet.line(foot + 4.3, y, foot + 3.0, y + 2.6, weight=0.3)
        sheet.line(foot + 4.3, y, foot + 5.6, y + 2.6, weight=0.3)
    else:
        sheet.line(foot + 3.8, y, foot + 3.8, y + 2.6, weight=0.3)
        sheet.line(foot + 5.0, y, foot + 5.0, y + 2.6, weight=0.3)
    if stitches:
        sheet.text(foot + 6.4, y + 0.7, f"{stitches}x15", 6)
