"""What the shop bends with: folder, press brake, and strips that were bent and measured."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from sumpwright.job import read_job
from tests.job.changes import faults_of, lay

FOLDER = """
[folder]
thickest = "1.5 mm"
radius = "1.5 mm"
longest = "1000 mm"
least_leg = "10 mm"
only_square = true
"""
BRAKE = """
[press_brake]
thickest = "4 mm"
opening = "24 mm"
longest = "1250 mm"
"""
COUPON = """
[[bend_coupons]]
material = "5052-H32"
thickness = "3 mm"
radius = "4.68 mm"
turn = "90 deg"
flat = "100 mm"
legs = ["53.2 mm", "53.1 mm"]
"""


def with_shop(tmp_path: Path, more: str):
    folder = lay(tmp_path)
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8") + more, "utf-8")
    return folder


@pytest.mark.expected_from("property", "no section, nothing is bent")
def test_a_shop_without_a_machine_bends_nothing(tmp_path: Path) -> None:
    kit = read_job(lay(tmp_path)).kit
    assert kit.folder is None
    assert kit.coupons == ()


@pytest.mark.expected_from("closed form", "air bend in 24 mm: 0.13 V in aluminium, leg 0.7 V")
def test_a_press_brake_takes_radius_and_leg_from_its_die(tmp_path: Path) -> None:
    job = read_job(with_shop(tmp_path, BRAKE))
    folder = job.kit.folder
    assert folder is not None
    assert folder.kind == "press brake"
    assert folder.radius == pytest.approx(0.13 * 0.024)
    assert folder.least_leg == pytest.approx(0.7 * 0.024)
    assert folder.sharpest == pytest.approx(math.radians(120.0))
    told = {assumption.key for assumption in job.assumptions}
    assert {"press_brake.radius", "press_brake.least_leg", "press_brake.behind"} <= told


@pytest.mark.expected_from("property", "of two machines the brake where it can bend the sheet")
def test_the_brake_comes_before_the_folder(tmp_path: Path) -> None:
    folder = read_job(with_shop(tmp_path, FOLDER + BRAKE)).kit.folder
    assert folder is not None
    assert folder.kind == "press brake"


@pytest.mark.expected_from("property", "a folder's own figures")
def test_a_hand_folder(tmp_path: Path) -> None:
    folder = read_job(with_shop(tmp_path, FOLDER)).kit.folder
    assert folder is not None
    assert (folder.kind, folder.only_square) == ("hand folder", True)
    assert folder.thickest == pytest.approx(0.0015)


@pytest.mark.expected_from("closed form", "legs 53.2 + 53.1, flat 100 mm: BD 6.3, BA 9.06 mm, K 0.3626")
def test_a_coupon_gives_k(tmp_path: Path) -> None:
    (coupon,) = read_job(with_shop(tmp_path, COUPON)).kit.coupons
    allowance = 2.0 * (4.68 + 3.0) - (53.2 + 53.1 - 100.0)
    assert coupon.k == pytest.approx((allowance / (math.pi / 2) - 4.68) / 3.0)
    assert coupon.k == pytest.approx(0.3626, abs=1e-4)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('opening = "24 mm"', 'opening = "24"', "unit is missing"),
        ('opening = "24 mm"', 'opening = "2 m"', "too big"),
        ('longest = "1250 mm"', "", "needed"),
        ('thickest = "4 mm"', 'thikest = "4 mm"', "did you mean 'thickest'"),
    ],
)
def test_a_slip_in_the_press_brake(tmp_path: Path, old: str, new: str, says: str) -> None:
    folder = with_shop(tmp_path, BRAKE.replace(old, new))
    assert says in " ".join(str(fault) for fault in faults_of(folder))
