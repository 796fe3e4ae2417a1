"""The paths, each a few lines: read the message, ask the job sheet, answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from contextlib import asynccontextmanager
from typing import Any, TypeVar

import anyio.to_thread
from pydantic import BaseModel, ValidationError
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from sumpwright.web.bundle import bundle
from sumpwright.web.explored_picture import take_variant
from sumpwright.web.job_sheet import JobSheet
from sumpwright.web.messages import (
    EditRequest,
    FreeSurfaceRequest,
    NewRequest,
    Refusal,
    StepRequest,
    TakeRequest,
    TryRequest,
)
from sumpwright.web.new_job import lay_out_job, questions
from sumpwright.web.pack_files import pack_file
from sumpwright.web.picture_messages import LeanRequest
from sumpwright.web.pictures import PICTURES
from sumpwright.web.replay_picture import LARGEST_PART
from sumpwright.web.tidings import MOST_PAGES
from sumpwright.web.uploads import take_in

Asked = TypeVar("Asked", bound=BaseModel)
Handler = Callable[[Request], Awaitable[Response]]


def service(sheet: JobSheet) -> Starlette:
    """The application that answers; ``Door`` stands before it."""
    assets = bundle()

    @asynccontextmanager
    async def lifespan(app: Starlette) -> Any:
        yield

    async def asset(request: Request) -> Response:
        found = assets.get(request.url.path)
        if found is None:
            raise HTTPException(404)
        return Response(found.body, media_type=found.kind)

    async def events(request: Request) -> Response:
        if sheet.tidings.count >= MOST_PAGES:
            return _refused(429, f"This job is open in {MOST_PAGES} pages already; close one.")
        return StreamingResponse(sheet.tidings.listen(), media_type="text/event-stream")

    async def lean(request: Request) -> Response:
        # A few milliseconds: done here and now, without the way to another thread.
        return _answer(sheet.lean(await _message(request, LeanRequest)))

    async def pack(request: Request) -> Response:
        name = request.query_params.get("name", "")
        folder = sheet.bench.folder.folder / "pack"
        body = await anyio.to_thread.run_sync(pack_file, folder, name)
        if body is None:
            return _refused(404, "There is no such file in the pack.")
        plain = "".join(letter if letter.isalnum() or letter in "-_." else "-" for letter in name)
        headers = {"content-disposition": f'attachment; filename="{plain}"'}
        return Response(body, media_type="application/octet-stream", headers=headers)

    async def replay_part(request: Request) -> Response:
        asked = request.query_params
        at, size = asked.get("at", ""), asked.get("size", "")
        if not (at.isdigit() and size.isdigit() and len(at) < 16 and 0 < int(size) <= LARGEST_PART):
            return _refused(400, "Which part of the replay is meant cannot be read.")
        body = await anyio.to_thread.run_sync(sheet.replay_part, asked.get("run", ""), int(at), int(size))
        if body is None:
            return _refused(404, "There is no such replay of the job as it stands.")
        return Response(body, media_type="application/octet-stream")

    async def upload(request: Request) -> Response:
        body = await request.body()
        name, kind = request.query_params.get("name", ""), request.query_params.get("kind", "")
        found = await anyio.to_thread.run_sync(take_in, sheet.bench, name, kind, body)
        return _answer(found, 400 if isinstance(found, Refusal) else 200)

    def post(path: str, kind: type[Asked], do: Callable[[Asked], BaseModel]) -> Route:
        async def handle(request: Request) -> Response:
            message = await _message(request, kind)
            return _answer(await anyio.to_thread.run_sync(do, message))

        return Route(path, handle, methods=["POST"])

    def get(path: str, do: Callable[[], BaseModel]) -> Route:
        async def handle(request: Request) -> Response:
            return _answer(await anyio.to_thread.run_sync(do))

        return Route(path, handle, methods=["GET"])

    def picture(name: str) -> Route:
        async def handle(request: Request) -> Response:
            body = await anyio.to_thread.run_sync(sheet.picture, name)
            return Response(body, media_type="application/json")

        return Route(f"/{name.replace('_', '-')}", handle, methods=["GET"])

    routes = [
        Route("/", asset, methods=["GET"]),
        Route("/assets/{path:path}", asset, methods=["GET"]),
        Route("/events", events, methods=["GET"]),
        get("/sheet", sheet.state),
        get("/questions", questions),
        *(picture(name) for name in PICTURES),
        Route("/pack-file", pack, methods=["GET"]),
        Route("/replay-part", replay_part, methods=["GET"]),
        Route("/lean", lean, methods=["POST"]),
        Route("/upload", upload, methods=["POST"]),
        post("/edit", EditRequest, sheet.edit),
        post("/undo", StepRequest, lambda _: sheet.bench.undo()),
        post("/redo", StepRequest, lambda _: sheet.bench.redo()),
        post("/try", TryRequest, sheet.try_change),
        post("/drive", StepRequest, lambda _: sheet.begin_slow("drive")),
        post("/weld", StepRequest, lambda _: sheet.begin_slow("weld")),
        post(
            "/free-surface", FreeSurfaceRequest, lambda asked: sheet.begin_slow("free surface", asked.minutes)
        ),
        post("/take", TakeRequest, lambda asked: take_variant(sheet.bench.folder.folder, asked.number)),
        post("/pack", StepRequest, lambda _: sheet.begin_slow("pack")),
        post("/cancel", StepRequest, lambda _: sheet.cancel()),
        post("/new", NewRequest, lambda asked: lay_out_job(sheet.bench, asked)),
    ]
    return Starlette(
        routes=routes,
        lifespan=lifespan,
        exception_handlers={HTTPException: _http_words, ValidationError: _message_words, 500: _broken},
    )


async def _message(request: Request, kind: type[Asked]) -> Asked:
    return kind.model_validate_json(await request.body())


def _answer(message: BaseModel, status: int = 200) -> Response:
    return Response(message.model_dump_json(), status_code=status, media_type="application/json")


def _refused(status: int, says: str) -> Response:
    return _answer(Refusal(says=says), status)


async def _http_words(request: Request, trouble: Exception) -> Response:
    status = trouble.status_code if isinstance(trouble, HTTPException) else 500
    words = {404: "There is nothing under this address.", 405: "This path is not asked that way."}
    return _refused(status, words.get(status, "This was not taken."))


async def _message_words(request: Request, trouble: Exception) -> Response:
    """A message that the schema does not know: said without repeating what was sent."""
    assert isinstance(trouble, ValidationError)
    first = trouble.errors(include_url=False, include_input=False)[0]
    place = ".".join(str(part) for part in first["loc"])
    return _refused(422, f"The message cannot be read{f' at {place}' if place else ''}: {first['msg']}")


async def _broken(request: Request, trouble: Exception) -> Response:
    return _refused(
        500, f"This is a fault of the program: {type(trouble).__name__}. The files are as they were."
    )
