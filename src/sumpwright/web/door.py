"""Who may ask: only the page that this server handed out, on this machine, with its key.

A page from elsewhere in the same browser can send requests to this machine too. It is
stopped by the Host it must name, by the Origin its browser adds, and by the key it does
not know; a name on the net that is made to point here is stopped by the Host as well.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

KEY_HEADER = "sumpwright-key"
LARGEST_MESSAGE = 256 * 1024
LARGEST_UPLOAD = 64 * 1024 * 1024
SECONDS_FOR_A_MESSAGE = 10.0
SECONDS_FOR_AN_UPLOAD = 120.0
LONGEST_ADDRESS = 2000

HEADERS: tuple[tuple[str, str], ...] = (
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:;"
        " font-src 'self'; connect-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none';"
        " frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-frame-options", "DENY"),
    ("cache-control", "no-store"),
)
"""On every answer. Nothing is loaded from another machine, nothing runs that is not ours."""


@dataclass(frozen=True, slots=True)
class Turned:
    """Why somebody is turned away."""

    status: int
    says: str


class Door:
    """Stands before the service."""

    def __init__(self, app: App, port: int, key: str) -> None:
        """``port`` is the one listened on; ``key`` what every message must carry."""
        self._app = app
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._origins = {f"http://{host}" for host in self._hosts}
        self._key = key.encode()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        turned = self._turned(scope)
        body = b""
        if turned is None and scope["method"] == "POST":
            found = await self._body(scope, receive)
            if isinstance(found, Turned):
                turned = found
            else:
                body = found
        if turned is not None:
            await _refuse(_with_headers(send), turned)
            return
        await self._app(scope, _once(body, receive), _with_headers(send))

    def _turned(self, scope: Scope) -> Turned | None:
        headers = _headers(scope)
        if len(headers.get("host", [])) != 1 or headers["host"][0] not in self._hosts:
            return Turned(403, "This page is only served on this machine under its own address.")
        origins = headers.get("origin", [])
        if any(origin not in self._origins for origin in origins):
            return Turned(403, "A page from elsewhere may not ask here.")
        sites = headers.get("sec-fetch-site", [])
        is_page = scope["method"] == "GET" and is_open(scope["path"])
        if any(site not in (("same-origin", "none") if is_page else ("same-origin",)) for site in sites):
            return Turned(403, "A page from elsewhere may not ask here.")
        if scope["method"] not in ("GET", "POST"):
            return Turned(405, "Only GET and POST are answered.")
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string") or b"") > LONGEST_ADDRESS:
            return Turned(414, "The address is too long.")
        if is_page:
            return None
        keys = headers.get(KEY_HEADER, [])
        if len(keys) != 1 or not secrets.compare_digest(keys[0].encode("utf-8", "replace"), self._key):
            return Turned(401, "The key is missing or is not the one of this job sheet. Open it again.")
        return None

    async def _body(self, scope: Scope, receive: Receive) -> bytes | Turned:
        """The whole body, if it is of the right kind, small enough, and comes in time."""
        headers = _headers(scope)
        is_upload = scope["path"] == "/upload"
        kind = headers.get("content-type", [""])[0].partition(";")[0].strip().lower()
        if kind != ("application/octet-stream" if is_upload else "application/json"):
            return Turned(415, "The message is of another kind than this path takes.")
        most = LARGEST_UPLOAD if is_upload else LARGEST_MESSAGE
        size = headers.get("content-length", ["0"])[0]
        if not size.isdigit() or int(size) > most:
            return Turned(413, f"The message is larger than {most // 1024} kB.")
        try:
            async with asyncio.timeout(SECONDS_FOR_AN_UPLOAD if is_upload else SECONDS_FOR_A_MESSAGE):
                return await _read(receive, most)
        except TimeoutError:
            return Turned(408, "The message did not come in time.")


def is_open(path: str) -> bool:
    """Paths that go without a key: they hold the program, nothing of the job."""
    return path == "/" or path.startswith("/assets/")


def new_key() -> str:
    """A key nobody can guess."""
    return secrets.token_urlsafe(32)


async def _read(receive: Receive, most: int) -> bytes | Turned:
    parts: list[bytes] = []
    count = 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return Turned(400, "The message broke off.")
        part = message.get("body", b"")
        count += len(part)
        if count > most:
            return Turned(413, f"The message is larger than {most // 1024} kB.")
        parts.append(part)
        if not message.get("more_body", False):
            return b"".join(parts)


def _once(body: bytes, receive: Receive) -> Receive:
    """The body that was read already, then whatever comes after it."""
    is_given = False

    async def given() -> MutableMapping[str, Any]:
        nonlocal is_given
        if not is_given:
            is_given = True
            return {"type": "http.request", "body": body, "more_body": False}
        return await receive()

    return given


def _with_headers(send: Send) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {name.encode() for name, _ in HEADERS}
            others = [pair for pair in message.get("headers", []) if pair[0].lower() not in own]
            message = {
                **message,
                "headers": [*others, *((name.encode(), value.encode()) for name, value in HEADERS)],
            }
        await send(message)

    return sent


async def _refuse(send: Send, turned: Turned) -> None:
    from sumpwright.web.messages import Refusal

    body = Refusal(says=turned.says).model_dump_json().encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": turned.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return found
