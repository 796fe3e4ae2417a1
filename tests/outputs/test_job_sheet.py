"""The job sheet read back: what stands on it, in which order, and whether it fits the paper."""

from __future__ import annotations

import dataclasses
import io
from typing import Any

import numpy as np
import pytest

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.outputs.cautions import CAUTIONS
from sumpwright.outputs.job_sheet import job_sheet_pdf, verdict_headline
from sumpwright.outputs.pan_views import View, seen_pieces, surface_pieces
from sumpwright.outputs.words import finding_words
from tests.outputs import sample


def _texts(made: bytes) -> list[str]:
    import pypdfium2

    document = pypdfium2.PdfDocument(made)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def _squeezed(text: str) -> str:
    return text.replace("\u00a0", " ").replace(" ", "")


@pytest.fixture(scope="module")
def pages() -> list[str]:
    return _texts(job_sheet_pdf(sample.job(), sample.results()))


def test_first_page_says_the_worst_first(pages: list[str]) -> None:
    first = pages[0]
    assert "Something fails: do not cut yet" in first
    assert first.index("RAIL-01") < first.index("OIL-04") < first.index("RAIL-02")
    assert "KIT-01" not in first


def test_every_sentence_is_that_of_the_screen(pages: list[str]) -> None:
    whole = _squeezed(" ".join(pages))
    for finding in sample.findings():
        said = finding_words(finding, "mm")
        for sentence in (said.says, said.how_sure, said.do):
            assert _squeezed(sentence) in whole


def test_sections_come_in_the_order_of_the_work(pages: list[str]) -> None:
    whole = " ".join(pages)
    at = [whole.index(f"{k} {name}") for k, name in enumerate(("Rail", "Shape", "Oil", "Parts"), start=1)]
    assert at == sorted(at)


def test_bad_reading_is_marked_in_sketch_and_list(pages: list[str]) -> None:
    whole = " ".join(pages)
    assert "should be 214.39 mm" in whole
    assert "BAD, left out" in whole


def test_every_caution_stands_on_the_sheet(pages: list[str]) -> None:
    whole = _squeezed(" ".join(pages))
    for entry in CAUTIONS:
        assert _squeezed(entry.words) in whole


def test_every_caution_of_a_stage_is_known_or_a_sentence() -> None:
    import ast
    from pathlib import Path

    import sumpwright

    known = {entry.key for entry in CAUTIONS}
    for path in Path(sumpwright.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.keyword) and node.arg == "cautions":
                listed = [part for part in ast.walk(node.value) if isinstance(part, ast.Tuple)]
                for word in (entry for part in listed for entry in part.elts):
                    if isinstance(word, ast.Constant):
                        assert word.value in known or word.value.endswith("."), f"{path}: {word.value}"


def test_pages_are_numbered(pages: list[str]) -> None:
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page


@pytest.mark.expected_from("published", "pdfplumber: every letter stands 8 points or more from the edge")
@pytest.mark.parametrize("results", [sample.results(), sample.results(refused=True), sample.nothing()])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_nothing_leaves_the_paper(results: Any, paper: str) -> None:
    import pdfplumber

    made = job_sheet_pdf(sample.job(paper=paper), results)
    with pdfplumber.open(io.BytesIO(made)) as document:
        for page in document.pages:
            for char in page.chars:
                assert char["x0"] > 8.0
                assert char["x1"] < page.width - 8.0
                assert char["top"] > 8.0
                assert char["bottom"] < page.height - 8.0


def test_refused_kit_says_so_first_and_draws_no_flat() -> None:
    texts = _texts(job_sheet_pdf(sample.job(), sample.results(refused=True)))
    assert "This pack holds no cut files" in texts[0]
    assert "sump front wall, right wall and sump floor meet" in texts[0]
    assert "scale 1 :" not in " ".join(texts)


def test_inner_walls_and_the_room_round_the_pan_stand_on_the_sheet() -> None:
    results = dataclasses.replace(sample.results(), body=sample.divided_body())
    whole = " ".join(_texts(job_sheet_pdf(sample.job(), results)))
    for words in (
        "around the pickup",
        "door 1",
        "from, to",
        "axle up 60 mm",
        "-3.0 mm",
        "Lowest point 118.0 mm above the ground",
        "sump left wall",
        "The pan comes off down 140 mm, then to the rear 50 mm.",
    ):
        assert words in whole


def test_without_holes_the_sheet_still_says_why() -> None:
    texts = _texts(job_sheet_pdf(sample.job(), sample.nothing()))
    assert "do not cut yet" in texts[0]
    assert "Measure h7-h6" in texts[0]


def test_headline_follows_the_worst_verdict() -> None:
    def heading(*verdicts: Verdict) -> str:
        findings = tuple(Finding("RAIL-01", verdict, "x", "y") for verdict in verdicts)
        return verdict_headline(dataclasses.replace(sample.results(), findings=findings))[0]

    assert heading() == "Nothing was judged"
    assert heading(Verdict.HOLDS) == "Everything that was judged holds"
    assert heading(Verdict.HOLDS, Verdict.CLOSE).startswith("Nothing fails")
    assert "cannot be said" in heading(Verdict.CLOSE, Verdict.CANNOT_SAY)
    assert heading(Verdict.CANNOT_SAY, Verdict.FAILS).startswith("Something fails")


def test_same_results_same_bytes() -> None:
    assert job_sheet_pdf(sample.job(), sample.results()) == job_sheet_pdf(sample.job(), sample.results())


def test_long_and_strange_words_do_not_break_the_form() -> None:
    long = Finding(
        "KIT-09",
        Verdict.FAILS,
        "Приёмник → ő " + "x" * 300,
        "very " * 900 + "{gap}",
        (Figure("gap", 0.001, "m", "length"),),
        do="do " * 400,
    )
    results = dataclasses.replace(sample.results(), findings=(long,))
    assert len(_texts(job_sheet_pdf(sample.job(), results))) > 3


@pytest.mark.expected_from("published", "manifold3d's ray casting through the same cavity")
@pytest.mark.parametrize("towards", [(0.5, -0.4, -0.7), (-0.6, 0.5, 0.3), (0.2, 0.9, -0.4)])
def test_hidden_edges_are_those_behind_a_face(towards: tuple[float, float, float]) -> None:
    import manifold3d

    cavity = sample.cavity()
    mesh = manifold3d.Mesh64(np.array(cavity.vertices), np.array(cavity.triangles, dtype=np.uint64))
    solid = manifold3d.Manifold(mesh)
    out = np.array(towards) / np.linalg.norm(towards)
    right = np.cross([0.0, 0.0, 1.0], out)
    right /= np.linalg.norm(right)
    view = View("from below", right, np.cross(out, right), out)
    kinds = set()
    for edge, start, end, is_hidden in seen_pieces(cavity, view):
        a, b = cavity.vertices[edge.start], cavity.vertices[edge.end]
        middle = a + 0.5 * (start + end) * (b - a)
        hits = solid.ray_cast(tuple(middle + 2e-6 * out), tuple(middle + 2.0 * out))
        assert bool(hits) == is_hidden
        kinds.add(is_hidden)
    assert kinds == {True, False}


@pytest.mark.expected_from("property", "every end of a surface piece lies in the level plane")
def test_oil_surface_pieces_lie_level() -> None:
    cavity, up, level = sample.cavity(), sample.UP, -0.052
    pieces = surface_pieces(cavity, up, level)
    assert len(pieces) > 4
    assert pieces.reshape(-1, 3) @ up == pytest.approx(level, abs=1e-12)
