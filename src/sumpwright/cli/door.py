"""The way in and out: whatever happens inside, the reader gets plain words and a status."""

from __future__ import annotations

import os
import platform
import sys
import traceback
from pathlib import Path
from typing import TextIO

STOPPED = 130
"""Stopped by Ctrl-C, as shells count it: 128 and the signal's number."""
PROGRAM_FAULT = 3
"""The program itself went wrong; not a fault of the job."""
DEBUG = "SUMPWRIGHT_DEBUG"


def main(argv: list[str] | None = None) -> int:
    """Run one command and return its exit status. Never raises, never shows a bare traceback."""
    # The matrices here are small: threads would only wait for each other, ten times longer on a
    # busy machine. Whoever sets it otherwise is heard.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        _never_choke_on_a_letter(stream)
    try:
        return _run(sys.argv[1:] if argv is None else argv)
    except KeyboardInterrupt:
        _say("Stopped. Nothing was written; a pack that was there before is whole.")
        return STOPPED
    except BrokenPipeError:
        # The reader of our output left, as `| head` does: nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return STOPPED
    except Exception as fault:
        _say(_fault_of_the_program(fault))
        return PROGRAM_FAULT


def _run(argv: list[str]) -> int:
    # Loaded here, not at the top: Ctrl-C while the program loads is also only one line.
    from sumpwright.cli.commands import app
    from sumpwright.flow.status import ALL_HOLD, NOT_READ

    try:
        status = app(argv, exit_on_error=False, print_error=False, result_action="return_value")
        sys.stdout.flush()
    except Exception as fault:
        words = _words_about_the_input(fault)
        if words is None:
            raise
        _say(words)
        return NOT_READ
    return status if isinstance(status, int) else ALL_HOLD


def _words_about_the_input(fault: Exception) -> str | None:
    """What the command line, the files or the disk would not do; None for anything else.

    The kinds of fault are loaded only when there is one.
    """
    from cyclopts import CycloptsError

    from sumpwright.cli.commands import command_line_words
    from sumpwright.job import JobError
    from sumpwright.outputs import PackError

    if isinstance(fault, CycloptsError):
        return command_line_words(fault)
    if isinstance(fault, (JobError, PackError)):
        return str(fault)
    if isinstance(fault, OSError) and not isinstance(fault, BrokenPipeError):
        return _trouble_with_a_file(fault)
    return None


def _trouble_with_a_file(error: OSError) -> str | None:
    """What the disk would not do, in one line; None where no file is concerned."""
    if error.filename is None and error.errno is None:
        return None
    where = f" {error.filename}" if error.filename is not None else ""
    what = (error.strerror or "it would not be written").lower()
    return (
        f"Could not read or write{where}: {what}. Nothing was changed; a pack that was there before is whole."
    )


def _fault_of_the_program(fault: Exception) -> str:
    """Where it went wrong and how to tell us; the whole traceback only on request."""
    last = traceback.extract_tb(fault.__traceback__)
    own = [frame for frame in last if "sumpwright" in Path(frame.filename).parts] or list(last)
    place = f"{'/'.join(Path(own[-1].filename).parts[-2:])} line {own[-1].lineno}, in {own[-1].name}"
    lines = [
        "This is a fault of the program, not of your job. Nothing was written; an earlier pack is whole.",
        f"  what:  {type(fault).__name__}: {fault}",
        f"  where: {place}",
        f"  with:  sumpwright {_version()}, Python {platform.python_version()}, {platform.system()}",
        "To report it, send these lines and the job folder to whoever gave you the program.",
    ]
    if os.environ.get(DEBUG) == "1":
        lines.append("".join(traceback.format_exception(fault)).rstrip())
    else:
        lines.append(f"With {DEBUG}=1 set, the same command prints the whole way there.")
    return "\n".join(lines)


def _version() -> str:
    from importlib import metadata

    return metadata.version("sumpwright")


def _say(words: str) -> None:
    """One message on the error stream; if even that is closed, the status must do."""
    try:
        print(words, file=sys.stderr, flush=True)
    except OSError:
        return


def _never_choke_on_a_letter(stream: TextIO) -> None:
    """A terminal without our letters gets a question mark instead of a crash."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
