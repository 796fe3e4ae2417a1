"""Scans of two million points, as a mesh and as loose points: time from the file's bytes, and memory.

Run: python -m benchmarks.scan
"""

from __future__ import annotations

import multiprocessing
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from tests.rail.gaskets import flatbed
from tests.rail.scans import MM, cloud, known, mesh

from benchmarks import Row
from sumpwright.job.seen_files import scan_points
from sumpwright.rail.picture import see_picture
from sumpwright.rail.scan import see_scan
from sumpwright.rail.scan_model import ScanInput

TARGET = "2 million points in under 10 s and 2 GB"


def _stl(scan: ScanInput) -> bytes:
    assert scan.faces is not None
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    table = np.zeros(len(scan.faces), kind)
    table["corners"] = scan.points[scan.faces]
    return b"\0" * 80 + len(table).to_bytes(4, "little") + table.tobytes()


def _ply(scan: ScanInput) -> bytes:
    import trimesh

    return bytes(trimesh.PointCloud(scan.points).export(file_type="ply"))


def _xyz(scan: ScanInput) -> bytes:
    return "\n".join(f"{x:.4f} {y:.4f} {z:.4f}" for x, y, z in scan.points.tolist()).encode()


def _most_memory() -> float:
    """Most memory this process has had, GB; Linux only, else nought."""
    status = Path("/proc/self/status")
    lines = status.read_text().splitlines() if status.exists() else []
    return sum(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1e6


def _seen(path: str, answer: multiprocessing.queues.Queue) -> None:
    """Read and see one scan in a process of its own, so that its memory can be told."""
    raw = Path(path).read_bytes()
    before = _most_memory()
    begin, worked = time.perf_counter(), time.process_time()
    found = scan_points(raw, path.rpartition(".")[2])
    del raw
    read = time.perf_counter() - begin
    seen = see_scan(ScanInput("s", "old pan", found.points, found.faces, None), known())
    took, worked = time.perf_counter() - begin, time.process_time() - worked
    most = _most_memory()
    named = sum(hole.name is not None for hole in seen.holes)
    answer.put((took, worked, read, len(found.points), most, before, named))


def run() -> list[Row]:
    """The rows of the speed table."""
    rows = []
    spawn = multiprocessing.get_context("spawn")
    strewn = cloud(spacing=0.143 * MM, seed=1)
    made = (
        ("scan.stl", lambda: _stl(mesh(spacing=0.114 * MM, seed=1))),
        ("scan.ply", lambda: _ply(strewn)),
        ("scan.xyz", lambda: _xyz(strewn)),
    )
    with TemporaryDirectory() as folder:
        for name, make in made:
            path = Path(folder) / name
            path.write_bytes(make())
            answer = spawn.Queue()
            process = spawn.Process(target=_seen, args=(str(path), answer))
            process.start()
            took, worked, read, count, most, before, named = answer.get()
            process.join()
            path.unlink()
            rows.append(
                Row(
                    f"{name[5:]} of {count / 1e6:.1f} million points",
                    took,
                    target=TARGET,
                    note=f"{worked:.1f} s of work, {read:.1f} s reading; at most {most:.2f} GB, "
                    f"{before:.2f} GB of it the file and libraries; {named} of 12 holes named",
                )
            )
    picture, _ = flatbed(pixel=25.4e-3 / 300)
    begin = time.perf_counter()
    seen = see_picture(picture, known())
    rows.append(
        Row(
            f"gasket picture of {picture.grey.size / 1e6:.0f} million pixels",
            time.perf_counter() - begin,
            note=f"{sum(hole.name is not None for hole in seen.holes)} of 12 holes named",
        )
    )
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work}: {row.ours:.2f} s; {row.note}")
