"""Files and folders held by one process as long as it lives: two open job sheets beside each other.

The operating system lets go of what a killed process held, so nothing has to be cleared up.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO

if sys.platform == "win32":
    import msvcrt

    def hold(file: IO[str]) -> bool:
        """Hold an open file; whether nobody else does."""
        try:
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    @contextlib.contextmanager
    def one_at_a_time(folder: Path) -> Iterator[None]:
        """Folders cannot be held here: what two sheets write in the same moment meets at the next look."""
        yield

else:
    import fcntl

    def hold(file: IO[str]) -> bool:
        """Hold an open file; whether nobody else does."""
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True

    @contextlib.contextmanager
    def one_at_a_time(folder: Path) -> Iterator[None]:
        """Nobody else reads and writes the folder's files meanwhile; waits for whoever does."""
        try:
            handle = os.open(folder, os.O_RDONLY)
        except OSError:
            yield  # no folder yet: nobody else can be in it
            return
        try:
            with contextlib.suppress(OSError):  # a network folder that knows no holding
                fcntl.flock(handle, fcntl.LOCK_EX)
            yield
        finally:
            os.close(handle)
