"""Open a job in the browser: a server on this machine only, on a free port, until Ctrl-C."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from sumpwright.web.door import Door, new_key
from sumpwright.web.job_sheet import JobSheet
from sumpwright.web.service import service

HOST = "127.0.0.1"
SECONDS_BETWEEN_LOOKS = 1.0
SECONDS_BETWEEN_LOOKS_ALONE = 5.0
MOST_REQUESTS = 64


class JobServer:
    """One open job and its server."""

    def __init__(self, path: Path, port: int = 0) -> None:
        """Takes a port; answers once ``run`` or ``start`` is called. Port 0 = any free one."""
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._socket.bind((HOST, port))
        self.port = int(self._socket.getsockname()[1])
        self.key = new_key()
        self.sheet = JobSheet(path)
        config = uvicorn.Config(
            Door(service(self.sheet), self.port, self.key),
            log_level="critical",
            access_log=False,
            lifespan="off",
            ws="none",
            http="h11",
            loop="asyncio",
            limit_concurrency=MOST_REQUESTS,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=2,
            server_header=False,
            h11_max_incomplete_event_size=16 * 1024,
        )
        self._server = uvicorn.Server(config)
        self._thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        """Where the page is; the key stands behind the # and is never sent by the browser itself."""
        return f"http://{HOST}:{self.port}/#key={self.key}"

    def run(self, ready: Callable[[], None]) -> None:
        """Serve until Ctrl-C; ``ready`` is called once it answers."""
        self.sheet.open()
        try:
            asyncio.run(self._serve(ready))
        finally:
            self.close()

    def start(self) -> None:
        """Serve from a thread of its own; ``close`` ends it."""
        is_ready = threading.Event()
        self.sheet.open()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._serve(is_ready.set)), daemon=True)
        self._thread.start()
        is_ready.wait(30.0)

    def close(self) -> None:
        """End the server and the work."""
        self._server.should_exit = True
        self.sheet.close()
        if self._thread is not None:
            self._thread.join(10.0)
        self._socket.close()

    async def _serve(self, ready: Callable[[], None]) -> None:
        looking = asyncio.create_task(self._look())
        serving = asyncio.create_task(self._server.serve(sockets=[self._socket]))
        while not self._server.started and not serving.done():
            await asyncio.sleep(0.01)
        ready()
        try:
            await serving
        finally:
            looking.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await looking

    async def _look(self) -> None:
        """Notice what an editor outside writes: a look at the files' times, rarely where nobody watches."""
        while True:
            watched = self.sheet.tidings.count > 0
            await asyncio.sleep(SECONDS_BETWEEN_LOOKS if watched else SECONDS_BETWEEN_LOOKS_ALONE)
            await asyncio.to_thread(self.sheet.bench.notice_outside)


def open_job(path: Path, port: int, with_browser: bool, say: Callable[[str], None]) -> None:
    """Serve a job until Ctrl-C, and show it in the browser. Raises OSError where the port is taken."""
    server = JobServer(path, port)

    def ready() -> None:
        say(f"The job sheet is open at {server.address}")
        say("It is on this machine only. Ctrl-C closes it; what was typed is in the files.")
        if with_browser and not webbrowser.open(server.address):
            say("No browser could be started: copy the address above into one.")

    # Ctrl-C is how it is closed: nothing is lost by it, every change is in the files.
    with contextlib.suppress(KeyboardInterrupt):
        server.run(ready)
    say("Closed.")
