"""From the shop file to the kit's rates and offcuts."""

from __future__ import annotations

import numpy as np

from sumpwright.job.shop import ShopFile, shipped
from sumpwright.job.shop_sections import OffcutSection
from sumpwright.kit.nest_model import MetalPrice, Offcut, Rate, Rates
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.tables.materials import find_material


def rates_of(shop: ShopFile | None) -> Rates | None:
    """What the shop asks; None where its file has no [rates], and so nothing is priced."""
    if shop is None or shop.rates is None:
        return None
    rates = shop.rates
    shipped_keys = set(rates.placeholders or ())
    default = shipped().shop
    assert default is not None
    currency = (shop.shop.currency if shop.shop is not None else None) or default.currency or "EUR"

    def rate(key: str) -> Rate:
        return Rate(getattr(rates, key), key in shipped_keys)

    return Rates(
        currency=currency,
        cut=rate("cut"),
        pierce=rate("pierce"),
        bend=rate("bend"),
        weld=rate("weld"),
        metals=tuple(
            MetalPrice(
                _metal_id(line.material),
                line.thickness,
                line.price,
                bool(line.placeholder),
                line.cut,
                line.pierce,
            )
            for line in shop.stock
        ),
    )


def offcuts_of(shop: ShopFile | None) -> tuple[Offcut, ...]:
    """The offcuts on the shop's rack."""
    if shop is None:
        return ()
    return tuple(
        Offcut(offcut.name, _metal_id(offcut.material), offcut.thickness, _outline(offcut))
        for offcut in shop.offcuts
    )


def _outline(offcut: OffcutSection) -> FloatArray:
    """Corners (n, 2) anticlockwise."""
    if offcut.size is not None:
        length, width = offcut.size
        return frozen_array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    points = np.array(offcut.outline)
    x, y = points[:, 0], points[:, 1]
    turns_left = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) > 0.0
    return frozen_array(points if turns_left else points[::-1])


def _metal_id(name: str) -> str:
    metal = find_material(name)
    assert metal is not None, "the rules refuse unknown metals"
    return metal.id
