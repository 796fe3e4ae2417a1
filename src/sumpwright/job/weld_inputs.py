"""From pan, shop and the [weld] section to what the weld stage needs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

from sumpwright.findings import Assumption, Figure
from sumpwright.job.shop import ShopFile
from sumpwright.job.weld_sections import TorchSection, WeldSection
from sumpwright.job.welder_inputs import welder_of
from sumpwright.quantities.units import Metre, Radian
from sumpwright.tables.materials import find_material
from sumpwright.weld.model import OrderRules, Process, Strongback, Torch, WeldInputs

STATION: Metre = 0.010
END_CLEAR: Metre = 0.004
PAST_CORNER: Metre = 0.012
LONG_FROM: Metre = 0.300


@dataclass(frozen=True, slots=True)
class _Usual:
    """A torch of the usual size: common practice, no source."""

    cup: Metre
    cup_length: Metre
    stick_out: Metre
    body: Metre
    body_angle: Radian
    body_length: Metre
    hand: Metre
    arm: Metre
    back_cap: Metre
    tilt: Radian
    drag: Radian
    filler: Metre | None


_USUAL: dict[Process, _Usual] = {
    "TIG": _Usual(
        0.014, 0.045, 0.009, 0.020, math.radians(70), 0.130, 0.080, 0.200, 0.035, math.radians(30),
        math.radians(25), 0.250,
    ),
    "MIG": _Usual(
        0.022, 0.070, 0.015, 0.022, math.radians(50), 0.160, 0.090, 0.200, 0.010, math.radians(20),
        math.radians(25), None,
    ),
}  # fmt: skip

FILLER_HAND: Metre = 0.060


def build_weld(
    asked: WeldSection | None, sheet: Metre, material: str, cut_tolerance: Metre, shop: ShopFile | None
) -> tuple[WeldInputs, tuple[Assumption, ...]]:
    """The weld stage's inputs, and what was taken where job and shop do not say."""
    told: list[Assumption] = []
    welder = welder_of(shop)
    torch = _torch(None if shop is None else shop.torch, welder.process, told)
    rules = _rules(asked, sheet, material, told)
    return WeldInputs(torch, welder, _strongback(asked, told), rules, cut_tolerance), tuple(told)


_NAMES = ("cup", "cup_length", "stick_out", "body", "body_length", "hand", "arm", "back_cap")


def _torch(section: TorchSection | None, process: Process, told: list[Assumption]) -> Torch:
    usual = _USUAL[process]

    def given(key: str) -> float | None:
        return None if section is None else getattr(section, key)

    def taken(key: str) -> float:
        value = given(key)
        return cast(float, getattr(usual, key) if value is None else value)

    missing = [key for key in (*_NAMES, "body_angle", "tilt", "drag") if given(key) is None]
    if process == "TIG" and given("filler") is None:
        missing.append("filler")
    filler = None if process == "MIG" else (given("filler") or usual.filler)
    hand = given("filler_hand")
    if missing:
        told.append(
            Assumption(
                f"torch.{missing[0]}",
                f"The torch is not measured in full; a usual {process} torch is taken for "
                f"{', '.join(key.replace('_', ' ') for key in missing)}: cup {{cup}}, {{stick_out}} from "
                f"cup to "
                "weld, leaning up to {tilt} across and {drag} along the seam.",
                (
                    Figure("cup", taken("cup"), "m", "length", 0),
                    Figure("stick_out", taken("stick_out"), "m", "length", 0),
                    Figure("tilt", taken("tilt"), "rad", "angle", 0),
                    Figure("drag", taken("drag"), "rad", "angle", 0),
                ),
            )
        )
    return Torch(
        **{key: taken(key) for key in _NAMES},
        body_angle=taken("body_angle"),
        tilt=taken("tilt"),
        drag=taken("drag"),
        filler=filler,
        filler_hand=FILLER_HAND if hand is None else hand,
        stick_out_most=given("stick_out_most"),
    )


def _strongback(asked: WeldSection | None, told: list[Assumption]) -> Strongback:
    is_open = asked is not None and bool(asked.plate_open)
    thickness, beyond = _own(asked, "plate", 0.020), _own(asked, "plate_beyond", 0.010)
    if asked is None or asked.plate is None or asked.plate_beyond is None or asked.plate_open is None:
        told.append(
            Assumption(
                "weld.plate",
                "The plate that the flange is bolted to is not given in full; it is taken as {thick} thick, "
                "reaching {beyond} beyond the flange, "
                + ("its middle cut out." if is_open else "closed but for a vent in its middle."),
                (
                    Figure("thick", thickness, "m", "length", 0),
                    Figure("beyond", beyond, "m", "length", 0),
                ),
            )
        )
    return Strongback(thickness, beyond, is_open, _own(asked, "plate_rim", 0.010))


def _own(asked: WeldSection | None, key: str, usual: Metre) -> Metre:
    value = None if asked is None else getattr(asked, key)
    return usual if value is None else float(value)


def _rules(asked: WeldSection | None, sheet: Metre, material: str, told: list[Assumption]) -> OrderRules:
    metal = find_material(material)
    usual = 0.025 if sheet <= 0.0015 else 0.040
    if metal is not None and metal.family == "stainless":
        usual *= 0.5
    rules = OrderRules(
        station=STATION,
        end_clear=END_CLEAR,
        stitch=_own(asked, "stitch", 0.060),
        long_from=LONG_FROM,
        tack_pitch=_own(asked, "tack_pitch", usual),
        back_step=_own(asked, "back_step", 0.040),
        past_corner=PAST_CORNER,
    )
    if asked is None or None in (asked.tack_pitch, asked.back_step, asked.stitch):
        told.append(
            Assumption(
                "weld.tack_pitch",
                "How the seams are tacked and run is not given in full; tacks {pitch} apart, runs of {step} "
                "stepped back, stitches no more than {stitch} apart are taken.",
                (
                    Figure("pitch", rules.tack_pitch, "m", "length", 0),
                    Figure("step", rules.back_step, "m", "length", 0),
                    Figure("stitch", rules.stitch, "m", "length", 0),
                ),
            )
        )
    return rules
