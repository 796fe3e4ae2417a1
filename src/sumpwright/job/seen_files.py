"""Reading scans and pictures: points, triangles and grey pixels, or what is wrong with the file."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre
from sumpwright.rail.picture_model import GreyArray, grey_array

LARGEST_SCAN = 600 * 1024 * 1024
LARGEST_PICTURE = 200 * 1024 * 1024
MOST_POINTS = 6_000_000
MOST_PIXELS = 80_000_000
"""A sheet of A3 at 600 dots per inch has seventy million."""
_SCREEN_DPI = 97.0
"""Resolutions up to this are what programs write when they know none."""


class UnusableFileError(Exception):
    """The file cannot be used; its text says why."""


@dataclass(frozen=True, slots=True, eq=False)
class ScanPoints:
    """What stands in a scan file."""

    points: FloatArray  # (n, 3)
    faces: IntArray | None  # (k, 3)


@dataclass(frozen=True, slots=True, eq=False)
class Pixels:
    """What stands in a picture file."""

    grey: GreyArray  # (rows, columns)
    own_pixel: Metre | None  # from its own resolution; None = it has none to be trusted


def scan_points(raw: bytes, ending: str) -> ScanPoints:
    """Points and triangles of a scan file; raises UnusableFileError."""
    try:
        points, faces = _read_scan(raw, ending)
    except UnusableFileError:
        raise
    except Exception as trouble:
        # Whatever a reader of such files stumbles over is the file's trouble, and is told.
        raise UnusableFileError(
            f"this is no whole {ending} file ({_first_words(trouble)}); save it again"
        ) from trouble
    if not len(points):
        raise UnusableFileError("the scan holds no points")
    if len(points) > MOST_POINTS:
        raise UnusableFileError(f"the scan holds more than {MOST_POINTS:,} points; thin it out")
    if faces is not None:
        if not len(faces):
            faces = None
        elif faces.min() < 0 or faces.max() >= len(points):
            raise UnusableFileError("a triangle of the scan names a point that is not there; save it again")
    points = np.ascontiguousarray(points, dtype=np.float64)
    points.setflags(write=False)
    if faces is not None:
        faces = np.ascontiguousarray(faces, dtype=np.int64)
        faces.setflags(write=False)
    return ScanPoints(points, faces)


def _first_words(trouble: Exception) -> str:
    words = " ".join(str(trouble).split())
    words = "".join(letter if letter.isprintable() else "?" for letter in words)
    return words[:70] or type(trouble).__name__


def _read_scan(raw: bytes, ending: str) -> tuple[FloatArray, IntArray | None]:
    if ending == "stl":
        if len(raw) >= 84 and len(raw) == 84 + 50 * int.from_bytes(raw[80:84], "little"):
            return _binary_stl(raw)
        if not raw[:512].lstrip().lower().startswith(b"solid") or b"facet" not in raw[:4096]:
            raise UnusableFileError("this is no whole stl file: it ends early, or is another kind of file")
    if ending == "xyz":
        return _table(raw.splitlines(), (0, 1, 2)), None
    if ending == "obj":
        return _obj(raw)
    return _by_library(raw, ending)


def _binary_stl(raw: bytes) -> tuple[FloatArray, IntArray]:
    """Triangles with their shared corners made one."""
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    corners = np.frombuffer(raw, kind, offset=84)["corners"].reshape(-1, 3) + np.float32(0.0)
    if len(corners) > 6 * MOST_POINTS:
        raise UnusableFileError(f"the scan holds more than {2 * MOST_POINTS:,} triangles; thin it out")
    bits = corners.view(np.uint32).astype(np.uint64)
    key = bits[:, 0] * np.uint64(0x9E3779B97F4A7C15)
    key ^= (bits[:, 1] * np.uint64(0xC2B2AE3D27D4EB4F)) ^ (key >> np.uint64(29))
    key ^= (bits[:, 2] * np.uint64(0x165667B19E3779F9)) ^ (key >> np.uint64(32))
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    return corners[first].astype(np.float64), inverse.reshape(-1, 3).astype(np.int64)


def _table(lines: list[bytes], columns: tuple[int, ...]) -> FloatArray:
    first = next((line for line in lines if line.strip() and not line.lstrip().startswith(b"#")), b"")
    mark = next((m for m in (b";", b",") if m in first), None)
    if mark is not None:
        lines = [line.replace(mark, b" ") for line in lines]
    table = np.loadtxt(lines, usecols=columns, ndmin=2, comments="#", encoding="latin-1")
    return np.asarray(table, dtype=np.float64)


def _obj(raw: bytes) -> tuple[FloatArray, IntArray | None]:
    lines = raw.splitlines()
    corners = [line for line in lines if line[:2] == b"v "]
    if not corners:
        raise UnusableFileError("the obj file holds no points")
    points = _table(corners, (1, 2, 3))
    triangles = []
    plain = [line.split() for line in lines if line[:2] == b"f "]
    for count in sorted({len(parts) for parts in plain}):
        if count < 4:
            continue
        rows = [[part.partition(b"/")[0] for part in parts[1:]] for parts in plain if len(parts) == count]
        at = np.array(rows).astype(np.int64)
        at = np.where(at < 0, at + len(points), at - 1)
        triangles += [at[:, [0, k, k + 1]] for k in range(1, count - 2)]
    return points, np.concatenate(triangles) if triangles else None


def _by_library(raw: bytes, ending: str) -> tuple[FloatArray, IntArray | None]:
    import trimesh

    found: Any = trimesh.load(io.BytesIO(raw), file_type=ending, process=False)
    if not isinstance(found, trimesh.Scene):
        faces = getattr(found, "faces", None)
        return np.asarray(found.vertices), None if faces is None else np.asarray(faces)
    parts, triangles, count = [], [], 0
    for node in found.graph.nodes_geometry:
        matrix, name = found.graph[node]
        piece: Any = found.geometry[name]
        points = np.asarray(piece.vertices) @ matrix[:3, :3].T + matrix[:3, 3]
        if hasattr(piece, "faces"):
            triangles.append(np.asarray(piece.faces) + count)
        parts.append(points)
        count += len(points)
    if not parts:
        raise UnusableFileError("the scan holds no points")
    return np.concatenate(parts), np.concatenate(triangles) if triangles else None


_KINDS = {"png": "PNG", "jpg": "JPEG", "jpeg": "JPEG", "tif": "TIFF", "tiff": "TIFF"}


def pixels(raw: bytes, ending: str) -> Pixels:
    """Grey pixels of a picture file, upright; raises UnusableFileError."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture: Any = Image.open(io.BytesIO(raw), formats=tuple(sorted(set(_KINDS.values()))))
            wide, high = picture.size
            if wide * high > MOST_PIXELS:
                raise _too_large()
            dpi = picture.info.get("dpi")
            picture.load()
            picture = ImageOps.exif_transpose(picture)
            grey = _grey(picture)
    except UnusableFileError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_large() from None
    except Exception as trouble:
        # Whatever a reader of such files stumbles over is the file's trouble, and is told.
        raise UnusableFileError(
            f"this is no whole {_KINDS[ending]} picture ({_first_words(trouble)}); save it again"
        ) from trouble
    if min(grey.shape) < 50:
        raise UnusableFileError("the picture is less than 50 pixels wide or high")
    return Pixels(grey_array(grey), _own_pixel(dpi))


def _too_large() -> UnusableFileError:
    return UnusableFileError(
        f"the picture has more than {MOST_PIXELS:,} pixels; scan it at 300 dots per inch"
    )


def _grey(picture: Any) -> Any:
    """As grey of eight bits, what is see-through becoming white."""
    from PIL import Image

    if picture.mode in ("I;16", "I;16L", "I;16B", "I", "F"):
        deep = np.asarray(picture, dtype=np.float64)
        most = float(deep.max())
        full = 255.0 if most <= 255.0 and picture.mode == "F" else 65535.0
        return np.clip(np.round(deep * 255.0 / full), 0, 255)
    if "A" in picture.getbands() or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        white = Image.new("RGBA", picture.size, "white")
        white.alpha_composite(picture)
        picture = white
    return np.asarray(picture.convert("L"))


def _own_pixel(dpi: Any) -> Metre | None:
    try:
        across = float(dpi[0])
    except (TypeError, ValueError, IndexError, ZeroDivisionError):
        return None
    return 0.0254 / across if _SCREEN_DPI < across < 10_000.0 else None
