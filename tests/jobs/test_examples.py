"""The examples from their files to their packs, through the command line."""

from __future__ import annotations

import contextlib
import io
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2

from sumpwright.cli.door import main
from sumpwright.job import examples
from tests.job.example_readings import RAILS
from tests.jobs.laid_out import EXAMPLES, everything_below, laid_out

NAMES = examples()


@dataclass(frozen=True)
class Packed:
    """What one run of ``pack`` left behind."""

    name: str
    status: int
    screen: str
    folder: Path

    @property
    def results(self) -> dict:
        return json.loads((self.folder / "results.json").read_text("utf-8"))

    def verdicts(self, code: str) -> list[str]:
        return [finding["verdict"] for finding in self.results["findings"] if finding["code"] == code]


def pack(job: Path, out: Path) -> Packed:
    screen = io.StringIO()
    with contextlib.redirect_stdout(screen):
        status = main(["pack", str(job), "--out", str(out)])
    return Packed(job.name, status, screen.getvalue(), out)


@pytest.fixture(scope="module", params=NAMES)
def packed(request, tmp_path_factory):
    name = request.param
    return pack(EXAMPLES / name, tmp_path_factory.mktemp(name) / "pack")


def test_a_pack_is_written_and_the_findings_are_on_the_screen(packed):
    assert packed.status in (0, 1)
    for finding in packed.results["findings"]:
        assert finding["code"] in packed.screen
    assert str(packed.folder) in packed.screen


def test_the_status_says_whether_something_is_open(packed):
    verdicts = {finding["verdict"] for finding in packed.results["findings"]}
    assert packed.status == (1 if verdicts & {"fails", "cannot say"} else 0)


def test_every_file_for_cutter_and_bench_is_there(packed):
    names = set(everything_below(packed.folder))
    assert {"job-sheet.pdf", "template.pdf", "parts.csv", "pan.stl", "pan.glb", "results.json"} <= names
    parts = packed.results["kit"]["parts"]
    assert len(parts) > 5
    flats = {name for name in names if name.startswith("cut/") and name.endswith(".dxf")}
    older = {name for name in flats if name.startswith("cut/r12/")}
    flats -= older
    assert {name.replace("cut/r12/", "cut/") for name in older} == flats
    assert {name for name in flats if not name.startswith("cut/nest-")} == {part["file"] for part in parts}
    assert len({part["file"] for part in parts}) == len(parts)


def test_the_kit_closes(packed):
    assert packed.verdicts("KIT-02") == ["holds"]
    assert packed.verdicts("KIT-03") == ["holds"]
    assert packed.verdicts("KIT-04") == ["holds"]
    assert packed.verdicts("KIT-06") == ["holds"]


@pytest.mark.expected_from(
    "property", "the true places behind the invented readings: squared distance by its covariance, chi-square"
)
def test_the_holes_are_found_where_they_are(packed):
    rail = packed.results["rail"]
    names = [hole["name"] for hole in rail["holes"]]
    found = np.array([(hole["x_mm"], hole["y_mm"]) for hole in rail["holes"]])
    true = np.array([RAILS[packed.name].holes[name] for name in names])
    # Measured from the datum hole and turned so that datum and second lie as the job says.
    datum = names.index("h1")
    off = found - found[datum] - (true - true[datum])
    covariance = np.array(rail["covariance_mm2"])
    free = np.flatnonzero(np.diag(covariance) > 1e-12)
    off = off.reshape(-1)[free]
    distance = off @ np.linalg.solve(covariance[np.ix_(free, free)], off)
    assert distance < chi2.ppf(0.999, len(free))


@pytest.mark.expected_from("property", "what the lumps add up to is the cavity's volume")
def test_volumes_add_up(packed):
    body, oil = packed.results["body"], packed.results["oil"]
    assert sum(lump["volume_l"] for lump in body["lumps"]) == pytest.approx(body["volume_l"], rel=1e-6)
    assert oil["whole_volume_l"] == pytest.approx(body["volume_l"], rel=1e-6)
    assert oil["capacity_l"] <= oil["whole_volume_l"]


def test_every_finding_has_a_source_and_open_ones_say_what_to_do(packed):
    for finding in packed.results["findings"]:
        assert finding["source"]
        assert finding["says"]
        if finding["verdict"] in ("fails", "cannot say"):
            assert finding["do"], finding["code"]
        if finding["u95"] is None:
            assert finding["how_sure"], finding["code"]


def test_the_same_job_gives_the_same_bytes(packed, tmp_path):
    again = pack(EXAMPLES / packed.name, tmp_path / "pack")
    assert everything_below(again.folder) == everything_below(packed.folder)


def test_the_hillclimb_names_its_one_bad_reading(tmp_path):
    screen = io.StringIO()
    with contextlib.redirect_stdout(screen):
        main(["rail", str(EXAMPLES / "hillclimb-four")])
    bad = RAILS["hillclimb-four"].bad
    assert bad is not None
    words = " ".join(screen.getvalue().split())
    assert words.count("RAIL-04") == 1
    assert f"{bad[0]} to {bad[1]}" in words


def test_the_chipper_is_refused_for_its_pressure_passage_and_passes_with_an_adapter(tmp_path):
    first = pack(EXAMPLES / "slope-chipper", tmp_path / "first")
    assert "fails" in first.verdicts("BODY-12")
    assert any("pressure passage" in finding["where"] for finding in first.results["findings"])
    second = pack(EXAMPLES / "slope-chipper-adapter", tmp_path / "second")
    assert set(second.verdicts("BODY-12")) == {"holds"}


def test_what_new_lays_out_packs_unchanged(tmp_path):
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["new", str(tmp_path / "my-pan"), "--like", "slope-chipper-adapter"]) == 0
    mine = pack(tmp_path / "my-pan", tmp_path / "mine")
    theirs = pack(EXAMPLES / "slope-chipper-adapter", tmp_path / "theirs")
    assert everything_below(mine.folder) == everything_below(theirs.folder)


def test_the_pack_lies_beside_the_job_file_unless_told_otherwise(tmp_path):
    job = laid_out(tmp_path, "slope-chipper-adapter")
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["pack", str(job)]) in (0, 1)
    assert (job / "pack" / "results.json").is_file()
