"""Check values A26 to A28: gauges, cut deviations, clearance holes."""

import pytest

from sumpwright.tables.cutting import cut_deviation
from sumpwright.tables.fasteners import clearance_hole
from sumpwright.tables.gauges import gauge_thickness


@pytest.mark.expected_from(
    "published", "A26: 16 ga in mild 1.52, stainless 1.59, aluminium 1.29 mm (gauge tables)"
)
def test_a26_sixteen_gauge():
    got = [gauge_thickness(16, series).value * 1000 for series in ("mild", "stainless", "aluminium")]
    assert got == pytest.approx([1.52, 1.59, 1.29], abs=0.01)


@pytest.mark.expected_from("published", "A27: ISO 9013 class 1, 2 mm sheet, 200 mm: 0.25 mm")
def test_a27_cut_deviation():
    assert cut_deviation(0.002, 0.200).value == 0.00025


@pytest.mark.expected_from("published", "A28: ISO 273 medium, M6 6.6, M8 9.0 mm")
def test_a28_clearance_holes():
    assert clearance_hole("M6").value == 0.0066
    assert clearance_hole("M8").value == 0.009
