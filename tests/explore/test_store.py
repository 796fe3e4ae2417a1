"""The store: ours or left alone, read by anybody, small beside what it holds."""

from __future__ import annotations

import sqlite3
import tracemalloc

import pytest

from sumpwright.explore.crew import Alone
from sumpwright.explore.explore import explore
from sumpwright.explore.model import Answer
from sumpwright.explore.store import Store, StoreError
from tests.explore.problems import Timed, timed_question


def test_a_file_that_is_not_ours_is_left_alone(tmp_path):
    path = tmp_path / "answers.sqlite"
    path.write_text("my own notes, " * 200)
    with pytest.raises(StoreError, match=r"answers\.sqlite"):
        Store(path)
    assert path.read_text().startswith("my own notes")
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE recipes (name TEXT)")
    with pytest.raises(StoreError, match="no store of this program"):
        Store(other)


def test_another_version_is_not_written_over(tmp_path):
    path = tmp_path / "answers.sqlite"
    with Store(path):
        pass
    with sqlite3.connect(path) as db:
        db.execute("UPDATE about SET schema = 'sumpwright-explored-0'")
    with pytest.raises(StoreError, match="sumpwright-explored-0"):
        Store(path)


def test_anybody_can_ask_it(tmp_path):
    path = tmp_path / "answers.sqlite"
    with Store(path) as store:
        explore(timed_question(Timed(30)), "plan", store, Alone())
    with sqlite3.connect(path) as db:
        (least,) = db.execute("SELECT MIN(value) FROM found WHERE answer = 'f1'").fetchone()
        (says,) = db.execute(
            "SELECT says FROM variants JOIN found USING (variant) WHERE answer = 'f1' AND value = ?", (least,)
        ).fetchone()
    assert least == 0.0
    assert says == '["0"]'


def test_holding_many_variants_together_takes_no_more_memory_than_few():
    """Known variants walked through again; the file's own pages are not counted, being a file's elsewhere."""
    peaks = []
    for count in (4000, 20_000):
        work = Timed(count)
        with Store(None) as store:
            for k in range(count):
                store.add(work.variant((k,)), (str(k),), {"f1": Answer(float(-k)), "f2": Answer(1.0)})
            tracemalloc.start()
            explore(timed_question(work), "plan", store, Alone())
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
    assert peaks[1] < peaks[0] + 1_000_000, "bytes; twenty thousand rows would be ten times that"
