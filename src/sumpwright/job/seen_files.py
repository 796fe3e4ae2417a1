"""Reading scans and pictures: points, triangles and grey pixels, or what is wrong with the file."""

from __future__ import annotations

import io
import re
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
_POINT, _RIM = (b"v ", b"v\t"), (b"f ", b"f\t")
_PIECE = 8 * 1024 * 1024
"""So much of a text is taken apart at once, bytes."""
_SCREEN_DPI = 97.0
"""Resolutions up to this are what programs write when they know none."""


_Keys = np.ndarray[Any, np.dtype[np.uint64]]


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
    order = _alike_together(key)
    key = key[order]
    is_new = np.concatenate(([True], key[1:] != key[:-1]))
    starts = np.flatnonzero(is_new)
    first = np.minimum.reduceat(order, starts)
    # Numbered as they are met in the file: neighbours stay near each other in memory.
    rank = np.empty(len(first), dtype=np.int64)
    by_file = np.argsort(first)
    rank[by_file] = np.arange(len(first))
    inverse = np.empty(len(key), dtype=np.int64)
    inverse[order] = rank[np.cumsum(is_new) - 1]
    return corners[first[by_file]].astype(np.float64), inverse.reshape(-1, 3)


def _alike_together(key: _Keys) -> IntArray:
    """An order in which equal keys (n,) stand together, each lot in the order of the file.

    The upper part of each key and its place make one number; sorting numbers is several times
    faster than sorting places by numbers. Unlike keys with the same upper part are few.
    """
    bits = np.uint64(max(int(len(key) - 1).bit_length(), 1))
    low = np.uint64((1 << int(bits)) - 1)
    packed = (key & ~low) | np.arange(len(key), dtype=np.uint64)
    packed.sort()
    order = (packed & low).astype(np.int64)
    upper, whole = packed >> bits, key[order]
    mixed = upper[np.flatnonzero((upper[1:] == upper[:-1]) & (whole[1:] != whole[:-1]))]
    for one in np.unique(mixed).tolist():
        lot = slice(*np.searchsorted(upper, np.array([one, one + 1], dtype=np.uint64)).tolist())
        order[lot] = order[lot][np.argsort(whole[lot], kind="stable")]
    return order


def _table(lines: list[bytes], columns: tuple[int, ...]) -> FloatArray:
    first = next((line for line in lines if line.strip() and not line.lstrip().startswith(b"#")), b"")
    if not first:
        raise UnusableFileError("the scan holds no points")
    mark = next((m for m in (b";", b",") if m in first), None)
    if mark is not None:
        lines = [line.replace(mark, b" ") for line in lines]
    table = np.loadtxt(lines, usecols=columns, ndmin=2, comments="#", encoding="latin-1")
    return np.asarray(table, dtype=np.float64)


def _obj(raw: bytes) -> tuple[FloatArray, IntArray | None]:
    corners: list[FloatArray] = []
    triangles: list[IntArray] = []
    count, begin = 0, 0
    while begin < len(raw):
        # A piece at a time: lists of lines take many times the room of the file.
        end = raw.find(b"\n", min(begin + _PIECE, len(raw) - 1)) + 1 or len(raw)
        lines = raw[begin:end].splitlines()
        begin = end
        places = [line[2:] for line in lines if line[:2] in _POINT]
        if places:
            per_line, figures = _figures(places)
            if per_line.min() < 3:
                raise UnusableFileError("a point of the obj file has fewer than three figures; save it again")
            starts = np.cumsum(per_line) - per_line
            corners.append(figures[starts[:, None] + np.arange(3)])
            count += len(places)
        rims = [line[2:] for line in lines if line[:2] in _RIM]
        if rims:
            per_line, figures = _figures(rims, re.compile(rb"/[^ \t\n]*"))
            at = figures.astype(np.int64)
            starts = np.cumsum(per_line) - per_line
            if (at < 0).any():
                # Counted back from the points before this line.
                is_point = np.array([line[:2] in _POINT for line in lines])
                is_rim = np.array([line[:2] in _RIM for line in lines])
                so_far = (count - len(places) + np.cumsum(is_point))[is_rim]
                at = np.where(at < 0, at + np.repeat(so_far, per_line) + 1, at)
            at -= 1
            for corner in range(1, int(per_line.max()) - 1):
                first = starts[per_line > corner + 1]
                triangles.append(np.stack((at[first], at[first + corner], at[first + corner + 1]), axis=1))
    if not corners:
        raise UnusableFileError("the obj file holds no points")
    return np.concatenate(corners), np.concatenate(triangles) if triangles else None


def _figures(lines: list[bytes], left_out: re.Pattern[bytes] | None = None) -> tuple[IntArray, FloatArray]:
    """How many figures stand in each line, and all of them in a row."""
    text = b"\n".join(lines) + b"\n"
    if left_out is not None and b"/" in text:
        text = left_out.sub(b"", text)
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)
        figures = np.fromstring(text, sep=" ")
    if len(figures) == 3 * len(lines):
        # No point and no triangle has fewer, so all have three: nothing to count.
        return np.full(len(lines), 3), figures
    letters = np.frombuffer(text, np.uint8)
    is_gap = letters <= 32
    begins = ~is_gap & np.concatenate(([True], is_gap[:-1]))
    line = np.cumsum(letters == 10)
    per_line = np.bincount(line[begins], minlength=len(lines))[: len(lines)]
    if len(figures) != int(per_line.sum()):
        raise UnusableFileError("a line of the obj file holds what is no figure; save it again")
    return per_line, figures


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
