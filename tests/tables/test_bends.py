import pytest

from sumpwright.tables.bends import bend_temper, k_factor, k_factor_elsewhere, least_bend_radius


@pytest.mark.expected_from("published", "table of K for air bending by radius over thickness")
@pytest.mark.parametrize(
    ("family", "radius", "k"),
    [("aluminium", 1.0, 0.33), ("aluminium", 3.0, 0.40), ("aluminium", 9.0, 0.50),
     ("steel", 1.0, 0.38), ("steel", 4.0, 0.43), ("stainless", 1.0, 0.40), ("stainless", 5.0, 0.45)],
)  # fmt: skip
def test_k(family, radius, k):
    assert k_factor(family, radius / 1000, 0.002).value == k


@pytest.mark.expected_from(
    "published", "the two tables of K differ by up to 0.1: 0.31 mm a right-angle bend of 2 mm"
)
def test_the_tables_differ_by_what_is_said():
    import math

    low = k_factor("aluminium", 0.001, 0.002).value
    high = k_factor_elsewhere("aluminium").high
    assert abs(high - low) <= 0.1
    assert math.pi / 2 * 0.1 * 2.0 == pytest.approx(0.314, abs=1e-3)


@pytest.mark.expected_from("published", "least radius for 90 degrees across the grain")
@pytest.mark.parametrize(
    ("material", "t", "multiple"),
    [("5052-H32", 0.8, 0), ("5052-H32", 1.6, 1), ("5052-H32", 3.0, 1.5), ("6061-T6", 6.4, 3.5),
     ("6061-T6", 2.0, 2.5), ("mild", 3.0, 1)],
)  # fmt: skip
def test_least_radius(material, t, multiple):
    assert least_bend_radius(material, t / 1000).value * 1000 == pytest.approx(multiple * t)


def test_outside_the_tables():
    assert least_bend_radius("mild", 0.005) is None
    assert least_bend_radius("6061-T6", 0.008) is None
    assert least_bend_radius("grey iron", 0.002) is None
    assert k_factor("iron", 0.002, 0.002) is None
    assert k_factor("steel", 0.002, 0.0) is None
    assert bend_temper("iron") is None
