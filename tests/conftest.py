"""Every test of a number says where the number comes from, and how close it came is measured.

``@pytest.mark.expected_from(kind, where)`` says where. While ``make docs`` runs, each
comparison with ``pytest.approx`` or ``numpy.testing.assert_allclose`` inside a marked test
is watched, and the largest deviation of every test goes to docs/evidence.json, from which
the evidence page is written. In an ordinary run nothing is watched.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.house.deviations import KINDS, Deviations, Evidence

# The suite's own processes share the cores already; a second one for each pack would only add to it.
os.environ.setdefault("SUMPWRIGHT_ONE_PROCESS", "1")

MEASURED = pytest.StashKey[Deviations]()
FAILED: set[str] = set()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--measure-evidence",
        metavar="FILE",
        help="run the marked tests only and write their largest deviations to FILE",
    )


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--measure-evidence"):
        config.stash[MEASURED] = Deviations()
        config.stash[MEASURED].watch()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        for mark in item.iter_markers("expected_from"):
            kind, where = (*mark.args, "", "")[:2]
            if kind not in KINDS or not str(where).strip():
                raise pytest.UsageError(
                    f"{item.nodeid}: expected_from needs a kind ({', '.join(KINDS)})"
                    " and where the number stands"
                )
    if MEASURED in config.stash:
        marked = [item for item in items if item.get_closest_marker("expected_from")]
        config.hook.pytest_deselected(items=[item for item in items if item not in set(marked)])
        items[:] = marked


def pytest_runtest_setup(item: pytest.Item) -> None:
    if MEASURED in item.config.stash:
        item.config.stash[MEASURED].test = item.nodeid.split("[")[0]


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """A test that fails has no evidence to give."""
    if report.failed:
        FAILED.add(report.nodeid.split("[")[0])


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Each worker leaves its rows beside the file; the one that started them puts them together."""
    config = session.config
    if MEASURED not in config.stash:
        return
    path = Path(config.getoption("--measure-evidence"))
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    rows = config.stash[MEASURED].rows()
    if worker:
        path = path.with_name(f"{path.name}.{worker}")
    for part in [] if worker else sorted(path.parent.glob(f"{path.name}.gw*")):
        rows |= json.loads(part.read_text("utf-8"))
        part.unlink()
    rows = {test: row for test, row in rows.items() if test not in FAILED}
    path.write_text(json.dumps(rows, indent=1, ensure_ascii=False, sort_keys=True) + "\n", "utf-8")


@pytest.fixture
def evidence(request: pytest.FixtureRequest) -> Evidence:
    """``evidence.record(name, got, expected, tolerance)``: assert, and keep how close it came."""
    return Evidence(request.config.stash.get(MEASURED, None))
