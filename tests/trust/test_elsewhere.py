"""The same job on another machine: other time zone, language, threads, checkout, and no network at all."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.repository import ROOT
from tests.jobs.laid_out import everything_below, laid_out

SOAK = os.environ.get("SUMPWRIGHT_SOAK") == "1"
NO_NETWORK = """
import socket, sys

def refuse(*_, **__):
    raise OSError("this run has no network")

socket.socket.connect = refuse
socket.socket.bind = refuse
socket.create_connection = refuse
socket.getaddrinfo = refuse
from sumpwright.cli.door import main
sys.exit(main(sys.argv[1:]))
"""


def _packed(job: Path, source: Path, **settings: str) -> dict[str, str]:
    """Hash of every file of the pack that a process of its own writes."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("LC_", "LANG", "TZ"))}
    run = subprocess.run(
        [sys.executable, "-c", NO_NETWORK, "pack", str(job)],
        env=kept | {"PYTHONPATH": str(source)} | settings,
        cwd=job.parent,
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )
    assert run.returncode in (0, 1), run.stderr
    assert "no network" not in run.stderr
    return {name: hashlib.sha256(text).hexdigest() for name, text in everything_below(job / "pack").items()}


@pytest.mark.expected_from("property", "the same bytes whatever the machine's habits are")
def test_the_same_pack_on_another_machine(tmp_path: Path) -> None:
    here = _packed(
        laid_out(tmp_path / "one", "slope-chipper-adapter"),
        ROOT / "src",
        TZ="UTC",
        LC_ALL="C.UTF-8",
        NUMBA_NUM_THREADS="1",
        OPENBLAS_NUM_THREADS="1",
        PYTHONHASHSEED="1",
    )
    checkout = ROOT / "src"
    if SOAK:  # a fresh checkout compiles its numeric code anew: minutes
        checkout = tmp_path / "another checkout" / "source"
        shutil.copytree(ROOT / "src", checkout, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    there = _packed(
        laid_out(tmp_path / "two", "slope-chipper-adapter"),
        checkout,
        TZ="Pacific/Auckland",
        LC_ALL="de_DE.UTF-8",  # decimal comma, where the machine has it
        NUMBA_NUM_THREADS="2",
        OPENBLAS_NUM_THREADS="2",
        PYTHONHASHSEED="2",
    )
    assert len(here) > 15
    assert there == here
