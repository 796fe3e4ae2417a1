"""A built page, a browser without a screen, and one job served for it; skipped in words where missing."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from sumpwright.web.bundle import is_built

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "src" / "sumpwright" / "examples"
# Drawn by the processor alone, so that the result does not hang on a graphics card.
FLAGS = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--no-sandbox", "--disable-gpu-vsync"]
SETTLED = 420_000  # ms: on a bare machine all compiled code is made first, beside the other tests


@dataclass(frozen=True)
class Served:
    """A job folder and the address of its sheet."""

    folder: Path
    address: str

    def job_text(self) -> str:
        return (self.folder / "job.toml").read_text("utf-8")

    def ask(self, path: str) -> Any:
        """What the server answers without a page."""
        base, _, key = self.address.partition("/#key=")
        with urlopen(Request(base + path, headers={"Sumpwright-Key": key})) as answer:
            return json.load(answer)


def chromium() -> str | None:
    """Debian's Chromium, or what PATH has under its names."""
    return next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not is_built():
        pytest.skip("not run: the page has not been built (make page)")
    path = chromium()
    if path is None:
        pytest.skip("not run: Chromium is missing (on Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def serve(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Callable[[str], Served]]:
    """Serve a copy of an example, or an empty folder for the name ''."""
    running: list[subprocess.Popen[str]] = []

    def start(example: str) -> Served:
        folder = tmp_path_factory.mktemp("served") / "job"
        if example:
            shutil.copytree(EXAMPLES / example, folder)
        else:
            folder.mkdir()
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.page.serve_one", str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            stdout=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address.startswith("http://127.0.0.1:"), "the server did not come up"
        return Served(folder, address)

    yield start
    for process in running:
        process.terminate()
    for process in running:
        process.wait(20)


@pytest.fixture(scope="session")
def hillclimb(serve: Callable[[str], Served]) -> Served:
    """One copy and one warm server for all tests of the page."""
    return serve("hillclimb-four")


@pytest.fixture(scope="module")
def sheet(hillclimb: Served, browser: Browser) -> Iterator[Page]:
    """One page of it that is looked at and left as it was; a fault of the page fails the module."""
    page, faults = opened(browser, hillclimb, 1280, 900)
    yield page
    page.close()
    assert not faults


@pytest.fixture
def own(hillclimb: Served) -> Iterator[Served]:
    """The same job to change; afterwards its files are put back as by an editor outside."""
    before = {path: path.read_bytes() for path in hillclimb.folder.iterdir() if path.is_file()}
    yield hillclimb
    for path in hillclimb.folder.iterdir():
        if path.is_file() and not path.name.startswith(".") and path not in before:
            path.unlink()
    for path, text in before.items():
        if not path.name.startswith(".") and path.read_bytes() != text:
            path.write_bytes(text)
    hillclimb.ask("/sheet")


def opened(
    browser: Browser, served: Served, width: int, height: int, **more: object
) -> tuple[Page, list[str]]:
    """A page of it once everything on it is fresh, and the faults that it will have."""
    page = browser.new_page(viewport={"width": width, "height": height}, **more)  # type: ignore[arg-type]
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.goto(served.address)
    page.wait_for_selector("#section-rail", timeout=SETTLED)
    settle(page)
    return page, faults


@pytest.fixture
def open_sheet(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Open a sheet and wait until everything on it is fresh; a fault of the page fails the test."""
    pages: list[tuple[Page, list[str]]] = []

    def open_one(served: Served, width: int = 1280, height: int = 900, **more: object) -> Page:
        pages.append(opened(browser, served, width, height, **more))
        return pages[-1][0]

    yield open_one
    for page, _ in pages:
        page.close()
    assert [fault for _, faults in pages for fault in faults] == []


def until(page: Page, question: str, told: object = None, timeout: float = SETTLED) -> None:
    """Ask the page again and again until it says yes.

    The library's own waiting evaluates text inside the page, which the page's policy forbids.
    """
    end = time.monotonic() + timeout / 1e3
    while not page.evaluate(question, told):
        assert time.monotonic() < end, f"still not so: {question}"
        page.wait_for_timeout(80)


def settle(page: Page) -> None:
    """Until no quick stage is being worked out any more."""
    until(
        page,
        """() => document.querySelector('.working')?.textContent === ''
            && !document.querySelector('.paper.stale')
            && [...document.querySelectorAll('.verdicts li')].slice(0, 6)
                .every((one) => !one.textContent.includes('not yet'))""",
    )


def near(page: Page, section: str) -> None:
    """Scroll a section's picture into view and wait until it is drawn."""
    page.wait_for_selector(f"#section-{section} > .looks", state="attached", timeout=SETTLED)
    page.locator(f"#section-{section} > .looks").scroll_into_view_if_needed()
    page.wait_for_selector(f"#section-{section} > .looks figure", timeout=SETTLED)
    page.locator(f"#section-{section} > .looks figure").first.scroll_into_view_if_needed()
