"""Nests and price in the Parts section."""

from __future__ import annotations

from collections.abc import Callable

from sumpwright.geometry.arcs import chorded
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.nest_model import Nest, NestPlan, Price, PriceItem, PriceLine
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.nest_files import nest_file_stem, parts_on
from sumpwright.outputs.paper import Sheet, text_width
from sumpwright.outputs.words import (
    UnitSystem,
    write_length,
    write_number,
    write_value,
)

Draw = Callable[[Sheet, float, float, float, float], None]
Place = Callable[[float, float], tuple[float, float]]

_TALLEST = 100.0
_ITEMS: dict[PriceItem, str] = {
    "sheet": "sheet",
    "cutting": "cutting",
    "piercing": "starting a cut",
    "bending": "bending",
    "welding": "welding",
}


def nest_pages(form: Form, kit: SheetKit, plan: NestPlan, units: UnitSystem) -> None:
    """Each sheet with its parts."""
    for nest in plan.nests:
        shown = _shown(nest)
        is_turned = shown < nest.blank.size[1]
        across, up = (nest.blank.size[1], shown) if is_turned else (shown, nest.blank.size[1])
        scale = min(form.inner_width / across, _TALLEST / up)
        height = up * scale + 2.0
        form.caption(
            f"Nest {nest.number}: {nest.blank.material}, {write_length(nest.blank.thickness, units)},"
            f" {nest.blank.name} {_size(nest.blank.size, units)}",
            follow=height + 20.0,
        )
        words = (
            f"Cut off {write_length(nest.used_length, units, 0)} of its length;"
            f" {write_value(nest.used_share, '1', 'percent', units, 0)} of that is parts."
            f" File {nest_file_stem(nest)}.dxf. The sheet's length and its grain run"
            f" {'up the page' if is_turned else 'across the page'}."
        )
        if shown < nest.blank.size[0]:
            words += " The rest of the sheet is left out here."
        form.words(words, 8.5)
        form.picture(height, _picture(kit, nest, scale, is_turned))
    if plan.left_over:
        form.caption("Parts that found no sheet")
        form.table(
            (
                Column("part", 50),
                Column("why", 60),
                Column("needs", 50, "right"),
                Column("largest sheet", 50, "right"),
            ),
            tuple(
                Row(
                    (
                        one.part,
                        one.why,
                        _size(one.needs, units),
                        "–" if one.largest is None else _size(one.largest, units),
                    ),
                    True,
                )
                for one in plan.left_over
            ),
        )


def _size(size: tuple[float, float], units: UnitSystem) -> str:
    return f"{write_length(size[0], units, 0)} × {write_length(size[1], units, 0)}"


def _shown(nest: Nest) -> float:
    """How much of the blank's length is drawn: a sheet that stays mostly whole is cut short."""
    length = nest.blank.size[0]
    if nest.blank.is_offcut or nest.used_length > 0.6 * length:
        return length
    return nest.used_length + 0.02


def _picture(kit: SheetKit, nest: Nest, scale: float, is_turned: bool) -> Draw:
    """What draws one nest: sheet, cut-off line, parts with their names."""
    parts = parts_on(nest, kit)
    numbers = {part.name: number for number, part in enumerate(kit.parts, start=1)}
    shown, width = _shown(nest), nest.blank.size[1]

    def draw(sheet: Sheet, x: float, y: float, room: float, height: float) -> None:
        def place(u: float, v: float) -> tuple[float, float]:
            if is_turned:  # a quarter to the left: nothing is mirrored
                return x + (width - v) * scale, y + 1.0 + u * scale
            return x + u * scale, y + 1.0 + v * scale

        if shown < nest.blank.size[0]:
            edge = [(shown, 0.0), (0.0, 0.0), (0.0, width), (shown, width)]
            sheet.polyline([place(u, v) for u, v in edge], weight=0.4)
        else:
            sheet.polyline([place(u, v) for u, v in nest.blank.outline], close=True, weight=0.4)
        if not nest.blank.is_offcut:
            with sheet.dashed(3.0, 1.5):
                sheet.line(*place(nest.used_length, 0.0), *place(nest.used_length, width), weight=0.25)
        for part in parts:
            _metal(sheet, part, place, scale)
        for part in parts:
            _name(sheet, part, numbers[part.name], place)

    return draw


