"""Files that the page brings into the job folder: scans, pictures, surfaces and logs."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.job.seen_sections import PICTURE_ENDINGS, SCAN_ENDINGS
from sumpwright.web.job_folder import is_plain_name
from sumpwright.web.messages import Refusal, UploadAnswer
from sumpwright.web.workbench import Workbench


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file that may come in."""

    endings: tuple[str, ...]
    begins: tuple[bytes, ...]  # one of these, where the kind has a sign of its own
    says: str


KINDS: dict[str, Kind] = {
    "scan": Kind(SCAN_ENDINGS, (), "Name it under scan, file."),
    "picture": Kind(
        PICTURE_ENDINGS,
        (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*"),
        "Name it under gasket picture, file.",
    ),
    "surface": Kind(("stl",), (), "Name it in a keep-out, surface."),
    "log": Kind(("csv",), (), "Name it in a logged run, log."),
}


def take_in(bench: Workbench, name: str, kind: str, body: bytes) -> UploadAnswer | Refusal:
    """Put the file into the job folder under its own name; nothing that is there is written over."""
    known = KINDS.get(kind)
    if known is None:
        return Refusal(says=f"This kind of file is not taken in; {', '.join(KINDS)} are.")
    ending = name.rpartition(".")[2].casefold()
    if not is_plain_name(name) or name.startswith(".") or "." not in name or ending not in known.endings:
        return Refusal(says=f"A plain file name is wanted that ends on {', '.join(known.endings)}.")
    if not body:
        return Refusal(says="The file is empty.")
    if known.begins and not body.startswith(known.begins):
        return Refusal(says="The file is not what its name says.")
    with bench.lock:
        files = bench.snapshot().files
        if any(one is not None and one.name == name for one in (files.job, files.shop, files.readings)):
            return Refusal(says="A file of the job has this name; call the new one otherwise.")
        path = bench.folder.folder / name
        try:
            # "x": never write over what is there, and never through a link.
            with path.open("xb") as file:
                file.write(body)
        except FileExistsError:
            return Refusal(
                says="There is a file of this name in the job folder already; call the new one otherwise."
            )
        except OSError as trouble:
            path.unlink(missing_ok=True)
            return Refusal(
                says=f"The file could not be written: {(trouble.strerror or str(trouble)).lower()}."
            )
    return UploadAnswer(file=name, size=len(body), says=known.says)
