"""Killed with no warning while it writes: the record and the shop file are the old ones or the new ones."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

from sumpwright.job.record_files import FOLDER, entries, store

TEXT = '[record]\njob = "Test pan"\ndate = "2026-03-{day:02d}"\nnote = "{note}"\n'
CHILD = """
import sys
from pathlib import Path
from sumpwright.job.record_files import store
from sumpwright.job.shop_lesson import BowLesson, teach_shop
folder, first = Path(sys.argv[1]), int(sys.argv[2])
print("ready", flush=True)
sys.stdin.readline()
for number in range(first, first + 1000):
    store(folder, 'TEXT'.format(day=1 + number % 28, note=f"{number} " * 40))
    teach_shop(folder, BowLesson(f"pan {number}", "5052-H32", 0.0004, 0.0016, 0.0011))
""".replace("'TEXT'", repr(TEXT))


KILLS = 200 if os.environ.get("SUMPWRIGHT_SOAK") == "1" else 3


def kill_often(folder: Path, times: int, seed: int) -> None:
    """A real process that writes without pause, killed at a random moment; looked at after each."""
    rng = random.Random(seed)
    shop = folder / "shop.toml"
    lines = shop.read_text("utf-8")
    store(folder, TEXT.format(day=1, note="before"))
    for turn in range(times):
        before = {path.name: path.read_bytes() for path in (folder / FOLDER).glob("[0-9]*.toml")}
        child = subprocess.Popen(
            [sys.executable, "-c", CHILD, str(folder), str(1000 * (turn + 1))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert child.stdin is not None
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        child.stdin.write("go\n")
        child.stdin.flush()
        time.sleep(rng.uniform(0.0, 0.06))
        child.send_signal(signal.SIGKILL)
        child.wait()
        whole, trouble = entries(folder)
        # Nothing that was kept is touched; what is new is whole; at most one is left in the making.
        assert all((folder / FOLDER / name).read_bytes() == raw for name, raw in before.items())
        assert len(whole) >= len(before)
        assert all(name.endswith(".part") for name, _ in trouble)
        assert shop.read_text("utf-8").startswith(lines)
        data = tomllib.loads(shop.read_text("utf-8"))
        assert all(len(record) == 5 for record in data.get("pan_records", []))
        # The next entry goes in as ever, and takes away what the dead run left.
        store(folder, TEXT.format(day=2, note=f"after kill {turn}"))
        whole, trouble = entries(folder)
        assert not trouble
        assert whole[-1].text.endswith(f'"after kill {turn}"\n')


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    from tests.jobs.laid_out import laid_out

    return laid_out(tmp_path, "hillclimb-four")


@pytest.mark.soak
@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
@pytest.mark.expected_from("property", "old state or new one, whole, whenever the process dies")
def test_killed_at_random_moments(folder: Path) -> None:
    kill_often(folder, KILLS, seed=1)
