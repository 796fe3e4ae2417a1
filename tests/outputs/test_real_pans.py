"""The pack of real examples, read back file by file."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from sumpwright.flow import run
from sumpwright.geometry.arcs import outline_area
from sumpwright.job import read_job
from sumpwright.job.model import Job, JobResults
from sumpwright.kit.model import density_of
from sumpwright.outputs import pack
from sumpwright.outputs.cut_files import LAYERS, cut_file_names
from sumpwright.outputs.parts_list import part_mass
from tests.outputs.results_page import SCHEMA_FILE
from tests.outputs.test_job_sheet import _texts
from tests.outputs.test_results_file import faults

EXAMPLES = Path(__file__).parents[2] / "examples"
GDAL = "GDAL's DXF reader (through pyogrio)"


@pytest.fixture(scope="module", params=["hillclimb-four", "slope-chipper-adapter"])
def made(request: pytest.FixtureRequest) -> tuple[Job, JobResults, dict[str, bytes]]:
    job = read_job(EXAMPLES / request.param)
    results = run(job)
    return job, results, pack.pack_files(job, results)


Made = tuple[Job, JobResults, dict[str, bytes]]


def test_results_keep_the_published_schema(made: Made) -> None:
    data = json.loads(made[2]["results.json"])
    schema = json.loads(SCHEMA_FILE.read_text("utf-8"))
    assert faults(data, schema, schema) == []
    assert len(data["findings"]) == len(made[1].findings)


@pytest.mark.expected_from("published", f"{GDAL}: closed, in mm, circles by centre and radius, area to 1e-6")
def test_every_cut_file_is_what_the_kit_says(made: Made, tmp_path: Path) -> None:
    import pyogrio

    _, results, files = made
    assert results.kit is not None
    for part, name in zip(results.kit.parts, cut_file_names(results.kit.parts), strict=True):
        path = tmp_path / name
        path.write_bytes(files[f"cut/{name}"])
        _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer", "SubClasses", "Text"])
        found: list[tuple[str, str, Any]] = list(
            zip(fields[0], fields[1], shapely.from_wkb(shapes), strict=True)
        )
        assert {layer for layer, _, _ in found} <= set(LAYERS)
        cuts = [(kind, shape) for layer, kind, shape in found if layer == "cut"]
        assert all(shape.is_closed for _, shape in cuts)
        outline = shapely.Polygon(cuts[0][1])
        assert outline.is_valid
        if not part.outline.bulges.any():
            assert outline.area == pytest.approx(outline_area(part.outline) * 1e6, rel=1e-6)
        circles = [shape for kind, shape in cuts if kind.endswith("AcDbCircle")]
        assert len(circles) == len(part.holes)
        for hole, shape in zip(part.holes, circles, strict=True):
            points = np.asarray(shape.coords)[:-1, :2]
            away = np.hypot(*(points - [hole.x * 1e3, hole.y * 1e3]).T)
            # Middle and radius are each rounded to a millionth of a millimetre.
            assert away == pytest.approx(hole.diameter * 500, abs=2e-6)
        grown = outline.buffer(1e-6)
        assert all(grown.covers(shape) for _, _, shape in found)


@pytest.mark.expected_from("property", "the parts' masses add up to the kit's")
def test_masses_of_the_list_add_up(made: Made) -> None:
    _, results, files = made
    assert results.kit is not None
    rows = list(csv.DictReader(io.StringIO(files["parts.csv"].decode())))
    rows = [row for row in rows if row["mass_kg"]]  # bought parts are listed without a mass
    total = sum(float(row["mass_kg"]) * int(row["quantity"]) for row in rows)
    assert total == pytest.approx(results.kit.mass, abs=0.001 * len(rows))


@pytest.mark.expected_from("published", "trimesh: closed solids whose volumes give the kit's mass")
def test_solids_weigh_what_the_kit_weighs(made: Made) -> None:
    import trimesh

    job, results, files = made
    assert results.kit is not None
    scene = trimesh.load(io.BytesIO(files["pan.glb"]), file_type="glb")
    mass = 0.0
    loose = () if results.kit.internals is None else results.kit.internals.loose
    for part in results.kit.parts:
        if part.name in loose:  # placed while fitting: in the list, not in the picture
            assert part.name not in scene.geometry
            mass += part_mass(part, job.kit) * part.quantity
            continue
        mesh = scene.geometry[part.name]
        assert mesh.is_watertight
        mass += float(mesh.volume) * density_of(part, job.kit) * part.quantity
    assert mass == pytest.approx(results.kit.mass, rel=1e-3)


@pytest.mark.expected_from("published", "pdfplumber: every letter stands 8 points or more from the edge")
def test_nothing_leaves_the_paper(made: Made) -> None:
    import pdfplumber

    for name in ("job-sheet.pdf", "template.pdf"):
        with pdfplumber.open(io.BytesIO(made[2][name])) as document:
            for page in document.pages:
                for char in page.chars:
                    inside = char["x0"] > 8.0 and char["x1"] < page.width - 8.0
                    assert inside or name == "template.pdf"
                    assert char["top"] > 8.0
                    assert char["bottom"] < page.height - 8.0


def test_first_page_names_what_is_open(made: Made) -> None:
    _, results, files = made
    texts = _texts(files["job-sheet.pdf"])
    for finding in results.findings:
        if finding.verdict in ("fails", "cannot say"):
            assert finding.code in texts[0] + texts[1]


def test_same_job_same_bytes(made: Made) -> None:
    job, results, files = made
    assert pack.pack_files(job, results) == files
