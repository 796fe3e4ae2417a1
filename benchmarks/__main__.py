"""Run every benchmark, print the table, and write benchmarks/results.md.

``python -m benchmarks [word ...]`` runs the modules whose name holds a word, and then only
prints. A module takes part by having ``run() -> list[Row]``.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import platform
import sys
from importlib import metadata
from pathlib import Path

from benchmarks import Row

RESULTS = Path(__file__).parent / "results.md"
LIBRARIES = ("numpy", "scipy", "numba", "manifold3d", "shapely", "trimesh")
COLUMNS = ("work", "ours", "reference", "ratio", "target", "note")


def machine() -> str:
    """What the numbers were measured on."""
    model = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        names = [
            line.partition(":")[2].strip() for line in info.read_text().splitlines() if "model name" in line
        ]
        model = names[0] if names else model
    return f"{model}, {len(os.sched_getaffinity(0))} cores usable, {platform.system()}"


def versions() -> str:
    named = [f"{name} {metadata.version(name)}" for name in ("sumpwright", *LIBRARIES)]
    return ", ".join([f"Python {platform.python_version()}", *named])


def seconds(value: float | None) -> str:
    """A time in a unit that leaves three digits."""
    if value is None:
        return ""
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "us")):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{value * 1e9:.3g} ns"


def row_texts(row: Row) -> tuple[str, ...]:
    reference = seconds(row.reference)
    if reference and row.reference_name:
        reference += f" ({row.reference_name})"
    ratio = "" if row.ratio is None else f"{row.ratio:,.3g}"
    return (row.work, seconds(row.ours), reference, ratio, row.target, row.note)


def table(rows: list[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def main(words: list[str]) -> int:
    names = sorted(
        module.name
        for module in pkgutil.iter_modules([str(Path(__file__).parent)])
        if not module.name.startswith("_") and (not words or any(word in module.name for word in words))
    )
    if not names:
        print(f"No benchmark is called like {' or '.join(words)}.", file=sys.stderr)
        return 2
    rows: list[tuple[str, ...]] = []
    for name in names:
        module = importlib.import_module(f"benchmarks.{name}")
        if hasattr(module, "run"):
            print(f"{name} ...", file=sys.stderr, flush=True)
            rows.extend(row_texts(row) for row in module.run())
    page = f"# Speed\n\nWritten by `make bench`. {machine()}.\n{versions()}.\n\n{table(rows)}\n"
    print(page)
    if not words:
        RESULTS.write_text(page, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
