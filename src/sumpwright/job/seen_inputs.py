"""From the scan's and picture's sections to what the rail stage looks at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, cast

from sumpwright.job.faults import Fault
from sumpwright.job.files import read_bytes
from sumpwright.job.job_file import JobFile
from sumpwright.job.nearest import nearest
from sumpwright.job.rail_rules import ring_of
from sumpwright.job.refusals import OpenFile
from sumpwright.job.seen_files import (
    LARGEST_PICTURE,
    LARGEST_SCAN,
    Pixels,
    ScanPoints,
    UnusableFileError,
    pixels,
    scan_points,
)
from sumpwright.job.seen_sections import (
    PICTURE_ENDINGS,
    SCAN_ENDINGS,
    GasketPictureSection,
    PictureMarkSection,
    ScanMarkSection,
    ScanSection,
)
from sumpwright.quantities.units import Metre
from sumpwright.rail.picture_model import PictureInput, PictureMark
from sumpwright.rail.scan_model import FileUnit, ScanInput, ScanMark, Skin

Held = Mapping[str, ScanPoints | Pixels]


@dataclass(frozen=True, slots=True)
class SeenInputs:
    """The scans and pictures of a job."""

    scans: tuple[ScanInput, ...] = ()
    pictures: tuple[PictureInput, ...] = ()

    def held(self) -> Held:
        """What was read of their files, by name, so that they need not be read again."""
        found: dict[str, ScanPoints | Pixels] = {s.name: ScanPoints(s.points, s.faces) for s in self.scans}
        found.update({p.name: Pixels(p.grey, p.own_pixel) for p in self.pictures})
        return found


def read_seen(folder: Path, file: OpenFile, job_file: JobFile, held: Held, mark_u: Metre) -> SeenInputs:
    """The scan and the picture that the job names; faults are noted in ``file``."""
    before = len(file.faults)
    _check_marks(file, job_file)
    scans, pictures = [], []
    scan = job_file.scan
    if scan is not None:
        found = _file(folder, file, "scan", scan.file, SCAN_ENDINGS, LARGEST_SCAN, held, scan_points)
        if isinstance(found, ScanPoints) and len(file.faults) == before:
            scans.append(_scan(scan, job_file.scan_marks, found))
    picture = job_file.gasket_picture
    if picture is not None:
        got = _file(
            folder, file, "gasket_picture", picture.file, PICTURE_ENDINGS, LARGEST_PICTURE, held, pixels
        )
        if isinstance(got, Pixels) and len(file.faults) == before:
            pictures.append(_picture(picture, job_file.picture_marks, got, mark_u))
    return SeenInputs(tuple(scans), tuple(pictures))


def _scan(section: ScanSection, marks: tuple[ScanMarkSection | None, ...], found: ScanPoints) -> ScanInput:
    return ScanInput(
        name=section.file,
        of=cast(Literal["old pan", "block"], section.of),
        points=found.points,
        faces=found.faces,
        unit=cast(FileUnit | None, section.units),
        skin=cast(Skin | None, section.side),
        metal=section.metal,
        marks=tuple(
            ScanMark(mark.hole, (mark.at[0], mark.at[1], mark.at[2])) for mark in marks if mark is not None
        ),
    )


def _picture(
    section: GasketPictureSection,
    marks: tuple[PictureMarkSection | None, ...],
    found: Pixels,
    mark_u: Metre,
) -> PictureInput:
    return PictureInput(
        name=section.file,
        grey=found.grey,
        seen_from=cast(Literal["above", "below"], section.seen_from),
        pixel=None if section.dots_per_inch is None else 0.0254 / section.dots_per_inch,
        own_pixel=found.own_pixel,
        marks=tuple(
            PictureMark(
                mark.right, mark.down, mark.hole, None if mark.at is None else (mark.at[0], mark.at[1])
            )
            for mark in marks
            if mark is not None
        ),
        marks_apart=section.marks_apart,
        mark_u=mark_u,
    )


def _file(
    folder: Path,
    file: OpenFile,
    section: str,
    name: str,
    endings: tuple[str, ...],
    most: int,
    held: Held,
    reader: Callable[[bytes, str], ScanPoints | Pixels],
) -> ScanPoints | Pixels | None:
    """What stands in one file, or None with the fault noted."""
    path = (section, "file")
    if "/" in name or "\\" in name or name in (".", ".."):
        file.fault(path, "the file stands beside the job file: only its name is wanted here")
        return None
    ending = name.rpartition(".")[2].casefold()
    if "." not in name or ending not in endings:
        file.fault(path, "this kind of file is not read", allowed=", ".join(endings))
        return None
    if name in held:
        return held[name]
    raw = read_bytes(folder / name, folder, f"the file named in [{section}]", most)
    if isinstance(raw, Fault):
        file.faults.append(raw)
        return None
    try:
        return reader(raw, ending)
    except UnusableFileError as trouble:
        file.faults.append(Fault(name, None, "", "", str(trouble)))
        return None


def _check_marks(file: OpenFile, job_file: JobFile) -> None:
    """What has to hold between marks, holes and sizes."""
    ring = ring_of(file)
    for section, marks in (("scan", job_file.scan_marks), ("gasket_picture", job_file.picture_marks)):
        seen: list[str] = []
        for at, mark in enumerate(marks):
            hole = None if mark is None else mark.hole
            if hole is None or ring is None:
                continue
            if hole not in ring:
                near = nearest(hole, ring)
                hint = f"; did you mean {near!r}?" if near else ""
                file.fault((section, "marks", at, "hole"), f"no hole of this name stands in the ring{hint}")
            elif hole in seen:
                file.fault((section, "marks", at, "hole"), "this hole is marked twice")
            seen.append(hole)
    picture = job_file.gasket_picture
    if picture is None or None in job_file.picture_marks:
        return
    picked = [mark for mark in job_file.picture_marks if mark is not None]
    placed = sum(mark.at is not None for mark in picked)
    free = sum(mark.at is None and mark.hole is None for mark in picked)
    if placed not in (0, 4):
        file.fault(
            ("gasket_picture", "marks"),
            f"four marks with 'at' straighten a picture; there are {placed}",
            read="",
        )
    if picture.marks_apart is not None and free != 2:
        file.fault(
            ("gasket_picture", "marks_apart"),
            f"it is the way between two marks without 'hole' and 'at'; there are {free} of these",
        )
    told = [key for key in ("dots_per_inch", "marks_apart") if getattr(picture, key) is not None]
    if placed == 4:
        told.append("four marks with 'at'")
    if len(told) > 1:
        file.fault(
            ("gasket_picture", told[0]),
            f"the picture's size is told twice, by {told[0]} and {told[1]}; keep the one that is surer",
        )
