"""Scans and pictures named by the job: formats read alike, and every bad file told in words."""

from __future__ import annotations

import io
import shutil
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from sumpwright.job import JobError, read_job
from sumpwright.job.read import reread_job
from sumpwright.job.seen_files import UnusableFileError, _alike_together, pixels, scan_points

EXAMPLE = Path(__file__).parents[2] / "src" / "sumpwright" / "examples" / "slope-chipper-adapter"

POINTS = np.array([(0, 0, 0), (10, 0, 0), (10, 20, 0), (0, 20, 0), (5, 10, 30)], dtype=np.float64)
FACES = np.array([(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4), (0, 2, 1), (0, 3, 2)])


def as_file(ending: str) -> bytes:
    import trimesh

    shape = trimesh.Trimesh(POINTS, FACES, process=False)
    if ending == "xyz":
        return b"# x y z\n" + "\n".join(" ".join(map(str, p)) for p in POINTS.tolist()).encode()
    if ending == "ascii stl":
        return str(shape.export(file_type="stl_ascii")).encode()
    raw = shape.export(file_type=ending)
    return raw if isinstance(raw, bytes) else raw.encode()


@pytest.mark.expected_from("closed form", "the five corners that were written")
@pytest.mark.parametrize("ending", ["stl", "ascii stl", "ply", "obj", "xyz", "glb"])
def test_every_format_gives_the_same_points(ending: str) -> None:
    found = scan_points(as_file(ending), ending.split()[-1])
    assert np.unique(found.points.round(4), axis=0) == pytest.approx(np.unique(POINTS, axis=0))
    assert not found.points.flags.writeable
    if ending != "xyz":
        assert found.faces is not None
        assert len(found.faces) == len(FACES)
        a, b, c = (found.points[found.faces[:, k]] for k in range(3))
        assert np.sum(np.cross(a, b) * c) / 6 == pytest.approx(np.prod((10, 20, 30)) / 3, rel=1e-5)


