"""What is wrong in a file is told with its line, its key, what was read, and a way out."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from sumpwright.job import JobError, read_job
from tests.job.changes import change, faults_of, lay, line_of

# (old text, new text, key, words of the rule)
SPOILED = [
    (
        'kind = "rear seal"',
        'kind = "rear seal"\nshare = "20 %"',
        'ports."rear seal".share',
        "only a return brings oil back",
    ),
    (
        'kind = "return"',
        'kind = "return"\nshare = "70 %"\nat = ["210 mm", "-190 mm", "25 mm"]\n\n[[ports]]\nname = "other"\n'
        'kind = "return"\nshare = "60 %"',
        "ports.other.share",
        "together carry 130%",
    ),
    ('depth = "60 mm"', 'depth = "60"', "lumps.tray.depth", "a unit is missing"),
    ('depth = "60 mm"', "depth = 60", "lumps.tray.depth", "stands in quotes"),
    ('depth = "60 mm"', "depth = nan", "lumps.tray.depth", "cannot be measured|number that can be measured"),
    ('depth = "60 mm"', "depth = inf", "lumps.tray.depth", "number that can be measured"),
    ('depth = "60 mm"', 'depth = "nan mm"', "lumps.tray.depth", "number that can be measured"),
    ('depth = "60 mm"', 'depth = "-60 mm"', "lumps.tray.depth", "too small"),
    ('depth = "60 mm"', 'depth = "60 m"', "lumps.tray.depth", "too big"),
    ('depth = "60 mm"', 'depth = "60 L"', "lumps.tray.depth", "a volume"),
    ('depth = "60 mm"', 'depth = "60,5 mm"', "lumps.tray.depth", "comma"),
    ('depth = "60 mm"', "depth = true", "lumps.tray.depth", "quantity in quotes"),
    ('depth = "60 mm"', 'deepth = "60 mm"', "lumps.tray.deepth", "did you mean 'depth'"),
    ('depth = "60 mm"', "", "lumps.tray.depth", "depth is missing"),
    ('does = "adds"', 'does = "add"', "lumps.tray.does", "did you mean 'adds'"),
    ('sheet = "3 mm"', 'sheet = "17 ga"', "pan.sheet", "not in the table"),
    ('sheet = "3 mm"', 'sheet = "0.1 mm"', "pan.sheet", "too small"),
    ('fill = "4.8 L"', 'fill = "1.2 gal"', "oil.fill", "US or the imperial"),
    ('grade = "5W-30"', 'grade = "5W-31"', "oil.grade", "grade"),
    ('lean_right = "15 deg"', 'lean_right = "-15 deg"', "engine.lean_right", "too small"),
    ('lean_right = "15 deg"', 'lean_right = "15 deg"\nlean_left = "2 deg"', "engine.lean_left", "both given"),
    ('second = "h8"', 'second = "h1"', "rail.second", "datum hole itself"),
    ('second = "h8"', 'second = "h88"', "rail.second", "no hole of this name"),
    ('side_hole = "h11"', 'side_hole = "h8"', "rail.side_hole", "lies on the line"),
    ('side = "left"', "", "rail.side", "missing"),
    ('seen_from = "below"', "", "rail.seen_from", "missing"),
    ('ring_runs = "anticlockwise"', "", "rail.ring_runs", "missing"),
    ('"h19", "h20"]   ', '"h19", "h20", "h19"]   ', "rail.ring.21", "twice"),
    ('holes = ["h5", "h14"]', 'holes = ["h5"]', "rail.fasteners", "no fastener is given for h14"),
    ('holes = ["h5", "h14"]', 'holes = ["h5", "h14", "h1"]', "rail.fasteners.2.holes.3", "group 1 already"),
    ('holes = ["h5", "h14"]', 'holes = ["h5", "h14", "h41"]', "rail.fasteners.2.holes.3", "did you mean 'h4"),
    ('thread = "M6"', 'thread = "M6.5"', "rail.fasteners.1.thread", "not in the tables"),
    ('thread = "M6"', "", "rail.fasteners.1.thread", "needs its thread"),
    (
        '\ndiameter = "8 mm"',
        '\ndiameter = "8 mm"\nthread = "M8"',
        "rail.fasteners.3.thread",
        "a dowel has none",
    ),
    ('\ndiameter = "8 mm"', "", "rail.fasteners.3.diameter", "a dowel needs its diameter"),
    ('radius = "52 mm"', "", 'rail.lands."front arch".radius', "an arch needs its radius"),
    ('to_hole = "h10"', "", 'rail.lands."front arch".to_hole', "needs both ends"),
    ('name = "front arch"', 'name = "main"', "rail.lands.main.name", "called so already"),
    ('block = "grey iron"', 'block = "gray iran"', "rail.block", "did you mean 'grey iron'"),
    ('block = "grey iron"', 'block = "mild"', "rail.block", "not made of it"),
    ('material = "5052-H32"', 'material = "5025"', "pan.material", "not in the table"),
    ('material = "5052-H32"', 'material = "grey iron"', "pan.material", "not made of it"),
    ('hot = "110 degC"', 'hot = "20 degC"', "rail.hot", "warmer"),
    ('readings = "rail.csv"', 'readings = "../rail.csv"', "rail.readings", "only its name"),
    (
        'rear = "190 mm", front = "390 mm"',
        'rear = "390 mm", front = "190 mm"',
        "lumps.sump.rectangle.front",
        "ahead",
    ),
    (
        'floor = "level with ground"',
        'floor = "parallel to rail"',
        "lumps.sump.depth_at",
        "same depth everywhere",
    ),
    ('depth_at = ["300 mm", "-100 mm"]', "", "lumps.sump.depth_at", "say where it has its depth"),
    ('depth_at = ["300 mm", "-100 mm"]', 'depth_at = ["300 mm"]', "lumps.sump.depth_at", "too short"),
    ('["436 mm", "-168 mm"]', '["16 mm", "-198 mm"]', "lumps.tray.outline", "crosses or touches itself"),
    ('["436 mm", "-168 mm"]', '["436 mm", "+10 mm"]', "lumps.tray.outline", "crosses or touches itself"),
    ('name = "kick-out"', 'name = "sump"', "lumps.sump.name", "called so already"),
    ('top_below = "65 mm"', 'top_below = "500 mm"', "lumps.kick-out.depth", "above the lump's own top"),
    ('at = ["245 mm", "-150 mm"]', 'at = ["245 mm", "150 mm"]', "drain.at", "outside every lump"),
    (
        'towards = ["310 mm", "-110 mm", "-90 mm"]',
        'towards = ["330 mm", "-190 mm", "80 mm"]',
        "dipstick.towards",
        "shoulder",
    ),
    ('"tray" = "on the engine"', '"trey" = "on the engine"', "old_pan.moved.trey", "not among the things"),
    ('carries = ["pickup", "tray"', 'carries = ["pickup", "pickup", "tray"', "old_pan.carries.2", "twice"),
    (
        'carries = ["pickup", "tray"',
        'carries = ["pick up", "tray"',
        "old_pan.carries.1",
        "did you mean 'pickup'",
    ),
    ("[old_pan]", "[oldpan]", "oldpan", "did you mean 'old_pan'"),
    ("[drain]", "[record]\n[drain]", "record", "not read yet"),
    ("[pan]", "[[pan]]", "pan", "a section is wanted"),
    ('units = "mm"', "units = 1", "job.units", "a word in quotes"),
    ('name = "Hill-climb four, leaned 15 degrees"', 'name = ""', "job.name", "1 to 60 letters"),
    ('name = "Hill-climb four, leaned 15 degrees"', 'name = "a\\u0007b"', "job.name", "1 to 60 letters"),
    ('delivers = "54 L/min"', "", "pump.delivers", "one of the two is missing"),
]


@pytest.mark.parametrize(("old", "new", "key", "rule"), SPOILED)
def test_one_slip_is_one_fault_at_its_place(tmp_path: Path, old: str, new: str, key: str, rule: str) -> None:
    folder = lay(tmp_path)
    line = line_of(folder, old.strip().split("\n")[0])
    change(folder, old, new)
    faults = faults_of(folder)
    assert len(faults) == 1, [fault.text() for fault in faults]
    (fault,) = faults
    assert fault.file == "job.toml"
    assert fault.key == key
    assert any(part in fault.rule for part in rule.split("|"))
    if new and "\n" not in new and "missing" not in rule and "no fastener" not in rule:
        assert fault.line is not None
        assert abs(fault.line - line) <= 8  # the key itself, or the head of its section
    assert "Traceback" not in fault.text()


def test_the_line_is_that_of_the_key(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, '["436 mm", "-46 mm"]', '["436 mm", "-46"]')
    (fault,) = faults_of(folder)
    assert fault.line == line_of(folder, '"-46"]')
    assert fault.key == "lumps.tray.outline.4.2"
    assert fault.read == '"-46"'


def test_limits_are_told_in_the_unit_that_was_written(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'sheet = "3 mm"', 'sheet = "2 in"')
    change(folder, 'flange = "10 mm"', 'flange = "900 mm"')
    faults = {fault.key: fault for fault in faults_of(folder)}
    assert faults["pan.sheet"].allowed == "between 0.0197 in and 0.5 in"
    assert faults["pan.sheet"].good == 'sheet = "3 mm"'
    assert faults["pan.flange"].allowed == "between 2 mm and 30 mm"


def test_an_inch_shop_gets_inch_examples(tmp_path: Path) -> None:
    folder = lay(tmp_path, "slope-chipper")
    change(folder, 'sheet = "14 ga"', 'sheet = "14"')
    (fault,) = faults_of(folder)
    assert fault.good == 'sheet = "1/8 in"'
    assert fault.allowed == "between 0.0197 in and 0.5 in"


def test_limits_themselves_are_allowed(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'flange = "10 mm"', 'flange = "2 mm"')
    change(folder, 'sealing_land = "5 mm"', 'sealing_land = "40 mm"')
    assert faults_of(folder) == ()


def test_all_files_are_told_together(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'fill = "4.8 L"', 'fill = "four litres"')
    change(folder, 'currency = "EUR"', "currency = 7", "shop.toml")
    change(folder, "inside, h1, h2,", "inside, h1, h99,", "rail.csv")
    change(folder, "inside, h2, h3,", "insight, h2, h3,", "rail.csv")
    with pytest.raises(JobError) as caught:
        read_job(folder)
    assert [(fault.file, fault.key) for fault in caught.value.faults] == [
        ("job.toml", "oil.fill"),
        ("shop.toml", "shop.currency"),
        ("rail.csv", "b"),
        ("rail.csv", "kind"),
    ]
    text = str(caught.value)
    assert text.startswith("4 things have to be put right")
    assert "rail.csv, line" in text


def test_slips_within_one_section_are_told_together(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'washer = "1.6 mm"', 'washer = "1.6"')
    change(folder, 'sheet = "3 mm"', 'sheet = "thin"')
    change(folder, 'flange_outside = "12.5 mm"', 'flange_outsize = "12.5 mm"')
    assert {fault.key for fault in faults_of(folder)} == {"pan.washer", "pan.sheet", "pan.flange_outsize"}


def test_the_same_slip_over_and_over_is_told_once(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'readings_in = "mm"', "")
    with pytest.raises(JobError) as caught:
        read_job(folder)
    assert len(caught.value.faults) > 50  # each is a fault ...
    text = str(caught.value)
    assert len(text.split("\n")) < 30  # ... but nobody reads fifty of them
    assert "the same on lines 6-93" in text
    assert 'readings_in = "mm"' in text


def test_a_faulty_ring_does_not_spoil_the_readings(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'datum = "h1"', 'datum = "h1x"')
    change(folder, "inside, h1, h2,", "inside, h1, h99,", "rail.csv")
    assert {(fault.file, fault.key) for fault in faults_of(folder)} == {
        ("job.toml", "rail.datum"),
        ("rail.csv", "b"),
    }


def test_pressure_and_load_do_not_go_into_the_new_pan(tmp_path: Path) -> None:
    folder = lay(tmp_path, "slope-chipper-adapter")
    change(folder, '"pressure passage" = "adapter"', '"pressure passage" = "new pan"')
    (fault,) = faults_of(folder)
    assert fault.key == "old_pan.moved.pressure passage"
    assert "oil under pressure cannot go there" in fault.rule
    assert fault.line == line_of(folder, "moved =")


def test_no_number_that_is_none_gets_past(tmp_path: Path) -> None:
    for value in ("nan", "inf", "-inf", '"nan"', '"inf mm"', '"1e400 mm"'):
        for place in ('depth = "60 mm"', 'length = "212 mm"', 'seam_overlap = "0 %"', '["16 mm", "-198 mm"]'):
            folder = lay(tmp_path / f"{abs(hash((value, place)))}")
            new = f"[{value}, {value}]" if place.startswith("[") else f"{place.split(' = ')[0]} = {value}"
            change(folder, place, new)
            assert faults_of(folder), (value, place)


def test_an_outline_may_go_either_way_round(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    before = read_job(folder).body.lumps[0].outline
    text = (folder / "job.toml").read_text(encoding="utf-8")
    start, end = text.index('    ["16 mm", "-198 mm"]'), text.index('    ["16 mm", "-16 mm"],')
    lines = text[start:end].rstrip("\n").split("\n")
    (folder / "job.toml").write_text(
        text[:start] + "\n".join(reversed(lines)) + "\n" + text[end:], encoding="utf-8"
    )
    after = read_job(folder).body.lumps[0].outline
    assert {tuple(point) for point in after} == {tuple(point) for point in before}
    x, y = after.T
    assert float(x @ [*y[1:], y[0]] - y @ [*x[1:], x[0]]) > 0.0


def test_text_of_a_fault_is_short_and_printable(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'grade = "5W-30"', 'grade = "' + "\\u001b[31m" + "x" * 3000 + '"')
    (fault,) = faults_of(folder)
    assert len(fault.read) <= 60
    assert fault.text().replace("\n", "").isprintable()


@pytest.mark.expected_from("closed form", "the printed range read back lies in the range")
def test_printed_ends_of_ranges_are_allowed() -> None:
    from sumpwright.job.fields import Asked, is_within, range_words
    from sumpwright.job.sections import LISTED, SINGLE
    from sumpwright.quantities.text import read as read_quantity
    from sumpwright.quantities.text import unit, unit_names

    checked = 0
    for model in (*SINGLE.values(), *LISTED.values()):
        for field in model.model_fields.values():
            for rule in field.metadata:
                if not isinstance(rule, Asked):
                    continue
                assert is_within(read_quantity(rule.good, rule.kind).value, rule.least, rule.most)
                assert is_within(read_quantity(rule.good_inch, rule.kind).value, rule.least, rule.most)
                for name in unit_names(rule.kind):
                    words = range_words(rule.least, rule.most, unit(rule.kind, name))
                    low, high = words.removeprefix("between ").split(" and ")
                    for end in (low, high):
                        value = read_quantity(end, rule.kind).value
                        assert math.isfinite(value)
                        assert is_within(value, rule.least, rule.most), (words, rule)
                        checked += 1
    assert checked > 100


@pytest.mark.parametrize("old", ['name = "tray"', 'name = "head drain, right"', 'name = "tube to pump"'])
def test_a_name_with_braces_is_refused_where_it_stands(tmp_path: Path, old: str) -> None:
    folder = lay(tmp_path)
    change(folder, old, 'name = "{0} pan"')
    assert any("no braces" in fault.rule and fault.line > 0 for fault in faults_of(folder))
