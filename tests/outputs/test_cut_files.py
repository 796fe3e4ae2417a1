"""The cut files read back by GDAL, which shares no code with the writer."""

from __future__ import annotations

import importlib
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import arc_of, chorded, outline_area, outline_box
from sumpwright.kit import FlatPart
from sumpwright.outputs import cut_files
from sumpwright.outputs.dxf_text import Form
from sumpwright.outputs.parts_list import COLUMNS, parts_csv
from sumpwright.quantities.units import frozen_array
from tests.outputs import sample
from tests.outputs.test_folds import channel

PARTS = sample.parts()
GDAL = "GDAL's DXF reader (through pyogrio)"


def _read(part: FlatPart, folder: Path) -> list[tuple[str, str, shapely.Geometry]]:
    """Layer, entity class and geometry of everything GDAL finds."""
    import pyogrio

    path = folder / "part.dxf"
    path.write_bytes(cut_files.dxf_bytes(part))
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer", "SubClasses", "Text"])
    assert not any(text for text in fields[2]), "no live text"
    return list(zip(fields[0], fields[1], shapely.from_wkb(shapes), strict=True))


@pytest.mark.expected_from("published", f"{GDAL}: every cut line closes")
@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_every_cut_line_closes_and_every_layer_is_ours(part: FlatPart, tmp_path: Path) -> None:
    found = _read(part, tmp_path)
    assert {layer for layer, _, _ in found} <= set(cut_files.LAYERS)
    cuts = [shape for layer, _, shape in found if layer == "cut"]
    assert len(cuts) == 1 + len(part.cut_outs) + len(part.holes)
    assert all(shape.is_closed for shape in cuts)
    assert not any("Spline" in kind or "Text" in kind for _, kind, _ in found)


@pytest.mark.expected_from("published", f"{GDAL}: area of straight outlines to 1e-6, in mm2")
@pytest.mark.parametrize("part", PARTS[:-1], ids=lambda part: part.name)
def test_straight_outlines_keep_their_area(part: FlatPart, tmp_path: Path) -> None:
    outline = _read(part, tmp_path)[0][2]
    assert shapely.Polygon(outline).area == pytest.approx(outline_area(part.outline) * 1e6, rel=1e-6)


@pytest.mark.expected_from("published", f"{GDAL}: chords of every circle stand on centre and radius, in mm")
def test_holes_stand_where_they_should_with_their_size(tmp_path: Path) -> None:
    flange = PARTS[-1]
    circles = [shape for _, kind, shape in _read(flange, tmp_path) if kind.endswith("AcDbCircle")]
    assert len(circles) == len(flange.holes)
    for hole, shape in zip(flange.holes, circles, strict=True):
        points = np.asarray(shape.coords)[:-1, :2]
        assert points.mean(axis=0) == pytest.approx([hole.x * 1e3, hole.y * 1e3], abs=1e-6)
        away = np.hypot(*(points - [hole.x * 1e3, hole.y * 1e3]).T)
        assert away == pytest.approx(hole.diameter * 500, abs=1e-6)


@pytest.mark.expected_from("published", f"{GDAL}: arcs of the flange's corners bulge outwards, in mm")
def test_arcs_are_true_arcs(tmp_path: Path) -> None:
    flange = PARTS[-1]
    outline = next(shape for layer, _, shape in _read(flange, tmp_path) if layer == "cut")
    points = np.asarray(outline.coords)[:, :2]
    centre = np.array([flange.outline.points[1, 0], flange.outline.points[2, 1]]) * 1e3
    corner = points[(points[:, 0] > centre[0] - 1e-9) & (points[:, 1] < centre[1] + 1e-9)]
    assert len(corner) > 5
    assert np.hypot(*(corner - centre).T) == pytest.approx(14.0, abs=1e-6)
    assert shapely.Polygon(outline).area == pytest.approx(outline_area(flange.outline) * 1e6, rel=1e-5)