@pytest.mark.expected_from("closed form", "a square as one face, counted from the end, with texture numbers")
def test_an_obj_with_squares_and_numbers_from_behind() -> None:
    found = scan_points(b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvn 0 0 1\nf -4//1 -3//1 -2//1 -1//1\n", "obj")
    assert found.faces is not None
    assert found.faces.tolist() == [[0, 1, 2], [0, 2, 3]]
    two = b"v 0 0 0\nv 1 0 0\nv 1 1 0\nf -3 -2 -1\nv 5 0 0 1\nv 6 0 0 1\nv 6 1 0 1\nf -3/9 -2/9 -1/9\n"
    found = scan_points(two, "obj")
    assert found.faces is not None
    assert found.faces.tolist() == [[0, 1, 2], [3, 4, 5]]
    assert found.points[3].tolist() == [5.0, 0.0, 0.0]


@pytest.mark.expected_from("property", "equal keys stand together, each lot in its order")
def test_equal_corners_are_found_whatever_their_keys() -> None:
    rng = np.random.default_rng(3)
    # Keys that differ in their lowest bits only: the upper part tells nothing apart.
    for key in (rng.integers(0, 40, 3000), rng.integers(0, 2**62, 500)[rng.integers(0, 500, 3000)]):
        keys = key.astype(np.uint64)
        order = _alike_together(keys)
        lots = np.split(order, np.flatnonzero(np.diff(keys[order])) + 1)
        assert len(lots) == len(np.unique(keys))
        assert all((np.diff(lot) > 0).all() for lot in lots)


@pytest.mark.parametrize("ending", ["stl", "ply", "obj", "xyz", "glb"])
def test_broken_scans_are_told_in_words(ending: str) -> None:
    whole = as_file(ending)
    rng = np.random.default_rng(1)
    broken = [b"", b"\0" * 200, b"hello\n" * 50, rng.bytes(3000), whole[: len(whole) * 2 // 3] + b"\xff"]
    if ending == "stl":
        broken.append(whole[:-30])
    for raw in broken:
        said = ""
        count = 0
        try:
            count = len(scan_points(raw, ending).points)
        except UnusableFileError as trouble:
            said = str(trouble)
        # What is left may still be a readable file: then it holds points.
        assert count > 0 or (10 < len(said) < 200 and said.isprintable())


def test_a_triangle_without_its_points_is_refused() -> None:
    with pytest.raises(UnusableFileError, match="not there"):
        scan_points(b"v 0 0 0\nv 1 0 0\nv 1 1 0\nf 1 2 9\n", "obj")


def picture_file(kind: str, mode: str = "L", size=(200, 120), **more) -> bytes:
    out = io.BytesIO()
    grey = np.tile(np.linspace(0, 255, size[0]), (size[1], 1)).astype(np.uint8)
    image = (
        Image.fromarray(grey).convert(mode)
        if mode != "I;16"
        else Image.fromarray(grey.astype(np.uint16) * 257)
    )
    image.save(out, kind, **more)
    return out.getvalue()


@pytest.mark.expected_from("closed form", "a ramp of grey that was written")
@pytest.mark.parametrize(
    ("kind", "mode"), [("PNG", "L"), ("PNG", "RGB"), ("PNG", "RGBA"), ("PNG", "P"), ("PNG", "I;16"),
                       ("JPEG", "L"), ("JPEG", "RGB"), ("TIFF", "L"), ("TIFF", "I;16"), ("PNG", "1")],
)  # fmt: skip
def test_every_kind_of_picture_becomes_grey(kind: str, mode: str) -> None:
    found = pixels(picture_file(kind, mode), {"PNG": "png", "JPEG": "jpg", "TIFF": "tif"}[kind])
    assert found.grey.shape == (120, 200)
    assert found.grey[:, :20].mean() < 30
    assert found.grey[:, -20:].mean() > 225


@pytest.mark.expected_from("closed form", "an inch is 25.4 mm; 72 and 96 are what screens are said to have")
def test_a_pictures_own_resolution() -> None:
    assert pixels(picture_file("PNG", dpi=(300, 300)), "png").own_pixel == pytest.approx(
        0.0254 / 300, rel=1e-3
    )
    assert pixels(picture_file("PNG", dpi=(72, 72)), "png").own_pixel is None
    assert pixels(picture_file("PNG"), "png").own_pixel is None


def bomb(wide: int, high: int) -> bytes:
    """A few hundred bytes that say they are a huge picture."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(9_000, 9_000), (12_000, 12_000), (60_000, 60_000)])
def test_huge_pictures_are_refused_before_they_are_unpacked(size: tuple[int, int]) -> None:
    with pytest.raises(UnusableFileError, match="more than 80,000,000 pixels"):
        pixels(bomb(*size), "png")


def test_broken_pictures_are_told_in_words() -> None:
    whole = picture_file("JPEG")
    for raw in (
        b"",
        b"GIF89a" + b"\0" * 100,
        whole[: len(whole) // 2],
        b"\x89PNG\r\n\x1a\n" + b"\0" * 50,
        bomb(300, 300),
    ):
        with pytest.raises(UnusableFileError) as caught:
            pixels(raw, "jpg")
        assert "no whole JPEG picture" in str(caught.value)
    with pytest.raises(UnusableFileError, match="50 pixels"):
        pixels(picture_file("PNG", size=(40, 40)), "png")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    shutil.copytree(EXAMPLE, folder)
    return folder


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "job.toml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def faults(folder: Path) -> str:
    with pytest.raises(JobError) as caught:
        read_job(folder)
    return caught.value.text()


@pytest.mark.expected_from("published", "us-customary-units: an inch is 25.4 mm")
def test_the_example_has_a_picture_and_it_is_read_once(job: Path) -> None:
    found = read_job(job)
    [picture] = found.rail.pictures
    assert picture.seen_from == "below"
    assert picture.pixel == pytest.approx(0.0254 / 150)
    (job / "gasket.png").unlink()
    again = reread_job(found, (job / "job.toml").read_text("utf-8"))
    assert again.rail.pictures[0].grey is picture.grey


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('file = "gasket.png"', 'file = "../gasket.png"', "only its name is wanted"),
        ('file = "gasket.png"', 'file = "gasket.bmp"', "this kind of file is not read"),
        ('file = "gasket.png"', 'file = "other.png"', "should stand beside the job file"),
        ("dots_per_inch = 150", 'marks_apart = "200 mm"', "two marks without 'hole' and 'at'; there are 0"),
        ("dots_per_inch = 150", 'dots_per_inch = 150\nmarks_apart = "200 mm"', "told twice"),
        ('seen_from = "below"\ndots', "dots", "'seen_from' is needed"),
        (
            "dots_per_inch = 150",
            'dots_per_inch = 150\n[[gasket_picture.marks]]\nhole = "h99"\nright = 1\ndown = 1',
            "no hole of this name",
        ),
        (
            "dots_per_inch = 150",
            '[[gasket_picture.marks]]\nat = ["0 mm", "0 mm"]\nright = 1\ndown = 1',
            "four marks with 'at' straighten a picture; there are 1",
        ),
    ],
)
def test_slips_in_the_section_are_told(job: Path, old: str, new: str, said: str) -> None:
    change(job, old, new)
    assert said in faults(job)


def test_a_bad_file_is_told_along_with_the_rest(job: Path) -> None:
    (job / "gasket.png").write_bytes(b"no picture at all")
    (job / "pan.stl").write_bytes(b"solid nothing")
    change(job, "[gasket_picture]", '[scan]\nfile = "pan.stl"\nof = "old pan"\n\n[gasket_picture]')
    change(job, 'block = "grey iron"', 'block = "grey irn"')
    text = faults(job)
    assert "no whole PNG picture" in text
    assert "no whole stl file" in text
    assert "grey irn" in text


@pytest.mark.expected_from("property", "figures as they stand in the file")
def test_a_scan_is_read_with_its_marks(job: Path) -> None:
    (job / "pan.obj").write_bytes(as_file("obj"))
    change(
        job,
        "[gasket_picture]",
        '[scan]\nfile = "pan.obj"\nof = "old pan"\nunits = "mm"\n'
        '[[scan.marks]]\nhole = "h2"\nat = [1.5, -2, 3]\n\n[gasket_picture]',
    )
    [scan] = read_job(job).rail.scans
    assert scan.unit == "mm"
    assert scan.marks[0].at == (1.5, -2.0, 3.0)
    assert len(scan.points) == 5
