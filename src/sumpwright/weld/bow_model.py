"""How a welded pan moves: what is asked, and the answer as ranges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities.units import (
    FloatArray,
    IntArray,
    JoulePerMetre,
    Metre,
    Newton,
    Pascal,
    Ratio,
)
from sumpwright.weld.model import Strongback
from sumpwright.weld.strongback_model import StrongbackGear

USUAL_PLATE = Strongback(thickness=0.020, beyond=0.010, is_open=False, rim=0.010)
"""Where the job does not say: common practice."""

Doubt = Literal["order of magnitude", "by coupon", "by record"]
"""What ties the pull to this shop: nothing, a strip welded and measured, or a pan."""


@dataclass(frozen=True, slots=True)
class StripCoupon:
    """A strip with a bead along the whole of one long edge, welded free in this shop and measured."""

    material: str  # id in tables/materials
    thickness: Metre
    width: Metre
    length: Metre
    bow: Metre  # in the strip's plane


@dataclass(frozen=True, slots=True)
class PanRecord:
    """How far an earlier pan of this shop came out of flat, and what was told for it."""

    material: str
    told_least: Metre
    told_most: Metre
    measured: Metre


@dataclass(frozen=True, slots=True, eq=False)
class BowInputs:
    """What the movement is worked out from, besides the kit."""

    process: Literal["TIG", "MIG"]
    process_said: bool  # the shop's own, not taken
    coupons: tuple[StripCoupon, ...] = ()
    records: tuple[PanRecord, ...] = ()
    cell: Metre | None = None  # side of the triangles; None = by the pan's size
    tack_share: Ratio = 0.3  # pull of a tacked line against a whole seam
    strongback: Strongback = USUAL_PLATE


@dataclass(frozen=True, slots=True)
class SeamPull:
    """What one seam does."""

    name: str
    joint: int | None
    length: Metre
    heat_least: JoulePerMetre
    heat_most: JoulePerMetre
    pull_least: Newton
    pull_most: Newton
    cap: Newton  # most that the sheet beside it can hold
    share: Metre  # of the bow of the free flange, in the middle of the range; negative flattens it


@dataclass(frozen=True, slots=True)
class PanelRisk:
    """A panel that may wave."""

    panel: str
    width: Metre
    stress_least: Pascal
    stress_most: Pascal
    waves_from: Pascal  # edges that may turn
    waves_for_sure: Pascal  # edges that may not


@dataclass(frozen=True, slots=True, eq=False)
class HoleShift:
    """What happens at the rail's holes (n holes, in the pattern's order)."""

    names: tuple[str, ...]
    lift_least: FloatArray  # (n,) m out of the flange's mean plane, up positive, released from the plate
    lift_most: FloatArray  # (n,)
    draw_most: FloatArray  # (n, 2) m in the rail's plane, after the best fit
    seat_tilt: FloatArray  # (n,) rad, most


@dataclass(frozen=True, slots=True, eq=False)
class BowResult:
    """How the welded pan comes off the plate; every pair is least and most."""

    doubt: Doubt
    trust: Ratio | None  # pull of this shop's coupon or pan against the tables'
    free: tuple[Metre, Metre]  # flange out of flat, welded lying free
    released: tuple[Metre, Metre]  # flange out of flat, welded on the plate and let go cold
    along: tuple[Metre, Metre]  # part of it that is one bow along the flange, ends up positive
    seams: tuple[SeamPull, ...]
    risks: tuple[PanelRisk, ...]
    holes: HoleShift | None
    joint_draw: tuple[Metre, Metre] | None  # one joint of a flange in segments
    joint_shift: tuple[Metre, Metre] | None  # farthest that all joints together move a hole
    facing: tuple[Metre, Metre]  # to be taken off
    left_least: Metre  # of the flange, where most is taken off
    nodes: FloatArray  # (n, 3) m
    triangles: IntArray  # (m, 3)
    flange_nodes: IntArray  # (k,)
    lift: FloatArray  # (k,) m, of the flange nodes, released, middle of the range
    left_out: tuple[str, ...]
    strongback: StrongbackGear | None = None
    trouble: str = ""  # why nothing could be worked out; the numbers are then not numbers
