"""Prices worked by hand from lengths, counts and kilograms."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.geometry import Circle
from sumpwright.kit.model import Joint
from sumpwright.kit.nest_check import price_findings
from sumpwright.kit.nest_model import MetalPrice, Rate, Rates
from sumpwright.kit.nesting import nest_parts
from sumpwright.kit.price import cut_length, outline_length, pierces, price_of
from tests.kit.nest_parts_by_hand import MM, nest_inputs, rectangle, ring

RATES = Rates("EUR", Rate(2.0), Rate(0.5), Rate(4.0), Rate(30.0, True), (MetalPrice("mild", 2 * MM, 1.5),))


def seam(length: float, kind: str = "open corner") -> Joint:
    return Joint(0, "a", "b", kind, math.pi / 2, length, None, None, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))  # type: ignore[arg-type]


@pytest.mark.expected_from("closed form", "circles of 200 and 150 mm: pi (0.2 + 0.15) m")
def test_the_cut_runs_along_arcs() -> None:
    part = ring("ring", 200, 150)
    assert outline_length(part.outline) == pytest.approx(math.pi * 0.2, rel=1e-12)
    assert cut_length(part) == pytest.approx(math.pi * 0.35, rel=1e-12)
    assert pierces(part) == 2.0
    drilled = replace(rectangle("r", 100, 50), holes=(Circle(0.02, 0.02, 0.01),))
    assert cut_length(drilled) == pytest.approx(0.3 + math.pi * 0.01, rel=1e-12)


@pytest.mark.expected_from("closed form", "two 97 x 47 x 2 mm plates in boxes 3 mm larger, by hand")
def test_a_price_by_boxes() -> None:
    inputs = nest_inputs((1000, 500))
    price = price_of(inputs, RATES, [rectangle("r", 97, 47, 2)], [seam(0.4), seam(0.2, "bend")], None)
    amounts = {line.item: line.amount for line in price.lines}
    assert amounts == pytest.approx(
        {
            "sheet": 2 * 0.1 * 0.05 * 0.002 * 7850,
            "cutting": 2 * 0.288,
            "piercing": 2,
            "bending": 1,
            "welding": 0.4,
        }
    )
    expected = 1.5 * amounts["sheet"] + 2.0 * 0.576 + 0.5 * 2 + 4.0 + 30.0 * 0.4
    assert price.total == pytest.approx(expected)
    assert price.has_placeholders


@pytest.mark.expected_from("closed form", "12 plates on 410 mm cut off a 167 mm sheet, 2 mm, 7850 kg/m3")
def test_a_price_by_nests_counts_what_is_cut_off() -> None:
    inputs = nest_inputs((417, 167))
    parts = [rectangle("r", 97, 47, 12)]
    price = price_of(inputs, RATES, parts, [], nest_parts(inputs, parts))
    sheet = next(line for line in price.lines if line.item == "sheet")
    assert price.by == "nests"
    assert sheet.amount == pytest.approx(0.410 * 0.167 * 0.002 * 7850, rel=1e-4)


@pytest.mark.expected_from("closed form", "the metal's own rate stands before the shop's general one")
def test_the_stocks_own_cutting_price_comes_first() -> None:
    rates = replace(RATES, metals=(MetalPrice("mild", 2 * MM, 1.5, False, 7.0, None),))
    price = price_of(nest_inputs(), rates, [rectangle("r", 100, 50)], [], None)
    cutting = next(line for line in price.lines if line.item == "cutting")
    assert (cutting.rate, cutting.key) == (7.0, "stock.cut")
    assert cutting.cost == pytest.approx(2.1)


@pytest.mark.expected_from(
    "property", "missing never counts as nothing: the key is named and no total is told"
)
def test_a_missing_rate_is_named_and_placeholders_are_called_so() -> None:
    parts = [rectangle("r", 100, 50)]
    whole = price_of(nest_inputs(), RATES, parts, [seam(1.0)], None)
    (finding,) = price_findings(whole)
    assert finding.verdict is Verdict.HOLDS
    assert finding.says.startswith("With placeholder prices")
    assert "rates.weld" in finding.how_sure
    lacking = price_of(nest_inputs(), replace(RATES, weld=Rate(None)), parts, [seam(1.0)], None)
    assert lacking.total is None
    (finding,) = price_findings(lacking)
    assert finding.verdict is Verdict.CANNOT_SAY
    assert "rates.weld" in finding.says
    unneeded = price_of(nest_inputs(), replace(RATES, bend=Rate(None)), parts, [seam(1.0)], None)
    assert unneeded.total is not None
