"""Where each part lies on which sheet, and what the parts cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities.units import FloatArray, Metre, Radian, SquareMetre


@dataclass(frozen=True, slots=True, eq=False)
class Offcut:
    """A left-over piece on the rack."""

    name: str
    material: str  # id in tables/materials
    thickness: Metre
    outline: FloatArray  # (n, 2) m, anticlockwise; the grain runs along x


@dataclass(frozen=True, slots=True)
class MetalPrice:
    """What one metal in one thickness costs here, as sheet and under the cutter."""

    material: str  # id in tables/materials
    thickness: Metre
    sheet: float | None  # money/kg
    sheet_is_placeholder: bool = False
    cut: float | None = None  # money/m, instead of the shop's general rate
    pierce: float | None = None  # money each, instead of the shop's general rate


@dataclass(frozen=True, slots=True)
class Rate:
    """One of the shop's rates."""

    amount: float | None  # money for one base SI unit, or for one piece; None = not given
    is_placeholder: bool = False


NO_RATE = Rate(None)


@dataclass(frozen=True, slots=True)
class Rates:
    """What this shop or its cutter asks."""

    currency: str = "EUR"
    cut: Rate = NO_RATE  # money/m of cut line
    pierce: Rate = NO_RATE  # money each
    bend: Rate = NO_RATE  # money each
    weld: Rate = NO_RATE  # money/m of seam
    metals: tuple[MetalPrice, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Blank:
    """A sheet or an offcut that parts are nested on; x runs along its length and its grain."""

    name: str  # "sheet 2000 x 1000 mm", "offcut rack-3"
    material: str
    thickness: Metre
    outline: FloatArray  # (n, 2) m, anticlockwise, lowest corner of its box at the origin
    is_offcut: bool

    @property
    def size(self) -> tuple[Metre, Metre]:
        """Length and width of the box round it."""
        return float(self.outline[:, 0].max()), float(self.outline[:, 1].max())

    @property
    def area(self) -> SquareMetre:
        """Metal area."""
        x, y = self.outline[:, 0], self.outline[:, 1]
        nxt_x, nxt_y = (*x[1:], x[0]), (*y[1:], y[0])
        return 0.5 * float(sum(a * d - b * c for a, b, c, d in zip(x, nxt_x, y, nxt_y, strict=True)))


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece on a blank: turned about the flat's origin, then moved; never turned over."""

    part: str
    copy: int  # of the part's quantity, from one
    angle: Radian
    dx: Metre
    dy: Metre
    inside: str = ""  # the part in whose cut-out this piece lies


@dataclass(frozen=True, slots=True, eq=False)
class Nest:
    """One blank with its pieces."""

    number: int  # from one, through all nests of the kit
    blank: Blank
    placements: tuple[Placement, ...]
    used_length: Metre  # along the blank, margin and part gap kept; what is cut off the sheet
    used_share: float  # parts' metal over the stretch that is cut off


NotNestedWhy = Literal["larger than any sheet", "no such metal in the stock list", "no whole outline"]


@dataclass(frozen=True, slots=True)
class NotNested:
    """A piece that found no blank."""

    part: str
    why: NotNestedWhy
    needs: tuple[Metre, Metre]  # least box round it, grain kept
    largest: tuple[Metre, Metre] | None  # free length and width of the largest sheet of that metal


@dataclass(frozen=True, slots=True, eq=False)
class NestPlan:
    """All nests of a kit."""

    nests: tuple[Nest, ...]
    left_over: tuple[NotNested, ...]
    gap: tuple[tuple[Metre, Metre], ...]  # (thickness, gap kept between parts)
    margin: Metre


PriceUnit = Literal["kg", "m", "1"]
PriceItem = Literal["sheet", "cutting", "piercing", "bending", "welding"]


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of the price: an amount of something times a rate."""

    item: PriceItem
    metal: str  # "5052-H32 3 mm" by id and thickness; "" where it is for all parts
    thickness: Metre | None
    amount: float
    unit: PriceUnit
    rate: float | None  # money for one unit; None = not given
    is_placeholder: bool
    key: str  # of the shop file, where the rate stands or is missing

    @property
    def cost(self) -> float | None:
        """Money; None where the rate is not given. Nothing costs nothing, at any rate."""
        if self.amount == 0.0:
            return 0.0
        return None if self.rate is None else self.amount * self.rate


@dataclass(frozen=True, slots=True)
class Price:
    """What the flat parts and their seams cost."""

    currency: str
    lines: tuple[PriceLine, ...]
    by: Literal["nests", "boxes"]  # sheet counted by the lengths cut off, or by the box round each part

    @property
    def total(self) -> float | None:
        """Money; None where a rate is missing."""
        costs = [line.cost for line in self.lines]
        known = [cost for cost in costs if cost is not None]
        return sum(known) if len(known) == len(costs) else None

    @property
    def has_placeholders(self) -> bool:
        """Whether a shipped figure stands in it that is not the shop's own."""
        return any(line.is_placeholder and line.amount > 0.0 for line in self.lines)
