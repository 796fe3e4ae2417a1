import pytest

from sumpwright.tables.gauges import gauge_series, gauge_thickness, gauges

# Rows of the trade's chart in millimetres: mild, galvanised, stainless, aluminium.
CHART = {
    10: (3.42, 3.51, 3.57, 2.59),
    11: (3.04, 3.13, 3.18, 2.30),
    12: (2.66, 2.75, 2.78, 2.05),
    14: (1.90, 1.99, 1.98, 1.63),
    16: (1.52, 1.61, 1.59, 1.29),
    18: (1.21, 1.31, 1.27, 1.02),
    20: (0.91, 1.01, 0.95, 0.81),
}


@pytest.mark.expected_from("published", "sheet gauge chart in millimetres, two decimals")
@pytest.mark.parametrize("gauge", CHART)
def test_chart(gauge):
    got = [
        gauge_thickness(gauge, series).value * 1000
        for series in ("mild", "galvanised", "stainless", "aluminium")
    ]
    assert got == pytest.approx(CHART[gauge], abs=0.0051)


@pytest.mark.expected_from(
    "closed form", "manufacturers' standard gauge: 16 ga is 2.5 lb/ft2 at 41.82 lb/ft2 per inch"
)
def test_mild_gauge_follows_its_definition():
    assert gauge_thickness(16, "mild").value / 0.0254 == pytest.approx(2.5 / 41.82, abs=5e-5)


@pytest.mark.expected_from("closed form", "Brown and Sharpe: 0.005 in * 92**((36 - n)/39)")
def test_aluminium_gauge_follows_its_definition():
    for gauge in gauges():
        expected = 0.005 * 92 ** ((36 - gauge) / 39)
        assert gauge_thickness(gauge, "aluminium").value / 0.0254 == pytest.approx(expected, abs=6e-5)


def test_series_and_unknown():
    assert gauge_series("steel") == "mild"
    assert gauge_series("iron") is None
    assert gauge_thickness(3, "mild") is None
