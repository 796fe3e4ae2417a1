"""The readings file."""

from __future__ import annotations

import pytest

from sumpwright.job import read_job
from sumpwright.job.readings import Readings, ReadingSetting, read_readings
from tests.job.changes import change, lay

TOOLS = {"caliper": 4e-5, "straight edge": 3e-5, "tape": 3e-4, "rule": 2e-4, "readout": 1e-5, "by eye": 1e-3}
HEAD = "kind, a, b, reading, with, u, note\n"


def take(text: str, bare: str | None = None, holes: tuple[str, ...] = ("h1", "h2", "h3")) -> Readings:
    return read_readings(text, "rail.csv", ReadingSetting(holes, bare, TOOLS))  # type: ignore[arg-type]


@pytest.mark.expected_from("closed form", "55.01 mm, 2 1/8 in and 69.5 mm in metres")
def test_readings_as_a_shop_writes_them() -> None:
    found = take(
        HEAD
        + "# with the worn caliper\n\n"
        + "inside, h1, h2, 55.01 mm, caliper, 0.06 mm, worn\n"
        + 'Outside, h2, h3, 2 1/8", , , "far, edge"\n'
        + "in_line, h2, h1 h3, 0 mm\n"
        + "diameter, h1, , 6.8 mm\n"
        + "center, h1, h3, 69.5 mm, tape\n"
    )
    assert found.faults == ()
    inside, outside, line, diameter, centre = found.readings
    assert (inside.value, inside.u, inside.u_is_default, inside.line) == (0.05501, 6e-5, False, 4)
    assert (outside.value, outside.u, outside.u_is_default, outside.note) == (
        0.053975,
        4e-5,
        True,
        "far, edge",
    )
    assert (line.a, line.b, line.with_hole, line.value, line.tool) == ("h1", "h3", "h2", 0.0, "straight edge")
    assert (diameter.a, diameter.b, diameter.kind) == ("h1", None, "diameter")
    assert (centre.kind, centre.tool, centre.u) == ("centre", "tape", 3e-4)


@pytest.mark.expected_from("closed form", "2.165 in = 54.991 mm")
def test_bare_figures_take_the_unit_the_job_names() -> None:
    text = HEAD + "inside, h1, h2, 2.165, caliper, 0.002,\n"
    (reading,) = take(text, "in").readings
    assert reading.value == pytest.approx(0.054991, rel=1e-12)
    assert reading.u == pytest.approx(5.08e-5, rel=1e-12)
    (fault, other) = take(text).faults
    assert "a unit is missing" in fault.rule
    assert "readings_in" in fault.rule
    assert other.key == "u"


@pytest.mark.expected_from("closed form", "55 mm in metres")
def test_columns_may_stand_in_any_order() -> None:
    found = take("a,b,reading,kind\nh1,h2,55 mm,inside\n")
    assert found.faults == ()
    assert found.readings[0].value == 0.055


@pytest.mark.parametrize(
    ("line", "key", "says"),
    [
        ("inside, h1, h9, 55 mm", "b", "no hole of this name"),
        ("inside, , h2, 55 mm", "a", "a hole is missing"),
        ("inside, h1, h1, 55 mm", "b", "against itself"),
        ("inside, h1, , 55 mm", "b", "one other hole"),
        ("inside, h1, h2 h3, 55 mm", "b", "one other hole"),
        ("in_line, h1, h2, 0 mm", "b", "two holes"),
        ("in_line, h1, h2 h2, 0 mm", "b", "against itself"),
        ("in_line, h1, h2 h3, 200 mm", "reading", "too big"),
        ("diameter, h1, h2, 6.8 mm", "b", "no other hole"),
        ("inside, h1, h2, ", "reading", "figure is missing"),
        ("inside, h1, h2, -55 mm", "reading", "too small"),
        ("inside, h1, h2, 55 m", "reading", "too big"),
        ("inside, h1, h2, nan mm", "reading", "measured"),
        ("inside, h1, h2, 55 L", "reading", "a volume"),
        ('inside, h1, h2, "55,01 mm"', "reading", "comma"),
        ("inside, h1, h2, 55,01 mm, caliper, ,", "reading", "a comma inside the number"),
        ("inside, h1, h2, 55,01, caliper, ,", "reading", "a comma inside the number"),
        ("inside, h1, h2, 55 mm, calliper", "with", "did you mean 'caliper'"),
        ("inside, h1, h2, 55 mm, caliper, 0 mm", "u", "too small"),
        ("inside, h1, h2, 55 mm, caliper, 5 cm", "u", "too big"),
        ("insde, h1, h2, 55 mm", "kind", "did you mean 'inside'"),
        ("scan, h1, h2, 10 mm", "kind", "not read yet"),
        ("inside, h1, h2, 55 mm, caliper, , far, too", "", "more cells than columns"),
        ('inside, h1, h2, 55 mm, caliper, , "open', "", "a quote is still open"),
    ],
)
def test_a_slip_in_a_reading(line: str, key: str, says: str) -> None:
    found = take(HEAD + "inside, h1, h2, 55 mm\n" + line + "\n")
    assert len(found.readings) == 1
    (fault,) = found.faults
    assert (fault.line, fault.key) == (3, key)
    assert says in fault.rule


def test_all_slips_of_a_line_are_told() -> None:
    found = take(HEAD + "insde, h9, h8, 55, tap, x\n")
    assert {fault.key for fault in found.faults} == {"kind", "a", "reading", "with", "u"}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "column names is missing"),
        ("# nothing\n", "column names is missing"),
        (HEAD, "no reading"),
        ("kind; a; b; reading\ninside; h1; h2; 55,0\n", "semicolons"),
        ("kind, a, b, readding\n", "did you mean 'reading'"),
        ("kind, a, b\n", "'reading' is missing"),
        ("kind, a, b, reading, a\n", "twice"),
        ("inside, h1, h2, 55 mm\n", "no column of this name"),
    ],
)
def test_a_file_without_its_head(text: str, says: str) -> None:
    found = take(text)
    assert found.readings == ()
    assert any(says in fault.rule for fault in found.faults)


