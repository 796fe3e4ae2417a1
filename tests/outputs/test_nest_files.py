"""Nests read back: pieces apart, on the sheet, not turned over."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

from sumpwright.geometry.arcs import outline_area
from sumpwright.job.model import JobResults
from sumpwright.kit import SheetKit
from sumpwright.kit.nest_model import Blank, Nest, NestPlan, NotNested, Placement, Price, PriceLine
from sumpwright.outputs import pack
from sumpwright.outputs.job_sheet import job_sheet_pdf
from sumpwright.outputs.nest_files import nest_files, placed_part
from sumpwright.quantities.units import frozen_array
from tests.outputs import sample
from tests.outputs.test_job_sheet import _texts

SHEET = Blank(
    "sheet 1000 x 500 mm",
    "5052-H32",
    0.003,
    frozen_array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.5], [0.0, 0.5]]),
    is_offcut=False,
)
PLACES = (
    Placement("tray floor", 1, 0.0, 0.010, 0.010),
    Placement("right wall", 1, math.pi / 2, 0.560, 0.010),
    Placement("sump floor", 1, math.pi, 0.800, 0.200),
)
PRICE = Price(
    "EUR",
    (
        PriceLine("sheet", "5052-H32", 0.003, 2.5, "kg", 9.0, True, "stock.price"),
        PriceLine("cutting", "5052-H32", 0.003, 7.25, "m", None, False, "rates.cut"),
    ),
    "nests",
)


def nested() -> SheetKit:
    """The sample's kit with one nest laid by hand."""
    left = (NotNested("flange", "larger than any sheet", (0.487, 0.238), (0.4, 0.2)),)
    plan = NestPlan((Nest(1, SHEET, PLACES, 0.81, 0.6),), left, ((0.003, 0.003),), 0.010)
    return dataclasses.replace(sample.kit(), nests=plan, price=PRICE)


def results() -> JobResults:
    """With it in place of the plain kit."""
    return dataclasses.replace(sample.results(), kit=nested())


@pytest.mark.expected_from("published", "GDAL's DXF reader: closed, apart, inside the sheet, areas kept")
def test_pieces_lie_apart_on_the_sheet(tmp_path: Path) -> None:
    import pyogrio

    kit = nested()
    path = tmp_path / "nest.dxf"
    path.write_bytes(nest_files(kit)["nest-1_3mm_5052-H32.dxf"])
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer", "SubClasses"])
    found = zip(fields[0], fields[1], shapely.from_wkb(shapes), strict=True)
    outlines = [
        shapely.Polygon(shape)
        for layer, kind, shape in found
        if layer == "cut" and not kind.endswith("AcDbCircle")
    ]
    sheet = shapely.box(0.0, 0.0, 1000.0, 500.0)
    assert len(outlines) == len(PLACES)
    assert all(sheet.covers(outline) for outline in outlines)
    assert not any(a.intersects(b) for k, a in enumerate(outlines) for b in outlines[:k])
    by_name = {part.name: part for part in kit.parts}
    for outline, place in zip(outlines, PLACES, strict=True):
        assert outline.area == pytest.approx(outline_area(by_name[place.part].outline) * 1e6, rel=1e-6)


@pytest.mark.expected_from("property", "turning and moving keeps distances and the way round")
def test_a_placed_part_is_turned_and_moved_never_mirrored() -> None:
    flange = sample.parts()[-1]
    placed = placed_part(flange, Placement("flange", 1, 0.7, 0.3, 0.2))
    assert outline_area(placed.outline) == pytest.approx(outline_area(flange.outline), rel=1e-12)
    before = np.array([[hole.x, hole.y] for hole in flange.holes])
    after = np.array([[hole.x, hole.y] for hole in placed.holes])
    assert np.linalg.norm(after[0] - after[9]) == pytest.approx(np.linalg.norm(before[0] - before[9]))
    turn = np.array([[math.cos(0.7), -math.sin(0.7)], [math.sin(0.7), math.cos(0.7)]])
    assert after == pytest.approx(before @ turn.T + [0.3, 0.2])


@pytest.mark.expected_from("published", "the standard library's XML reader: size in mm, a path a piece")
def test_picture_of_a_nest_is_true_to_size() -> None:
    root = ElementTree.fromstring(nest_files(nested())["nest-1_3mm_5052-H32.svg"])
    assert (root.get("width"), root.get("height")) == ("1000mm", "500mm")
    assert root.get("viewBox") == "0 0 1000 500"
    space = "{http://www.w3.org/2000/svg}"
    assert len(root.findall(f"{space}path")) == 1 + len(PLACES)
    assert [text.text for text in root.findall(f"{space}text")] == [place.part for place in PLACES]


def test_nests_and_price_stand_on_the_sheet_and_in_the_pack() -> None:
    files = pack.pack_files(sample.job(), results())
    assert "cut/nest-1_3mm_5052-H32.dxf" in files
    assert "cut/nest-1_3mm_5052-H32.svg" in files
    whole = " ".join(_texts(job_sheet_pdf(sample.job(), results())))
    for words in ("Nest 1: 5052-H32", "larger than any sheet", "enter rates.cut", "9.00 EUR for 1 kg *"):
        assert words in whole
    assert "not known" in whole
