import pytest

from sumpwright.tables.fasteners import (
    across_flats,
    clearance_hole,
    dowel_fit,
    find_thread,
    plain_washer,
    threads,
)

INCH = 0.0254


@pytest.mark.expected_from("published", "ISO 273:1979, fine/medium/coarse columns")
@pytest.mark.parametrize(
    ("size", "fine", "medium", "coarse"),
    [("M5", 5.3, 5.5, 5.8), ("M6", 6.4, 6.6, 7.0), ("M7", 7.4, 7.6, 8.0), ("M8", 8.4, 9.0, 10.0),
     ("M10", 10.5, 11.0, 12.0), ("M12", 13.0, 13.5, 14.5), ("M14", 15.0, 15.5, 16.5)],
)  # fmt: skip
def test_clearance_holes_of_metric_bolts(size, fine, medium, coarse):
    got = [clearance_hole(size, fit) for fit in ("fine", "medium", "coarse")]
    assert [hole.value * 1000 for hole in got] == pytest.approx([fine, medium, coarse], abs=1e-9)
    assert {hole.source for hole in got} == {"iso-273"}


@pytest.mark.expected_from(
    "published",
    "ASME B18.2.8-1999 (R2017) table 1a: loose column 0.297, 0.359, 0.422, 0.484, 0.609 in for 1/4 to 1/2",
)
@pytest.mark.parametrize(
    ("size", "loose"), [("1/4", 0.297), ("5/16", 0.359), ("3/8", 0.422), ("7/16", 0.484), ("1/2", 0.609)]
)
def test_loose_holes_of_inch_bolts(size, loose):
    assert clearance_hole(size, "coarse").value / INCH == pytest.approx(loose, abs=1e-9)


@pytest.mark.expected_from(
    "published", "ASME B18.2.8 table 1a drills: 1/4 9/32, 5/16 11/32, 3/8 13/32 in normal fit"
)
@pytest.mark.parametrize(("size", "drill"), [("1/4", 9 / 32), ("5/16", 11 / 32), ("3/8", 13 / 32)])
def test_normal_holes_of_inch_bolts_are_their_drills(size, drill):
    # The standard prints the drill to three decimals.
    assert clearance_hole(size, "medium").value / INCH == pytest.approx(drill, abs=5.1e-4)


@pytest.mark.expected_from("property", "a hole is wider than its bolt, and each series wider than the last")
def test_every_thread_has_a_hole_washer_and_order():
    for thread in threads():
        holes = [clearance_hole(thread.size, fit).value for fit in ("fine", "medium", "coarse")]
        assert thread.diameter < holes[0] < holes[1] < holes[2]
        washer = plain_washer(thread.size)
        assert thread.diameter < washer.inside < washer.outside
        head = across_flats(thread.size)
        assert head is None or thread.diameter < head.value


@pytest.mark.expected_from("published", "ISO 261 coarse pitches; ASME B1.1 threads per inch")
@pytest.mark.parametrize(
    ("text", "name", "diameter", "pitch"),
    [
        ("M6", "M6", 6.0, 1.0),
        ("m8 x 1.25", "M8", 8.0, 1.25),
        ("M8×1", "M8x1", 8.0, 1.0),
        ("M10x1.25", "M10x1.25", 10.0, 1.25),
        ("M12", "M12", 12.0, 1.75),
        ("5/16-18", "5/16-18", 7.9375, 25.4 / 18),
        ("3/8-16 UNC", "3/8-16", 9.525, 25.4 / 16),
        ("1/4 in - 28 UNF", "1/4-28", 6.35, 25.4 / 28),
        ("#10-24", "#10-24", 4.826, 25.4 / 24),
        ("No. 10-32", "#10-32", 4.826, 25.4 / 32),
    ],
)
def test_threads_as_a_fabricator_writes_them(text, name, diameter, pitch):
    thread = find_thread(text)
    assert thread.name == name
    assert thread.diameter * 1000 == pytest.approx(diameter, abs=1e-9)
    assert thread.pitch * 1000 == pytest.approx(pitch, abs=1e-9)


@pytest.mark.parametrize("text", ["", "M", "M8x1.1", "M9", "5/16", "5/16-19", "eight", "M6;M8", "M-6"])
def test_unknown_threads_are_none(text):
    assert find_thread(text) is None


@pytest.mark.expected_from("published", "ISO 7089 (M6: 6.4 x 12 x 1.6); ASME B18.21.1-2009 table 1a (5/16 N)")
def test_washers():
    metric, inch = plain_washer("M6"), plain_washer("5/16")
    assert (metric.inside, metric.outside, metric.thickness) == pytest.approx((0.0064, 0.012, 0.0016))
    assert (inch.inside / INCH, inch.outside / INCH) == pytest.approx((0.344, 0.688))
    assert plain_washer("M99") is None


@pytest.mark.expected_from("published", "ISO 4017: M6 10 mm, M8 13 mm; ASME B18.2.1: 5/16 in 1/2 in")
def test_across_flats():
    assert across_flats("M6").value == pytest.approx(0.010)
    assert across_flats("M8").value == pytest.approx(0.013)
    assert across_flats("5/16").value == pytest.approx(0.0127)


@pytest.mark.expected_from("published", "ISO 286: m6 upper deviation 15 um over 6 to 10 mm")
def test_dowel_slips_through_its_hole():
    fit = dowel_fit(0.008)
    assert fit.largest_pin.value == pytest.approx(0.008015)
    assert fit.hole.value > fit.largest_pin.value
    assert dowel_fit(0.050) is None
