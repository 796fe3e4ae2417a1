"""The pages in docs/ build into a site without a warning, and load nothing from elsewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from tests.house.repository import DOCS

_LOADED = re.compile(r"""(?:src|href)=["'](?:https?:)?//[^"']+["'][^>]*""")


def test_the_site_builds_and_stands_alone(tmp_path: Path):
    built = subprocess.run(
        [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-b", "html", str(DOCS), str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    pages = {
        path.relative_to(tmp_path).as_posix(): path.read_text("utf-8") for path in tmp_path.rglob("*.html")
    }
    assert {"index.html", "when-not-to-trust-it.html", "evidence.html", "findings.html"} <= set(pages)
    for name, page in pages.items():
        loaded = [tag for tag in _LOADED.findall(page) if 'rel="' not in tag or "stylesheet" in tag]
        assert not loaded, f"{name} loads {loaded[0]}"
    for name, page in pages.items():
        raw = re.sub(r"<(pre|code)\b.*?</\1>", "", page, flags=re.DOTALL)
        assert not re.search(r"\$\$|\\tag\{", raw), f"{name} shows an equation as text"
    # Every page of docs/ can be reached from the first one.
    made = {path.with_suffix(".html").relative_to(DOCS).as_posix() for path in DOCS.rglob("*.md")}
    assert made <= set(pages)
