"""Triangles from an STL file, text or binary. The format holds no unit: the caller says it."""

from __future__ import annotations

import re

import numpy as np

from sumpwright.quantities.units import FloatArray, frozen_array

_NUMBER = rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_VERTEX = re.compile(rb"vertex\s+(" + _NUMBER + rb")\s+(" + _NUMBER + rb")\s+(" + _NUMBER + rb")")
MOST_TRIANGLES = 2_000_000


class StlError(ValueError):
    """The bytes are no STL file; the message says what is wrong with them."""


def read_stl(content: bytes) -> FloatArray:
    """Triangles (n, 3, 3) in the file's own unit; raises StlError with the reason."""
    count = int.from_bytes(content[80:84], "little") if len(content) >= 84 else -1
    if count >= 0 and len(content) == 84 + 50 * count:
        corners = _binary(content, count)
    elif content.lstrip()[:5].lower() == b"solid":
        found = _VERTEX.findall(content)
        if len(found) % 3:
            raise StlError("a facet of the text file has not three corners")
        corners = np.array(found, dtype=np.float64).reshape(-1, 3, 3) if found else np.zeros((0, 3, 3))
    elif count >= 0:
        raise StlError(
            f"the file says {count} triangles, and its length fits {max(0, (len(content) - 84) // 50)}"
        )
    else:
        raise StlError("the file is too short to be an STL file")
    if not len(corners):
        raise StlError("the file holds no triangle")
    if not np.isfinite(corners).all():
        raise StlError("a corner in the file is not a number")
    return frozen_array(corners)


def _binary(content: bytes, count: int) -> FloatArray:
    if count > MOST_TRIANGLES:
        raise StlError(f"the file holds {count} triangles, more than {MOST_TRIANGLES}")
    facet = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    return np.frombuffer(content, dtype=facet, offset=84, count=count)["corners"].astype(np.float64)
