"""The pages for readers are complete, and the generated ones are fresh."""

from __future__ import annotations

import re
from importlib import metadata
from pathlib import Path

import pytest

from sumpwright.cli.commands import COMMANDS, app
from sumpwright.job import describe
from tests.house.evidence_page import PAGE, evidence_page, measured
from tests.house.findings_page import PAGE as FINDINGS
from tests.house.findings_page import findings_page
from tests.house.marked_tests import marked_tests
from tests.house.page_blocks import PAGES, page_with_real_blocks
from tests.house.repository import DOCS, PACKAGE, ROOT
from tests.house.third_party_page import PAGE as THIRD_PARTY
from tests.house.third_party_page import licence_of, locked, third_party_page

STALE = "run: make docs"


def read(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def test_every_command_is_in_the_readme_and_every_listed_command_exists():
    real = {name for name in app if not name.startswith("-")}
    assert real == set(COMMANDS)
    readme = read("README.md")
    for name in COMMANDS:
        assert f"sumpwright {name}" in readme, f"README.md does not show 'sumpwright {name}'"


def test_the_readme_opens_with_the_job_and_its_two_commands():
    top = read("README.md").split("## ")[0]
    assert "make demo" in top
    assert "make test" in top


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_the_outputs_shown_on_the_page_are_real(page: Path):
    assert page_with_real_blocks(page.read_text("utf-8")) == page.read_text("utf-8"), STALE


def test_every_picture_of_the_pages_is_there_and_small():
    for page in DOCS.rglob("*.md"):
        for name in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", page.read_text("utf-8")):
            picture = page.parent / name
            assert picture.is_file(), f"{page.name} shows {name}"
            assert picture.stat().st_size < 200_000, f"{name} is large"


def test_the_architecture_page_names_every_folder():
    page = read("ARCHITECTURE.md")
    for path in PACKAGE.glob("*/__init__.py"):
        assert re.search(rf"\b{path.parent.name}\b", page), (
            f"ARCHITECTURE.md does not name {path.parent.name}"
        )


def test_decisions_are_numbered_without_holes_and_answer_the_four_questions():
    pages = sorted((DOCS / "decisions").glob("*.md"))
    assert [int(page.name[:4]) for page in pages] == list(range(1, len(pages) + 1))
    for page in pages:
        text = page.read_text("utf-8")
        for heading in ("## Question", "## Choice", "## Cost", "## Look again"):
            assert heading in text, f"{page.name} lacks '{heading}'"


def test_the_list_of_findings_is_fresh():
    assert FINDINGS.read_text("utf-8") == findings_page(), STALE


def test_the_job_file_page_is_fresh():
    assert read("docs/job-file.md") == describe(), STALE


def test_the_evidence_page_is_fresh():
    """Formulas, sources, marks and places as they are now; deviations as last measured."""
    assert PAGE.read_text("utf-8") == evidence_page(measured()), STALE


def test_no_deviation_is_kept_of_a_test_that_is_gone():
    gone = sorted(set(measured()) - {test.node for test in marked_tests() if test.marks})
    assert not gone, f"{STALE} (measured once, no longer there: {', '.join(gone)})"


def test_the_page_of_third_parties_is_fresh():
    assert THIRD_PARTY.read_text("utf-8") == third_party_page(), STALE


def test_every_locked_package_may_be_used_and_is_the_installed_one():
    """Permissive licences, file-wise copyleft at most; nothing that binds the whole program."""
    for name, version in locked().items():
        assert metadata.version(name) == version, f"{name}: make setup"
        if name == "docutils":
            continue  # makes the site only; its GPL part is an editor's mode that is not used or passed on
        licence = licence_of(name)
        assert not re.search(r"\bA?GPL|Affero|General Public", licence), f"{name}: {licence}"
