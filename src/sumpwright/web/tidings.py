"""Events for every open page: made in one thread, handed to each page's own queue."""

from __future__ import annotations

import asyncio
import queue
import threading
from collections.abc import AsyncIterator
from typing import Any

from pydantic import BaseModel

from sumpwright.web.messages import HereEvent

MOST_PAGES = 16
MOST_WAITING = 500
SECONDS_OF_SILENCE = 20.0


class Tidings:
    """Who listens, and what they have not heard yet."""

    def __init__(self) -> None:
        """Nobody listens yet."""
        self._pages: list[tuple[asyncio.AbstractEventLoop, asyncio.Queue[bytes | None]]] = []
        self._lock = threading.Lock()

    @property
    def count(self) -> int:
        """Pages that listen."""
        return len(self._pages)

    def tell(self, event: BaseModel) -> None:
        """Send an event to every page; from any thread."""
        line = b"data: " + event.model_dump_json().encode() + b"\n\n"
        with self._lock:
            pages = list(self._pages)
        for loop, waiting in pages:
            if not loop.is_closed():
                loop.call_soon_threadsafe(_put, waiting, line)

    async def listen(self) -> AsyncIterator[bytes]:
        """The events of one page, as its stream; ends where the page is too slow to follow."""
        waiting: asyncio.Queue[bytes | None] = asyncio.Queue(MOST_WAITING)
        page = (asyncio.get_running_loop(), waiting)
        with self._lock:
            self._pages.append(page)
        here = b"data: " + HereEvent(event="here").model_dump_json().encode() + b"\n\n"
        try:
            yield here
            while True:
                try:
                    line = await asyncio.wait_for(waiting.get(), SECONDS_OF_SILENCE)
                except TimeoutError:
                    line = here
                if line is None:
                    return
                yield line
        finally:
            with self._lock:
                self._pages.remove(page)

    def close(self) -> None:
        """End every stream."""
        with self._lock:
            pages = list(self._pages)
        for loop, waiting in pages:
            if not loop.is_closed():
                loop.call_soon_threadsafe(_end, waiting)


def _put(waiting: asyncio.Queue[bytes | None], line: bytes) -> None:
    if waiting.full():
        _end(waiting)  # the page asks for the whole sheet when it comes back
    else:
        waiting.put_nowait(line)


def _end(waiting: asyncio.Queue[bytes | None]) -> None:
    while not waiting.empty():
        waiting.get_nowait()
    waiting.put_nowait(None)


class Teller:
    """Takes what happened from any thread and makes messages of it in its own."""

    def __init__(self, make: Any) -> None:
        """``make(what, with_it)`` is called for each, one after the other."""
        self._make = make
        self._queue: queue.Queue[tuple[str, Any] | None] = queue.Queue()
        self._thread = threading.Thread(target=self._run, name="teller", daemon=True)
        self._thread.start()

    def happened(self, what: str, with_it: Any) -> None:
        """Note it; never waits."""
        self._queue.put((what, with_it))

    def close(self) -> None:
        """Tell nothing more."""
        self._queue.put(None)

    def _run(self) -> None:
        while (one := self._queue.get()) is not None:
            self._make(*one)
