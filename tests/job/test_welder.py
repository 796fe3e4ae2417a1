"""The welder's sections of the shop file: read, refused, and what is taken without them."""

from __future__ import annotations

from pathlib import Path

import pytest

from sumpwright.job import read_job
from tests.job.changes import change, faults_of, lay

WELDED = """
[[weld_coupons]]
material = "5052"
thickness = "3 mm"
looked_at = "bent"
sound = true

[[weld_strips]]
material = "5052-H32"
thickness = "3 mm"
width = "60 mm"
length = "300 mm"
bow = "1.2 mm"

[[pan_records]]
material = "5052-H32"
told_least = "0.2 mm"
told_most = "0.8 mm"
measured = "0.5 mm"
"""


@pytest.mark.expected_from("property", "what the shop file says stands in base SI in the inputs")
def test_the_welder_and_its_coupons_are_read(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8") + WELDED, "utf-8")
    job = read_job(folder)
    assert job.filler is not None
    assert job.bow is not None
    assert job.filler.welder.most_amps == pytest.approx(220.0)
    assert job.filler.welder.duty_amps == pytest.approx(220.0)
    assert job.filler.rods == ("ER5554", "ER4043", "ER70S-2")
    assert [coupon.metal_b for coupon in job.filler.sound] == ["5052-H32"]
    assert job.bow.coupons[0].bow == pytest.approx(0.0012)
    assert job.bow.records[0].measured == pytest.approx(0.0005)
    assert job.bow.process_said


@pytest.mark.expected_from("property", "without a card the shipped welder stands in and the sheet says so")
def test_without_a_card_the_shipped_welder_stands_in(tmp_path: Path) -> None:
    job = read_job(lay(tmp_path, "slope-chipper"))
    assert job.filler is not None
    assert not job.filler.welder_said
    assert job.filler.rods is None
    assert any(entry.key == "welder" for entry in job.assumptions)


def test_a_rod_nobody_knows_is_refused_with_the_nearest(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, '"ER4043"', '"ER40433"', "shop.toml")
    faults = faults_of(folder)
    assert len(faults) == 1
    assert "ER4043" in faults[0].rule


def test_a_coupon_of_no_sheet_metal_is_refused(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8") + WELDED.replace('"5052"', '"grey iron"'), "utf-8")
    assert any("grey iron" in fault.rule for fault in faults_of(folder))
