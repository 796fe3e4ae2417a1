"""A flat strongback under a rail that is not flat: what is said, and how thick the shims are."""

from __future__ import annotations

import pytest

from sumpwright.findings import Verdict
from sumpwright.outputs.words import finding_words
from sumpwright.weld.plate_on_lands import plate_on_lands
from tests.kit.test_lands import RAILS, on


def test_nothing_is_said_of_a_flat_rail() -> None:
    assert plate_on_lands(on(RAILS["a step on one side"][:1])) == ()


@pytest.mark.expected_from(
    "closed form", "12 mm step, 0.3 mm of sealant on the rail and 0.5 of gasket: shims of 12.2 mm"
)
def test_shims_fill_the_step() -> None:
    (step,) = plate_on_lands(on(RAILS["a step on one side"]))
    assert step.verdict is Verdict.CLOSE
    assert step.value == pytest.approx(0.0122, abs=1e-9)
    words = finding_words(step, "mm")
    assert "12.2 mm" in words.do
    assert "rear" in words.where


@pytest.mark.expected_from("closed form", "crown 12 mm down, 3 mm of seal less 0.3 on the rail: 14.7 mm off")
@pytest.mark.parametrize("name", ["an arch that hangs", "an arch that stands up"])
def test_an_arch_is_named_either_way(name: str) -> None:
    (arch,) = plate_on_lands(on(RAILS[name]))
    for units in ("mm", "in"):
        words = finding_words(arch, units)
        assert "{" not in words.says + words.do
    if name == "an arch that hangs":
        assert arch.value == pytest.approx(0.0147, abs=1e-9)
        assert "leaves the plate" in arch.says
    else:
        assert arch.value == pytest.approx(0.0093, abs=1e-9)
        assert "runs into the plate" in arch.says
