import pytest

from sumpwright.tables.cutting import (
    cut_deviation,
    cutting_practice,
    cutting_processes,
    general_tolerance,
    process_tolerance,
)

# A published reprint of ISO 9013, class 1, typed in here a second time, by rows of thickness.
CLASS_1 = {
    0.9: (0.10, 0.10, 0.20, 0.20, 0.30, 0.40),
    3.0: (0.15, 0.20, 0.25, 0.25, 0.35, 0.40),
    5.0: (0.20, 0.25, 0.25, 0.30, 0.40, 0.45),
    8.0: (0.25, 0.30, 0.30, 0.35, 0.45, 0.55),
}
MIDDLES = (5.0, 20.0, 100.0, 200.0, 500.0, 1500.0)


@pytest.mark.expected_from("published", "ISO 9013 limit deviations for nominal dimensions, class 1")
@pytest.mark.parametrize("thickness", CLASS_1)
def test_class_1(thickness):
    got = [cut_deviation(thickness / 1000, nominal / 1000).value * 1000 for nominal in MIDDLES]
    assert got == pytest.approx(CLASS_1[thickness], abs=1e-9)


@pytest.mark.expected_from(
    "published", "ISO 9013: nominal range from 10 inclusive, thickness up to 3.15 inclusive"
)
def test_range_limits():
    assert cut_deviation(0.00315, 0.010).value == pytest.approx(0.0002)
    assert cut_deviation(0.00315, 0.00999).value == pytest.approx(0.00015)
    assert cut_deviation(0.00316, 0.010).value == pytest.approx(0.00025)
    assert cut_deviation(0.008, 0.002) is None
    assert cut_deviation(0.5, 0.1) is None
    assert cut_deviation(0.002, 9.0) is None


@pytest.mark.expected_from(
    "published", "ISO 9013 class 2 (plasma): 3 mm sheet, 200 mm: 0.8 mm; 10 mm sheet, 50 mm: 1.3 mm"
)
def test_class_2():
    assert cut_deviation(0.003, 0.200, 2).value == pytest.approx(0.0008)
    assert cut_deviation(0.010, 0.050, 2).value == pytest.approx(0.0013)


@pytest.mark.expected_from(
    "property", "class 2 is never closer than class 1; deviations never shrink with size"
)
def test_classes_are_ordered():
    for t in (0.0009, 0.002, 0.004, 0.008, 0.012):
        last = 0.0
        for nominal in MIDDLES:
            one = cut_deviation(t, nominal / 1000, 1)
            two = cut_deviation(t, nominal / 1000, 2)
            assert one.value < two.value
            assert one.value >= last
            last = one.value


@pytest.mark.expected_from(
    "published", "ISO 2768-1 table 1: m 0.1 to 6, 0.2 to 30, 0.3 to 120, 0.5 to 400, 0.8, 1.2"
)
@pytest.mark.parametrize(
    ("nominal", "medium"),
    [(6, 0.1), (6.01, 0.2), (30, 0.2), (120, 0.3), (400, 0.5), (1000, 0.8), (2000, 1.2), (0.5, 0.1)],
)
def test_general_tolerance_medium(nominal, medium):
    assert general_tolerance(nominal / 1000).value * 1000 == pytest.approx(medium)


@pytest.mark.expected_from("published", "ISO 2768-1 table 1, grades f and c above 30 mm")
def test_general_tolerance_other_grades():
    fine = [general_tolerance(n / 1000, "f").value * 1000 for n in (3, 30, 120, 400, 1000, 2000)]
    coarse = [general_tolerance(n / 1000, "c").value * 1000 for n in (120, 400, 1000, 2000)]
    assert fine == pytest.approx([0.05, 0.1, 0.15, 0.2, 0.3, 0.5])
    assert coarse == pytest.approx([0.8, 1.2, 2, 3])
    assert general_tolerance(0.0001) is None
    assert general_tolerance(3.0, "f") is None
    assert general_tolerance(9.0) is None


@pytest.mark.expected_from("closed form", "hole to edge one and a half thicknesses: 4.5 mm at 3 mm")
def test_processes():
    for process in cutting_processes():
        practice = cutting_practice(process, 0.003)
        assert 0.0 < practice.possible_hole <= practice.least_hole
        assert process_tolerance(practice, 0.003, 0.4).value > 0.0
    assert cutting_practice("Fibre laser", 0.003).least_edge == pytest.approx(0.0045)
    assert cutting_practice("Fibre laser", 0.012).least_edge == pytest.approx(0.005)
    assert cutting_practice("teeth", 0.003) is None