def _metal(sheet: Sheet, part: FlatPart, place: Place, scale: float) -> None:
    sheet.polyline([place(u, v) for u, v in chorded(part.outline, 1e-4)], close=True, weight=0.3, fill=0.92)
    for cut_out in part.cut_outs:
        sheet.polyline([place(u, v) for u, v in chorded(cut_out, 1e-4)], close=True, weight=0.3, fill=1.0)
    for hole in part.holes:
        sheet.circle(*place(hole.x, hole.y), hole.diameter / 2 * scale, weight=0.2, fill=1.0)


def _name(sheet: Sheet, part: FlatPart, number: int, place: Place) -> None:
    """The part's number and name where they fit on its metal; the number alone where they do not."""
    import shapely

    metal = shapely.Polygon(
        [place(u, v) for u, v in chorded(part.outline, 1e-4)],
        [[place(u, v) for u, v in chorded(cut_out, 1e-4)] for cut_out in part.cut_outs],
    )
    low_x, low_y, high_x, high_y = metal.bounds
    places = [((low_x + high_x) / 2, (low_y + high_y) / 2)]
    if metal.is_valid:
        x, y = shapely.maximum_inscribed_circle(metal, tolerance=0.2).coords[0]
        places.append((x, y))
    words, size = f"{number} {part.name}", 7.0
    half, tall = text_width(words, size) / 2 + 0.5, size * 0.2
    for turn in (0.0, 90.0):
        reach = (half, tall) if turn == 0.0 else (tall, half)
        for x, y in places:
            if metal.covers(shapely.box(x - reach[0], y - reach[1], x + reach[0], y + reach[1])):
                shift = (0.0, -0.12 * size) if turn == 0.0 else (0.12 * size, 0.0)
                sheet.text(x + shift[0], y + shift[1], words, size, align="middle", turn=turn)
                return
    x, y = places[-1]
    sheet.text(x, y - 0.12 * size, str(number), size, align="middle")


def price_table(form: Form, price: Price, units: UnitSystem) -> None:
    """The price line by line; a rate that is not given names its key."""
    form.caption("Price at this shop's rates")
    counted = "sheet by the lengths cut off" if price.by == "nests" else "sheet by the box round each part"
    form.words(
        f"Counted: {counted}. Handling, setting up, facing, bought parts and the way to the cutter are not in"
        " it. A star marks a shipped placeholder: put your own rate in shop.toml.",
        8.5,
    )
    rows = [
        Row(
            (
                _ITEMS[line.item],
                _metal_words(line, units),
                _amount(line),
                _rate(line, price.currency),
                "not known" if line.cost is None else f"{write_number(line.cost, 2)}",
            )
        )
        for line in price.lines
    ]
    total = price.total
    rows.append(
        Row(
            (
                "altogether",
                "",
                "",
                "",
                "not known" if total is None else f"{write_number(total, 2)} {price.currency}",
            ),
            True,
        )
    )
    form.table(
        (
            Column("", 30),
            Column("metal", 40),
            Column("amount", 28, "right"),
            Column("rate", 50, "right"),
            Column(price.currency, 34, "right"),
        ),
        tuple(rows),
    )


def _metal_words(line: PriceLine, units: UnitSystem) -> str:
    return line.metal if line.thickness is None else f"{line.metal}, {write_length(line.thickness, units)}"


def _amount(line: PriceLine) -> str:
    if line.unit == "1":
        return write_number(line.amount, 0)
    return f"{write_number(line.amount, 2)} {line.unit}"


def _rate(line: PriceLine, currency: str) -> str:
    if line.rate is None:
        return f"enter {line.key}"
    unit = "each" if line.unit == "1" else f"for 1 {line.unit}"
    return f"{write_number(line.rate, 2)} {currency} {unit}{' *' if line.is_placeholder else ''}"
