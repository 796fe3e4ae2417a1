"""A run as a small file that can be opened at any moment.

Layout: 6 bytes ``SWFS1`` and a line end, the frames one after the other, an index in JSON,
and the index's length as 8 bytes, low byte first. A frame is the share of oil of every open
cell in grid order, 0..200 for 0..1, deflated. The index names shape, origin, cell, the open
cells (deflated bits, base 64), and time and place of every frame.
"""

from __future__ import annotations

import base64
import json
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import IO

import numpy as np

from sumpwright.motion.free_surface.domain import Domain
from sumpwright.quantities.units import Second

MAGIC = b"SWFS1\n"
FULL = 200
SHADES = 25
"""So many steps of share are kept: finer ones are noise and fill the file."""


_DAMAGED = (
    EOFError,
    KeyError,
    TypeError,
    IndexError,
    ValueError,
    ArithmeticError,
    MemoryError,
    RecursionError,
    OSError,
    struct.error,
    zlib.error,
)


class ReplayWriter:
    """Writes frames as they come; the file is whole once closed."""

    def __init__(self, path: Path, domain: Domain, frames: list[list[float]] | None = None) -> None:
        """A new file; with ``frames``, what a stopped run has written of one goes on behind the last."""
        if frames and path.is_file():
            self._file: IO[bytes] = path.open("r+b")
            self._file.truncate(round(frames[-1][1] + frames[-1][2]))
            self._file.seek(0, 2)
        else:
            self._file = path.open("wb")
            self._file.write(MAGIC)
            frames = None
        self._open = domain.open_volume > 0.0
        bits = zlib.compress(np.packbits(self._open).tobytes(), 9)
        self._index: dict[str, object] = {
            "shape": list(domain.shape),
            "origin": [float(x) for x in domain.origin],
            "cell": float(domain.cell),
            "open": base64.b64encode(bits).decode("ascii"),
        }
        self._frames: list[list[float]] = [] if frames is None else [list(frame) for frame in frames]

    @property
    def frames(self) -> list[list[float]]:
        """Time, place, length in bytes and cover of each frame, on the disk by the time this returns."""
        self._file.flush()
        return self._frames

    def add(self, time: Second, rho: np.ndarray, cover: float) -> None:
        """One frame with the cover at that moment [m]."""
        values = (np.rint(np.clip(rho[self._open], 0.0, 1.0) * SHADES) * (FULL // SHADES)).astype(np.uint8)
        data = zlib.compress(values.tobytes(), 9)
        self._frames.append([float(time), float(self._file.tell()), float(len(data)), float(cover)])
        self._file.write(data)

    def close(self) -> None:
        """Write the index."""
        if self._file.closed:
            return
        self._index["frames"] = self._frames
        text = json.dumps(self._index, sort_keys=True).encode("ascii")
        self._file.write(text)
        self._file.write(struct.pack("<Q", len(text)))
        self._file.close()

    def __enter__(self) -> ReplayWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class Replay:
    """Reads single frames of a replay file; raises ValueError where it is none, or damaged."""

    def __init__(self, path: Path) -> None:
        self._path = path
        with self._told():
            self._read()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """A file that was cut short or damaged is told in one line, whatever it breaks."""
        try:
            yield
        except _DAMAGED as trouble:
            raise ValueError(f"{self._path.name} is no whole replay of a free-surface run") from trouble

    def _read(self) -> None:
        with self._path.open("rb") as file:
            if file.read(len(MAGIC)) != MAGIC:
                raise ValueError(f"{self._path.name} is no replay of a free-surface run")
            file.seek(-8, 2)
            (length,) = struct.unpack("<Q", file.read(8))
            file.seek(-8 - length, 2)
            index = json.loads(file.read(length))
        self.shape: tuple[int, int, int] = tuple(index["shape"])
        self.origin = np.array(index["origin"])
        self.cell = float(index["cell"])
        bits = zlib.decompress(base64.b64decode(index["open"]))
        size = int(np.prod(self.shape))
        self._open = np.unpackbits(np.frombuffer(bits, np.uint8))[:size].reshape(self.shape).astype(bool)
        self._frames = index["frames"]
        self.times = np.array([frame[0] for frame in self._frames])
        self.cover = np.array([frame[3] for frame in self._frames])
        self.open_cells: str = index["open"]  # deflated bits in grid order, base 64

    @property
    def places(self) -> list[int]:
        """First byte and length of each frame in the file, one after the other."""
        return [int(number) for _, start, length, _ in self._frames for number in (start, length)]

    def frame(self, number: int) -> np.ndarray:
        """Share of oil (nx, ny, nz) of one frame."""
        with self._told():
            _, start, length, _ = self._frames[number]
            with self._path.open("rb") as file:
                file.seek(int(start))
                values = np.frombuffer(zlib.decompress(file.read(int(length))), np.uint8)
            out = np.zeros(self.shape)
            out[self._open] = values / FULL
            return out
