"""THIRD_PARTY.md: every package of the lock with its licence, as its own metadata gives it."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata

from tests.house.repository import ROOT

PAGE = ROOT / "THIRD_PARTY.md"
_PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^\s;]+)", re.MULTILINE)
_LONG = 60  # a licence field longer than this is the licence's text, not its name

HEAD = """# What Sumpwright stands on

Written by `make docs` from `requirements.lock` and from what each package says of itself. Nothing of it is
copied into this repository or into the wheel; it is installed from its own packages. *Ours* names the part of
`pyproject.toml` that asks for it; without a word there, another package does.

| package | version | licence | ours |
|---|---|---|---|
"""

BROWSER_HEAD = """
## In the browser page
Bundled into the wheel by `npm run build`, from `page/package-lock.json`; their licence texts travel with the
bundle.

| package | version | licence |
|---|---|---|
"""


def locked() -> dict[str, str]:
    """Version of each package in the lock, by its normalised name."""
    text = (ROOT / "requirements.lock").read_text("utf-8")
    return {_plain(name): version for name, version in _PIN.findall(text)}


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def licence_of(name: str) -> str:
    """Short name of a package's licence; 'not said' where its metadata has none."""
    about = metadata.metadata(name)
    expression = about.get("License-Expression")
    if expression:
        return expression
    classes = [
        entry.split("::")[-1].strip()
        for entry in about.get_all("Classifier") or []
        if entry.startswith("License ::") and not entry.endswith("OSI Approved")
    ]
    if classes:
        return ", ".join(sorted(set(classes)))
    field = " ".join((about.get("License") or "").split())
    if field and len(field) <= _LONG:
        return field
    return field[:_LONG].rsplit(" ", 1)[0] + " ..." if field else _first_line_of_text(name)


def _first_line_of_text(name: str) -> str:
    """What the licence file begins with, where the metadata name no licence."""
    for file in metadata.files(name) or []:
        if re.match(r"LICEN[SC]E|COPYING", file.name, re.IGNORECASE):
            lines = [line.strip() for line in file.read_text("utf-8").splitlines() if line.strip()]
            return f"its text begins: {lines[0][:_LONG]}" if lines else "not said"
    return "not said"


def asked_for() -> dict[str, str]:
    """Which part of pyproject.toml names a package."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    found = {}
    parts = {"program": project["dependencies"], **project["optional-dependencies"]}
    for part, names in parts.items():
        for line in names:
            name = _plain(re.split(r"[<>=!~\[; ]", line, maxsplit=1)[0])
            found.setdefault(name, part)
    return found


def third_party_page() -> str:
    """The page as it must stand."""
    asked = asked_for()
    rows = [
        f"| {name} | {version} | {licence_of(name).replace('|', '/')} | {asked.get(name, '')} |"
        for name, version in sorted(locked().items())
    ]
    return HEAD + "\n".join(rows) + "\n" + _browser()


def _browser() -> str:
    import json

    lock = ROOT / "page" / "package-lock.json"
    if not lock.is_file():
        return ""
    packages = json.loads(lock.read_text("utf-8"))["packages"]
    rows = [
        f"| {path.removeprefix('node_modules/')} | {about['version']} | {about.get('license', 'not said')} |"
        for path, about in sorted(packages.items())
        if path and not about.get("dev")
    ]
    return BROWSER_HEAD + "\n".join(rows) + "\n"
