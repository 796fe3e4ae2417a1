"""Asking the service: without a net, and over a real connection."""

from __future__ import annotations

import asyncio
import http.client
import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

PORT = 5005
KEY = "the-key"


@dataclass
class Answered:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def data(self) -> Any:
        return json.loads(self.body)


@dataclass
class Asked:
    """One request as a server would hand it on."""

    method: str = "GET"
    path: str = "/sheet"
    query: str = ""
    headers: list[tuple[str, str]] = field(default_factory=lambda: good_headers())
    parts: tuple[bytes, ...] = ()
    seconds_between: float = 0.0


def good_headers(**more: str) -> list[tuple[str, str]]:
    """Those of the page itself; ``more`` replaces or adds, with _ for -."""
    headers = {"host": f"127.0.0.1:{PORT}", "sumpwright-key": KEY, "content-type": "application/json"}
    headers |= {name.replace("_", "-"): value for name, value in more.items()}
    return [(name, value) for name, value in headers.items() if value]


def without_net(app: Any, asked: Asked) -> Answered:
    """The answer of an application that is called directly."""

    async def ask() -> Answered:
        parts = list(asked.parts) or [b""]
        found = Answered(0, {}, b"")

        async def receive() -> dict[str, Any]:
            if not parts:
                return {"type": "http.disconnect"}
            if asked.seconds_between:
                await asyncio.sleep(asked.seconds_between)
            body = parts.pop(0)
            return {"type": "http.request", "body": body, "more_body": bool(parts)}

        async def send(message: Any) -> None:
            if message["type"] == "http.response.start":
                found.status = message["status"]
                found.headers = {name.decode(): value.decode() for name, value in message["headers"]}
            elif message["type"] == "http.response.body":
                found.body += message.get("body", b"")

        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": asked.method,
            "scheme": "http",
            "path": asked.path,
            "raw_path": asked.path.encode(),
            "query_string": asked.query.encode(),
            "root_path": "",
            "headers": [(name.encode(), value.encode("latin-1")) for name, value in asked.headers],
            "client": ("127.0.0.1", 50000),
            "server": ("127.0.0.1", PORT),
        }
        await app(scope, receive, send)
        return found

    # In a thread of its own: a browser test in the same process keeps a loop running in this one.
    with ThreadPoolExecutor(1) as alone:
        return alone.submit(asyncio.run, ask()).result()


def posted(path: str, message: Any, query: str = "") -> Asked:
    """A message of the page."""
    return Asked("POST", path, query, parts=(json.dumps(message).encode(),))


class Page:
    """A page over a real connection."""

    def __init__(self, port: int, key: str) -> None:
        self.port, self.key = port, key

    def ask(self, method: str, path: str, message: Any = None, **headers: str) -> Answered:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        own = {
            "Sumpwright-Key": self.key,
            **{name.replace("_", "-"): value for name, value in headers.items()},
        }
        body = None
        if isinstance(message, bytes):
            body = message
            own.setdefault("Content-Type", "application/octet-stream")
        elif message is not None:
            body = json.dumps(message).encode()
            own.setdefault("Content-Type", "application/json")
        connection.request(method, path, body, own)
        answer = connection.getresponse()
        found = Answered(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        connection.close()
        return found

    def get(self, path: str) -> Any:
        answer = self.ask("GET", path)
        assert answer.status == 200, answer.body
        return answer.data

    def post(self, path: str, message: Any) -> Any:
        answer = self.ask("POST", path, message)
        assert answer.status == 200, answer.body
        return answer.data