def test_a_quote_in_a_remark_swallows_nothing() -> None:
    found = take(HEAD + '# "the long one\ninside, h1, h2, 55 mm\n')
    assert found.faults == ()
    assert len(found.readings) == 1


@pytest.mark.expected_from("closed form", "millimetres and inches in metres")
def test_every_other_way_of_measuring() -> None:
    setting = ReadingSetting(("h1", "h2", "h3"), "mm", TOOLS, ("main", "front arch"))  # type: ignore[arg-type]
    found = read_readings(
        HEAD
        + "offset, h1, front bar, 12.3\n"
        + "offset near, h2, front  bar, 10.1, caliper\n"
        + "offset_far, h3, front bar, 0.5 in, rule\n"
        + "on one circle, h1, big end, 0\n"
        + "square, h2, h1 h3, -0.2\n"
        + "mirrored, h1, h3, 0\n"
        + "readout, h1, , 12.30 -45.60\n"
        + "readout, h2, second, 1 in; 2 in\n"
        + "readout, h3, second, 10.00 20.00 mm\n"
        + "height, front arch, , -12.05\n"
        + "height, h3, , 0.10\n"
        + "chord, front arch, , 80\n"
        + "rise, front arch, , 18.8\n",
        "rail.csv",
        setting,
    )
    assert found.faults == ()
    offset, near, far, circle, square, middle, across, x, y, *rest = found.readings
    assert (offset.kind, offset.a, offset.b, offset.group, offset.part) == (
        "offset",
        "h1",
        None,
        "front bar",
        "",
    )
    assert (near.group, near.part, near.value) == ("front bar", "near", pytest.approx(0.0101))
    assert (far.kind, far.part, far.value, far.tool) == ("offset", "far", pytest.approx(0.0127), "rule")
    assert (circle.kind, circle.group, circle.tool) == ("on_one_circle", "big end", "by eye")
    assert (square.a, square.b, square.with_hole, square.value) == ("h2", "h1", "h3", pytest.approx(-2e-4))
    assert [(r.a, r.b, r.part, r.line) for r in (middle, across)] == [
        ("h1", "h3", "middle", 7),
        ("h1", "h3", "across", 7),
    ]
    assert [(r.part, r.value, r.group, r.tool) for r in (x, y)] == [
        ("x", pytest.approx(0.0123), "", "readout"),
        ("y", pytest.approx(-0.0456), "", "readout"),
    ]
    second_x, second_y, third_x, third_y, arch, hole, chord, rise = rest
    assert (second_x.value, second_y.value) == (pytest.approx(0.0254), pytest.approx(0.0508))
    assert (third_x.value, third_y.value) == (pytest.approx(0.01), pytest.approx(0.02))
    assert (arch.a, arch.value, hole.a, chord.kind, rise.value) == (
        "front arch",
        pytest.approx(-0.01205),
        "h3",
        "chord",
        pytest.approx(0.0188),
    )


@pytest.mark.parametrize(
    ("line", "key", "says"),
    [
        ("offset, h1, , 12 mm", "b", "give the straight edge a name"),
        ("on_one_circle, h1, , 0 mm", "b", "give the circle a name"),
        ("readout, h1, , 12 mm", "reading", "two figures are wanted"),
        ("readout, h1, , 12 mm 4 mm 5 mm", "reading", "two figures are wanted"),
        ("readout, h1, , 12 mm nan mm", "reading", ""),
        ("square, h2, h1, 0 mm", "b", "two holes"),
        ("mirrored, h1, h1, 0 mm", "b", "against itself"),
        ("rise, front ark, , 18 mm", "a", "did you mean 'front arch'"),
        ("height, h9, , 0 mm", "a", "no hole or land"),
        ("offset, h1, bar, -3 mm", "reading", "too small"),
    ],
)
def test_a_slip_in_the_other_ways(line: str, key: str, says: str) -> None:
    setting = ReadingSetting(("h1", "h2", "h3"), None, TOOLS, ("main", "front arch"))
    found = read_readings(HEAD + line + "\n", "rail.csv", setting)
    assert found.readings == ()
    assert [fault.key for fault in found.faults] == [key]
    assert says in found.faults[0].rule


@pytest.mark.expected_from("closed form", "35 degC in kelvin")
def test_a_tool_may_be_warmer_than_the_block(tmp_path) -> None:
    folder = lay(tmp_path)
    change(folder, "[rail]\n", '[rail]\ntool_temperature = "35 degC"\n')
    assert read_job(folder).rail.tool_temperature == pytest.approx(308.15)
    change(folder, 'tool_temperature = "35 degC"\n', "")
    job = read_job(folder)
    assert job.rail.tool_temperature == job.rail.temperature


@pytest.mark.expected_from("property", "the message is in the unit the readings are said to be in")
def test_millimetres_in_a_file_said_to_be_in_inches_are_told_in_inches() -> None:
    (fault,) = take(HEAD + "inside, h1, h2, 211.16, caliper, ,\n", "in").faults
    assert fault.good == "2.5 in"
    assert fault.allowed.endswith(" in")
    assert 'readings_in of the job file says "in"' in fault.rule


def test_a_figure_with_its_own_unit_is_not_blamed_on_readings_in() -> None:
    (fault,) = take(HEAD + "inside, h1, h2, 211.16 in, caliper, ,\n", "in").faults
    assert "readings_in" not in fault.rule
