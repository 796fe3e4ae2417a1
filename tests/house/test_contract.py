"""Data flows one way: the import contract holds, and no folder is missing from it."""

from __future__ import annotations

import configparser
import re
import subprocess
import sys

from tests.house.repository import PACKAGE, ROOT

LAYERS = {
    "quantities", "findings", "tables", "geometry", "rail", "body", "oil", "kit", "motion", "weld",
    "suction", "proof", "job", "outputs", "flow", "explore", "cli", "web",
}  # fmt: skip


def contract() -> configparser.ConfigParser:
    parser = configparser.ConfigParser()
    parser.read(ROOT / ".importlinter", "utf-8")
    return parser


def test_the_contract_holds():
    program = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    run = subprocess.run(
        [sys.executable, "-c", program, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr


def test_no_folder_is_missing_from_the_contract():
    layers = contract()["importlinter:contract:layers"]
    assert layers["exhaustive"] == "True"
    named = set(re.findall(r"\w+", layers["layers"]))
    assert named == LAYERS
    folders = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert folders <= named
    loose = {path.name for path in PACKAGE.glob("*.py")} - {"__init__.py", "__main__.py"}
    assert not loose, f"a file outside every layer: {loose}"


def test_the_two_sides_are_kept_apart_and_no_stage_sees_the_whole_job():
    oil_side = {"oil", "motion", "suction"} & {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    metal_side = {"kit", "weld", "proof"} & {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    for contract_name, sources, targets in (
        ("two-sides", oil_side, metal_side),
        ("two-sides-back", metal_side, oil_side),
        ("whole-job", oil_side | metal_side | {"rail", "body"}, {"job"}),
    ):
        section = contract()[f"importlinter:contract:{contract_name}"]
        assert {f"sumpwright.{name}" for name in sources} == set(section["source_modules"].split())
        assert {f"sumpwright.{name}" for name in targets} == set(section["forbidden_modules"].split())


def test_every_stage_folder_has_its_files():
    for stage in ("rail", "body", "oil", "kit"):
        for name in ("__init__", "model", "solve", "check"):
            assert (PACKAGE / stage / f"{name}.py").is_file(), f"{stage}/{name}.py is missing"
        assert list((PACKAGE / stage).glob("*formulas.py")), f"{stage} has no formulas"