@pytest.mark.expected_from("published", "DXF reference: $INSUNITS 4 is mm, $MEASUREMENT 1 is metric")
def test_file_says_millimetres_and_its_form() -> None:
    lines = cut_files.dxf_bytes(PARTS[0]).decode().split("\n")
    pairs = dict(zip(lines, lines[2:], strict=False))
    assert pairs["$INSUNITS"].strip() == "4"
    assert pairs["$MEASUREMENT"].strip() == "1"
    assert pairs["$ACADVER"].strip() == "AC1015"


def test_every_entity_keeps_the_default_colour() -> None:
    text = cut_files.dxf_bytes(PARTS[-1]).decode()
    entities = text[text.index("\nENTITIES\n") :].split("\n")
    codes = [line.strip() for line in entities[1::2]]
    assert "62" not in codes
    assert "420" not in codes


def test_marks_lie_within_the_part(tmp_path: Path) -> None:
    for part in PARTS:
        found = _read(part, tmp_path)
        metal = shapely.Polygon(found[0][2])
        for layer, _, shape in found:
            assert layer == "cut" or metal.covers(shape)


@pytest.mark.parametrize("seed", ["1", "77"])
def test_same_part_same_bytes_in_another_process(seed: str) -> None:
    code = (
        "import hashlib; from tests.outputs import sample; from sumpwright.outputs import cut_files;"
        "print(hashlib.sha256(b''.join(map(cut_files.dxf_bytes, sample.parts()[-2:]))).hexdigest())"
    )
    import hashlib

    mine = hashlib.sha256(b"".join(map(cut_files.dxf_bytes, PARTS[-2:]))).hexdigest()
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert run.stdout.strip() == mine


def test_file_name_says_thickness_material_and_quantity() -> None:
    names = cut_files.cut_file_names(PARTS)
    assert names[-1] == "flange_10mm_5052-H32_x1.dxf"
    assert names[0] == "tray-left-wall_3mm_5052-H32_x1.dxf"
    assert len(set(names)) == len(PARTS)


def test_equal_names_get_a_number() -> None:
    assert len(set(cut_files.cut_file_names((PARTS[0], PARTS[0], PARTS[0])))) == 3


@pytest.mark.expected_from("closed form", "plate 428 x 50 x 3 mm at 2680 kg/m3")
def test_parts_list_has_size_and_mass_of_every_part() -> None:
    import csv
    import io

    rows = list(csv.DictReader(io.StringIO(parts_csv(PARTS, sample.job().kit).decode())))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(PARTS)
    assert (rows[0]["length_mm"], rows[0]["width_mm"], rows[0]["thickness_mm"]) == ("428.00", "50.00", "3")
    assert float(rows[0]["mass_kg"]) == pytest.approx(0.428 * 0.05 * 0.003 * 2680, abs=5e-4)


@pytest.mark.expected_from("closed form", "half disc: area pi r2 / 2, box 2r x r")
def test_area_and_box_of_a_half_disc() -> None:
    half = Outline(frozen_array([[-1.0, 0.0], [1.0, 0.0]]), frozen_array([0.0, 1.0]))
    assert outline_area(half) == pytest.approx(math.pi / 2, rel=1e-14)
    low, high = outline_box(half)
    assert (*low, *high) == pytest.approx((-1.0, 0.0, 1.0, 1.0), abs=1e-15)


@pytest.mark.expected_from("property", "a right-turning arc is the left-turning one run backwards")
@pytest.mark.parametrize("bulge", [0.05, 0.4, 1.0, 2.5])
def test_arc_centre_is_the_same_both_ways(bulge: float) -> None:
    p, q = np.array([0.1, 0.2]), np.array([0.5, -0.3])
    there, back = arc_of(p, q, bulge), arc_of(q, p, -bulge)
    assert (there.x, there.y, there.radius) == pytest.approx((back.x, back.y, back.radius), rel=1e-12)
    assert there.point(1.0) == pytest.approx(tuple(q), abs=1e-14)
    assert there.point(0.5) == pytest.approx(back.point(0.5), abs=1e-14)


