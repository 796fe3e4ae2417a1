"""The [scan] and [gasket_picture] sections of the job file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Name, OneOf
from sumpwright.job.section_types import FlatPoint, Hole, Section, length

_PIXELS = Asked("ratio", 0, 100_000, "1204", "1204")
_FILE_FIGURE = Asked("ratio", -1e6, 1e6, "120.5", "120.5")

SCAN_ENDINGS = ("stl", "ply", "obj", "xyz", "glb")
PICTURE_ENDINGS = ("png", "jpg", "jpeg", "tif", "tiff")


class ScanSection(Section):
    """A scan of the old pan or of the block's rail, bolts out, with some of the body below or above it.

    Calipers govern its size: read at least two long distances by hand, one along and one across.
    """

    file: Annotated[str, Name(60, "old-pan.stl")] = Field(
        description="The scan beside the job file: stl, ply, obj, xyz or glb."
    )
    of: Annotated[str, OneOf(("old pan", "block"))] = Field(
        description="What was scanned; it tells which side of the face is up."
    )
    units: Annotated[str | None, OneOf(("mm", "in", "m"), {"inch": "in", "inches": "in"})] = Field(
        None,
        description="Of the figures in the file. Without it they are told by size, and the sheet says so.",
    )
    side: Annotated[str | None, OneOf(("inside", "outside"))] = Field(
        None,
        description="Of the old pan's sheet that the scan shows. Without it the triangles tell, or the inside"
        " is taken; what the old pan held is counted from it.",
    )
    metal: Annotated[float | None, length(0.3, 20, "1.5 mm", "1/16 in")] = Field(
        None,
        description="Thickness of the old pan's sheet, flange and wall; needed for a scan of its outside.",
    )


class ScanMarkSection(Section):
    """A hole pointed out in the scan. Two are enough, where the calipers do not tell which is which."""

    hole: Hole = Field(description="Its name in the ring.")
    at: Annotated[list[Annotated[float, _FILE_FIGURE]], Field(min_length=3, max_length=3)] = Field(
        examples=["[120.5, -33.0, 4.2]"],
        description="Near its centre, x, y and z as the file counts them, without a unit.",
    )


class GasketPictureSection(Section):
    """A picture of the gasket on a plain ground that stands out, from a flat-bed scanner or a camera.

    How big it is: `dots_per_inch`, or two marks of a ruler, or for a camera four marks whose places
    are known. Calipers govern in the end.
    """

    file: Annotated[str, Name(60, "gasket.png")] = Field(
        description="The picture beside the job file: png, jpg or tif."
    )
    seen_from: Annotated[str, OneOf(("above", "below"))] = Field(
        description="below: it shows the holes as you see them from under the engine; above: from the crank."
    )
    dots_per_inch: Annotated[float | None, Asked("ratio", 50, 5000, "300", "300")] = Field(
        None, description="Resolution it was scanned with."
    )
    marks_apart: Annotated[float | None, length(20, 3000, "200 mm", "8 in")] = Field(
        None, description="Between the two marks without a hole, say two lines of a ruler in the picture."
    )


class PictureMarkSection(Section):
    """A point of the picture: on a ruler, at a place that was measured, or in a hole of the ring."""

    right: Annotated[float, _PIXELS] = Field(description="Pixels from the picture's left side.")
    down: Annotated[float, _PIXELS] = Field(description="Pixels from its upper side.")
    hole: Hole | None = Field(None, description="Name of the hole that it lies in.")
    at: FlatPoint | None = Field(
        None,
        examples=['["0 mm", "0 mm"]'],
        description="Where it truly lies, x to the right and y upwards in the picture, from any corner. Four"
        " of these straighten a picture taken at an angle.",
    )
