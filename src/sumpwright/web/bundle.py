"""The built page: read once, handed out by name, nothing else from the disk."""

from __future__ import annotations

import mimetypes
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable

_NOT_BUILT = b"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Sumpwright</title></head>
<body><h1>The page has not been built</h1>
<p>The program is here, its page is not. In the source folder run <code>make page</code>, which needs
Node, then open the job again.</p></body></html>
"""
_KINDS = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html; charset=utf-8",
    ".woff2": "font/woff2",
}


@dataclass(frozen=True, slots=True)
class Asset:
    """One file of the page."""

    kind: str  # of its content
    body: bytes


def bundle() -> dict[str, Asset]:
    """Every file of the page by its path, "/" and "/assets/...": nothing else is ever served as a file."""
    folder = resources.files("sumpwright.web").joinpath("static")
    found: dict[str, Asset] = {}
    index = folder.joinpath("index.html")
    if not index.is_file():
        return {"/": Asset(_KINDS[".html"], _NOT_BUILT)}
    found["/"] = Asset(_KINDS[".html"], index.read_bytes())
    assets = folder.joinpath("assets")
    if assets.is_dir():
        _gather(assets, "/assets", found)
    return found


def is_built() -> bool:
    """Whether the page was built into this copy of the program."""
    return resources.files("sumpwright.web").joinpath("static").joinpath("index.html").is_file()


def _gather(folder: Traversable, path: str, found: dict[str, Asset]) -> None:
    for item in folder.iterdir():
        here = f"{path}/{item.name}"
        if item.is_dir():
            _gather(item, here, found)
        else:
            ending = f".{item.name.rpartition('.')[2]}"
            kind = _KINDS.get(ending) or mimetypes.guess_type(item.name)[0] or "application/octet-stream"
            found[here] = Asset(kind, item.read_bytes())
