"""The shop file, and what stands in without one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sumpwright.job import read_job
from tests.job.changes import change, faults_of, lay, line_of


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ('price = "6.50 EUR/kg"', 'price = "6.50 USD/kg"', "stock.1.price", "prices are in EUR"),
        ('price = "6.50 EUR/kg"', 'price = "6,50 EUR/kg"', "stock.1.price", "comma"),
        ('price = "6.50 EUR/kg"', "price = 6.5", "stock.1.price", "price in quotes"),
        ('price = "6.50 EUR/kg"', 'price = "6.50 EUR/m"', "stock.1.price", "unit of mass"),
        ('material = "mild"', 'material = "miled"', "stock.3.material", "did you mean 'mild'"),
        ('thickness = "3 mm"', 'thickness = "17 ga"', "stock.1.thickness", "not in the table"),
        ('size = ["1000 mm", "500 mm"]', 'size = ["1000 mm"]', "stock.2.size", "too short"),
        ('process = "fibre laser"', 'process = "lazer"', "cutting.process", "not known"),
        ('least_web = "1.5 t"', 'least_web = "1.5"', "cutting.least_web", "unit is missing"),
        ('least_web = "1.5 t"', 'least_web = "99 t"', "cutting.least_web", "out of range"),
        ('least_web = "1.5 t"', 'kerf = "0.2 mm"', "cutting.kerf", "where the shop cuts itself"),
        ('caliper = "0.04 mm"', 'caliper = "4 cm"', "measuring.caliper", "too big"),
        (
            'caliper = "0.04 mm"',
            'placeholders = ["calipre"]',
            "measuring.placeholders.1",
            "did you mean 'caliper'",
        ),
        ("[bolts]", "[boltz]", "boltz", "did you mean 'bolts'"),
        ("[bolts]", "[printer]\n[bolts]", "printer", "not read yet"),
        ("[[stock]]", "[stock]", "", "second time"),
    ],
)
def test_a_slip_in_the_shop_file(tmp_path: Path, old: str, new: str, key: str, says: str) -> None:
    folder = lay(tmp_path)
    line = line_of(folder, old, "shop.toml")
    change(folder, old, new, "shop.toml")
    (fault,) = faults_of(folder)
    assert (fault.file, fault.key) == ("shop.toml", key)
    assert says in fault.rule
    assert fault.line is not None
    assert says == "second time" or abs(fault.line - line) <= 1


@pytest.mark.expected_from(
    "published", "ISO 9013 class 1 through tables.cutting: 3 mm and 10 mm, 315 to 1000 mm"
)
def test_without_a_shop_file_shipped_figures_stand_in_and_say_so(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    (folder / "shop.toml").unlink()
    job = read_job(folder)
    told = {item.key for item in job.assumptions}
    assert {"shop.toml", "measuring.caliper", "cutting.process", "bolts.metric_lengths"} <= told
    assert dict(job.shop.tool_u)["caliper"] == 4e-5
    assert job.kit.cutter.tolerance == 0.00035
    assert job.shop.stock == ()


@pytest.mark.expected_from("closed form", "1 in = 25.4 mm: 0.0015 in = 0.0381 mm")
def test_the_shops_own_figures_come_first(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'caliper = "0.04 mm"', 'caliper = "0.0015 in"', "shop.toml")
    change(folder, "[cutting]\n", '[cutting]\ntolerance = "0.1 mm"\n', "shop.toml")
    change(folder, 'least_hole = "0.7 t"', 'least_hole = "2.5 mm"', "shop.toml")
    job = read_job(folder)
    assert dict(job.shop.tool_u)["caliper"] == pytest.approx(3.81e-5, rel=1e-12)
    assert next(r.u for r in job.rail.readings if r.tool == "caliper") == pytest.approx(3.81e-5, rel=1e-12)
    assert (job.kit.cutter.tolerance, job.kit.flange_cutter.tolerance) == (0.0001, 0.0001)
    assert (job.kit.cutter.least_hole, job.kit.flange_cutter.least_hole) == (0.0025, 0.0025)
    assert "cutting.tolerance" not in {item.key for item in job.assumptions}


def test_placeholders_are_named(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, "[measuring] ", '[measuring]\nplaceholders = ["caliper", "tape"] #', "shop.toml")
    job = read_job(folder)
    assert job.shop.placeholders == (
        "measuring.caliper",
        "measuring.tape",
        "rates.cut",
        "rates.pierce",
        "rates.bend",
        "rates.weld",
        "stock.1.price",
        "stock.2.price",
        "stock.3.price",
        "stock.4.price",
    )
    assert set(job.shop.placeholders) <= {item.key for item in job.assumptions}


@pytest.mark.expected_from("pinned", "usual kerf of a fibre laser in tables/data/cutting_practice.csv")
def test_a_shop_that_cuts_itself_has_a_kerf(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, "[cutting]\n", '[cutting]\ncuts_itself = true\nkerf = "0.2 mm"\n', "shop.toml")
    assert read_job(folder).kit.cutter.kerf == 0.0002
    change(folder, 'kerf = "0.2 mm"\n', "", "shop.toml")
    job = read_job(folder)
    assert job.kit.cutter.kerf == 0.00015
    assert "cutting.kerf" in {item.key for item in job.assumptions}


def test_a_flange_beyond_the_tolerance_table_asks_for_the_cutters_own(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'flange = "10 mm"', 'flange = "25 mm"')
    (fault,) = faults_of(folder)
    assert (fault.file, fault.key) == ("shop.toml", "cutting.tolerance")
    change(folder, "[cutting]\n", '[cutting]\ntolerance = "0.5 mm"\n', "shop.toml")
    assert faults_of(folder) == ()


def test_metal_that_is_not_in_stock_is_said(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    assert "pan.sheet" not in {item.key for item in read_job(folder).assumptions}
    change(folder, 'sheet = "3 mm"', 'sheet = "2.5 mm"')
    assert "pan.sheet" in {item.key for item in read_job(folder).assumptions}


@pytest.mark.expected_from("closed form", "1 in = 25.4 mm")
def test_inch_threads_take_inch_lengths(tmp_path: Path) -> None:
    folder = lay(tmp_path, "slope-chipper")
    (folder / "shop.toml").write_text(
        '[shop]\nname = "x"\n[bolts]\nmetric_lengths = ["20 mm"]\ninch_lengths = ["1 in", "3/4 in"]\n',
        encoding="utf-8",
    )
    assert read_job(folder).rail.new_bolt_lengths == pytest.approx((0.01905, 0.0254))


@pytest.mark.expected_from("closed form", "1 lb = 0.45359237 kg, 1 ft = 0.3048 m")
def test_rates_and_the_stocks_own_cutting_prices_come_in_base_units(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'cut = "1.40 EUR/m"', 'cut = "0.60 EUR/ft"', "shop.toml")
    change(folder, 'price = "6.50 EUR/kg"', 'price = "3 EUR/lb"\npierce = "0.5 EUR"', "shop.toml")
    rates = read_job(folder).kit.rates
    assert rates is not None
    assert rates.cut.amount == pytest.approx(0.60 / 0.3048, rel=1e-12)
    assert rates.cut.is_placeholder
    sheet = rates.metals[0]
    assert sheet.sheet == pytest.approx(3 / 0.45359237, rel=1e-12)
    assert (sheet.cut, sheet.pierce) == (None, 0.5)


def test_without_rates_nothing_is_priced(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    text = (folder / "shop.toml").read_text()
    start, end = text.index("[rates]"), text.index("[measuring]")
    (folder / "shop.toml").write_text(text[:start] + text[end:])
    assert read_job(folder).kit.rates is None


def test_nests_are_made_where_the_shop_cuts_itself_or_asks(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    assert not read_job(folder).kit.nests
    change(folder, "[cutting]\n", "[cutting]\nnests = true\n", "shop.toml")
    assert read_job(folder).kit.nests
    change(folder, "nests = true\n", "cuts_itself = true\n", "shop.toml")
    assert read_job(folder).kit.nests
    change(folder, "cuts_itself = true\n", "cuts_itself = true\nnests = false\n", "shop.toml")
    assert not read_job(folder).kit.nests


@pytest.mark.expected_from("property", "corners given clockwise or anticlockwise bound the same offcut")
def test_an_offcut_has_a_size_or_an_outline_that_does_not_cross_itself(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    head = '[[offcuts]]\nname = "rack-1"\nmaterial = "5052-H32"\nthickness = "3 mm"\n'
    corners = '[["0 mm", "0 mm"], ["0 mm", "400 mm"], ["600 mm", "0 mm"]]'
    change(folder, "[rates]", f"{head}outline = {corners}\n\n[rates]", "shop.toml")
    (offcut,) = read_job(folder).kit.offcuts
    x, y = offcut.outline[:, 0], offcut.outline[:, 1]
    assert 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) == pytest.approx(0.12, rel=1e-12)
    change(folder, f"outline = {corners}", "", "shop.toml")
    assert [fault.key for fault in faults_of(folder)] == ["offcuts.rack-1"]
    bow = '[["0 mm", "0 mm"], ["600 mm", "400 mm"], ["600 mm", "0 mm"], ["0 mm", "400 mm"]]'
    change(folder, 'name = "rack-1"', f'name = "rack-1"\noutline = {bow}', "shop.toml")
    assert [fault.key for fault in faults_of(folder)] == ["offcuts.rack-1.outline"]