@pytest.mark.expected_from("property", "chords stay within the asked sag")
def test_chords_stay_within_the_sag() -> None:
    half = Outline(frozen_array([[-1.0, 0.0], [1.0, 0.0]]), frozen_array([0.0, 1.0]))
    points = chorded(half, 1e-3)[1:]
    middles = 0.5 * (points[:-1] + points[1:])
    assert 1.0 - np.hypot(*middles.T).min() <= 1e-3
    assert len(points) < 40


@pytest.mark.expected_from("published", f"{GDAL}: the old form holds the same lines as the new one")
@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_the_old_form_holds_the_same_part(part: FlatPart, tmp_path: Path) -> None:
    import pyogrio

    path = tmp_path / "old.dxf"
    path.write_bytes(cut_files.dxf_bytes(part, "R12"))
    assert b"AC1009" in path.read_bytes()
    assert cut_files.dxf_bytes(part, "R12") == path.read_bytes()
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
    old = [shape for layer, shape in zip(fields[0], shapely.from_wkb(shapes), strict=True) if layer == "cut"]
    new = [shape for layer, _, shape in _read(part, tmp_path) if layer == "cut"]
    assert len(old) == len(new)
    assert sum(shape.length for shape in old) == pytest.approx(sum(shape.length for shape in new), rel=1e-6)


def _by_the_library(part: FlatPart, form: Form) -> bytes:
    """The same drawing with every line added to and written by ezdxf itself."""
    import io

    ezdxf: Any = importlib.import_module("ezdxf")

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing: Any = ezdxf.new(form, setup=False, units=4)
        if form == "R2000":
            drawing.header["$MEASUREMENT"] = 1
        for layer in cut_files.LAYERS:
            drawing.layers.add(layer)
        space = drawing.modelspace()
        low, high = outline_box(part.outline)
        space.reset_extents((*(low * 1e3).round(6), 0.0), (*(high * 1e3).round(6), 0.0))

        def line(points: list[tuple[float, float, float]], layer: str, *, close: bool) -> None:
            add = space.add_lwpolyline if form == "R2000" else space.add_polyline2d
            add(points, format="xyb", close=close, dxfattribs={"layer": layer})

        def mm(value: float) -> float:
            return round(float(value) * 1e3, 6)

        for outline in (part.outline, *part.cut_outs):
            corners = [
                (mm(x), mm(y), round(float(b), 12))
                for (x, y), b in zip(outline.points, outline.bulges, strict=True)
            ]
            line(corners, "cut", close=True)
        for hole in part.holes:
            space.add_circle((mm(hole.x), mm(hole.y)), mm(hole.diameter / 2), dxfattribs={"layer": "cut"})
        for fold in part.folds:
            ends = [tuple(mm(c) for c in end) for end in (fold.start, fold.end)]
            space.add_line(*ends, dxfattribs={"layer": "fold"})
        for mark in part.marks:
            layer = "etch" if mark.kind in ("front", "match") else "words"
            for stroke in mark.strokes:
                line([(mm(x), mm(y), 0.0) for x, y in stroke.points], layer, close=False)
        text = io.StringIO()
        drawing.write(text)
        return text.getvalue().encode(drawing.output_encoding)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


@pytest.mark.expected_from("published", "ezdxf's own writer of the same lines, byte for byte")
@pytest.mark.parametrize("form", ["R2000", "R12"])
@pytest.mark.parametrize("part", [*PARTS, channel()], ids=lambda part: part.name)
def test_the_lines_stand_as_the_library_would_write_them(part: FlatPart, form: Form) -> None:
    away = np.array([0.0123, 0.0456])  # off the origin, where the library leaves the header's extent out

    def moved(outline: Outline) -> Outline:
        return Outline(frozen_array(outline.points + away), outline.bulges)

    shifted = replace(
        part,
        outline=moved(part.outline),
        cut_outs=tuple(map(moved, part.cut_outs)),
        holes=tuple(replace(hole, x=hole.x + away[0], y=hole.y + away[1]) for hole in part.holes),
    )
    assert cut_files.dxf_bytes(shifted, form) == _by_the_library(shifted, form)
