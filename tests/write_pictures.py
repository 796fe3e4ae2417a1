"""Write the pictures of docs/first-pan.md from the job that its own blocks make.

``python -m tests.write_pictures`` runs the page's commands, draws pages of the pack, and looks at the job in
the browser page (for that the page must be built and Chromium installed).
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.house.page_blocks import TUTORIAL, page_with_real_blocks
from tests.house.repository import DOCS, ROOT

PICTURES = DOCS / "pictures"
# File of the pack, words that the page to show begins with, name of the picture.
PAGES = (
    ("template.pdf", "page A1", "template"),
    ("job-sheet.pdf", "page 1 of", "job-sheet"),
    ("weld-map.pdf", "page 2 of", "weld-map"),
    ("bench-sheet.pdf", "page 2 of", "bench-sheet"),
)
_WIDTH = 900  # pixels


def main() -> int:
    """0 when every picture is written."""
    PICTURES.mkdir(exist_ok=True)
    text = TUTORIAL.read_text("utf-8")
    TUTORIAL.write_text(page_with_real_blocks(text, _all_pictures), "utf-8")
    return 0


def _all_pictures() -> None:
    import pypdfium2

    for name, words, picture in PAGES:
        with pypdfium2.PdfDocument(Path("first-pan/pack", name)) as document:
            page = next(p for p in document if words in p.get_textpage().get_text_range()[:200])
            _keep(page.render(scale=_WIDTH / page.get_width()).to_pil(), picture)
    _of_the_page(Path("first-pan"))


def _of_the_page(folder: Path) -> None:
    """The section Oil in the browser, once its figures are fresh."""
    import io

    from PIL import Image
    from playwright.sync_api import sync_playwright

    from tests.page.conftest import FLAGS, SETTLED, chromium, near, settle

    server = subprocess.Popen(
        [sys.executable, "-m", "tests.page.serve_one", str(folder.resolve())],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert server.stdout is not None
        address = server.stdout.readline().strip()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
            page = browser.new_page(viewport={"width": 1280, "height": 860})
            page.goto(address)
            page.wait_for_selector("#section-rail", timeout=SETTLED)
            settle(page)
            near(page, "oil")
            page.wait_for_selector("#section-oil .holder canvas", timeout=SETTLED)
            page.wait_for_timeout(3000)
            shown = page.screenshot()
            browser.close()
    finally:
        server.terminate()
        server.wait()
    _keep(Image.open(io.BytesIO(shown)), "page-oil")


def _keep(image: Any, name: str) -> None:
    """Written small: 48 greys or colours are enough for a page of lines and letters."""
    width, height = image.size
    if width > _WIDTH:
        image = image.resize((_WIDTH, round(height * _WIDTH / width)))
    image.convert("RGB").quantize(48).save(PICTURES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    sys.exit(main())
