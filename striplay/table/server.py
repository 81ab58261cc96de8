"""Serve the planning page to this computer alone, and talk with it."""

import asyncio
import gc
import json
import secrets
import socket
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Receive, Scope
from starlette.types import Send as SendRaw
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from striplay.errors import OutputError, StriplayError
from striplay.files.plan import files_outside, plan_in, read_text
from striplay.flow import lay_on_ground, read_ground
from striplay.ground import Ground
from striplay.limits import MAX_DESKS, MAX_TALK_BYTES
from striplay.plan.models import Plan
from striplay.table.child import Workers
from striplay.table.desk import Desk, Laid, is_searched, with_found
from striplay.table.long_work import lay_whole
from striplay.table.session import Begin, PageLeftError, Session

HOST = "127.0.0.1"
"""This computer alone: no other can reach it."""
THREADS = 2
"""Answers worked out at a time; more would only take turns."""
SEND_S = 60.0
"""A page that takes no message for so long is let go."""
GRACE_S = 2


@dataclass(frozen=True)
class Start:
    """What every desk begins with.

    Attributes:
        path: the plan's file, there or not yet.
        text: its text; None for an empty table.
        plan: the same, read.
        ground: its field, read.
        on_disk: whether the file is there, to be held against.
    """

    path: Path
    text: str | None = None
    plan: Plan | None = None
    ground: Ground | None = None
    on_disk: bool = False


class Table:
    """The table: what all desks share.

    Attributes:
        start: what every desk begins with; `renew` reads it again where its file is another.
        token: the secret part of the address.
    """

    def __init__(self, start: Start) -> None:
        """Set the table."""
        self.start = start
        self.token = secrets.token_urlsafe(24)
        self.quick = ThreadPoolExecutor(THREADS, "answer")
        self.workers = Workers(4 * MAX_DESKS)
        self._saved: tuple[Start, asyncio.Task[Laid]] | None = None
        self.desks = 0

    async def renew(self) -> None:
        """Read the plan's file again, where it was saved or changed since; a bad one is left."""
        with suppress(StriplayError):
            self.start = await asyncio.get_running_loop().run_in_executor(
                self.quick, _renewed, self.start
            )

    def saved(self, desk: Desk) -> None:
        """Have the next page begin with what a desk saved."""
        kept = desk.saved
        assert kept is not None  # noqa: S101 - it was saved
        plan, ground = kept.layout.plan, kept.layout.ground
        self.start = Start(desk.path, kept.text, plan, ground, on_disk=True)

        async def laid() -> Laid:
            return kept

        self._saved = self.start, asyncio.create_task(laid())

    async def laid(self, start: Start) -> Laid:
        """Give the plan that desks begin with laid, once for all of them."""
        known = self._saved
        if known is None or known[0] is not start or _failed(known[1]):
            known = self._saved = start, asyncio.create_task(self._lay(start))
        return await asyncio.shield(known[1])

    async def _lay(self, start: Start) -> Laid:
        loop = asyncio.get_running_loop()
        plan, text, ground = start.plan, start.text, start.ground
        assert plan is not None and text is not None and ground is not None  # noqa: S101, PT018 - an empty table has none
        if not is_searched(plan):
            layout = await loop.run_in_executor(self.quick, lay_on_ground, plan, ground)
            return Laid(text, layout)
        layout = await self.workers.do(lay_whole, plan, ground)
        found = await loop.run_in_executor(self.quick, with_found, text, layout)
        if found == text:
            return Laid(text, layout)
        desk = Desk(start.path, self.allowed)
        desk.grounds.kept(plan, ground)
        return await loop.run_in_executor(self.quick, desk.laid, found)

    @property
    def allowed(self) -> frozenset[str]:
        """What is told of files outside the plan's folder that the plan opened names."""
        plan = self.start.plan
        return frozenset() if plan is None else frozenset(map(str, files_outside(plan)))

    def close(self) -> None:
        """Let all threads end."""
        self.quick.shutdown(wait=False, cancel_futures=True)
        self.workers.close()


def _failed(task: asyncio.Task[Laid]) -> bool:
    return task.done() and (task.cancelled() or task.exception() is not None)


def _renewed(start: Start) -> Start:
    """Give what desks begin with as its file is now; errors as `read_plan` and `read_ground`."""
    if not start.on_disk:
        return start
    text = read_text(start.path)
    if text == start.text:
        return start
    plan = plan_in(text, start.path)
    return Start(start.path, text, plan, read_ground(plan), on_disk=True)


def app_of(table: Table, page: Callable[[str], tuple[bytes, str]], port: int) -> ASGIApp:
    """Give the application: the page and its talk, both under the secret part of the address.

    Args:
        table: what it serves.
        page: gives the page and its content security policy, for the address of its talk.
        port: where it listens.
    """

    async def show(request: Request) -> Response:
        if not _is(request.path_params["token"], table.token):
            return _nothing()
        body, policy = page(f"ws://{request.headers['host']}/{table.token}/talk")
        return Response(body, media_type="text/html", headers={"Content-Security-Policy": policy})

    async def talk(socket: WebSocket) -> None:
        own = {f"http://{host}" for host in hosts_of(port)}
        known = _is(socket.path_params["token"], table.token)
        if not known or socket.headers.get("origin") not in own:
            await socket.close()
            return
        await socket.accept()
        await _talk(table, socket)

    @asynccontextmanager
    async def living(_: Starlette) -> AsyncIterator[None]:
        await table.workers.warm_up()
        leave_loaded_alone()
        yield
        table.close()

    routes = [
        Route("/{token}/", show, methods=["GET"]),
        WebSocketRoute("/{token}/talk", talk),
    ]

    async def bare(*_: object) -> Response:
        return _nothing()

    app = Starlette(routes=routes, lifespan=living, exception_handlers={404: bare})
    app.router.redirect_slashes = False
    return _Guard(app, hosts_of(port))


def leave_loaded_alone() -> None:
    """Have Python look through what is loaded by now no more when it looks for what is unused.

    That holds an answer up by as long as it takes to work it out.
    """
    gc.collect()
    gc.freeze()


def hosts_of(port: int) -> frozenset[str]:
    """Name the hosts that a page of this computer asks for."""
    return frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})


def _is(given: str, token: str) -> bool:
    return secrets.compare_digest(given.encode(), token.encode())


def _nothing() -> Response:
    return PlainTextResponse("nothing is here", status_code=404)


HEADERS = {
    b"x-content-type-options": b"nosniff",
    b"x-frame-options": b"DENY",
    b"referrer-policy": b"no-referrer",
    b"cache-control": b"no-store",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
}
"""Headers of every answer: nothing is kept, framed, guessed at, or told to others."""


class _Guard:
    """Refuses what is not asked of this computer by its own name, and sets `HEADERS`."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app, self.hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: SendRaw) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        named = [value.decode("latin-1") for key, value in scope["headers"] if key == b"host"]
        if len(named) != 1 or named[0] not in self.hosts:
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            else:
                await _nothing()(scope, receive, send)
            return

        async def headed(message: Any) -> None:  # noqa: ANN401 - whatever is sent
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message["headers"], *HEADERS.items()]}
            await send(message)

        await self.app(scope, receive, headed if scope["type"] == "http" else send)


async def _talk(table: Table, socket: WebSocket) -> None:
    """Talk with one page until it leaves."""
    if table.desks >= MAX_DESKS:
        await socket.close(1013, f"{MAX_DESKS} pages are open; close one")
        return
    table.desks += 1
    lock = asyncio.Lock()

    async def send(message: dict[str, Any]) -> None:
        text = json.dumps(message, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        async with lock:
            if socket.client_state is WebSocketState.CONNECTED:
                try:
                    await asyncio.wait_for(socket.send_text(text), SEND_S)
                except (WebSocketDisconnect, OSError, RuntimeError, TimeoutError) as error:
                    raise PageLeftError from error

    await table.renew()
    start = table.start
    begin = None
    if start.plan is not None and start.ground is not None:
        on_disk = start.text if start.on_disk else None
        begin = Begin(start.plan, start.ground, on_disk, partial(table.laid, start))
    desk = Desk(start.path, table.allowed)
    session = Session(desk, begin, send, table.quick, table.workers)
    try:
        await session.begin()
        while True:
            message = _read(await socket.receive_text())
            before = desk.path, desk.on_disk
            await session.take(message)
            if (desk.path, desk.on_disk) != before:
                table.saved(desk)
    except (WebSocketDisconnect, PageLeftError, RuntimeError, KeyError):
        pass  # it has left, or takes nothing any more
    finally:
        table.desks -= 1
        await session.end()
        with suppress(Exception):
            await socket.close()


def _read(text: str) -> dict[str, Any]:
    """Read a message; one that is none is nothing that is done."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {"do": "what can't be read"}
    return found if isinstance(found, dict) else {"do": "what can't be read"}


def listening(port: int) -> socket.socket:
    """Listen on this computer alone.

    Args:
        port: where; any that is free for 0.

    Raises:
        OutputError: the port is taken, or not allowed.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((HOST, port))
    except OSError as error:
        found.close()
        told = f"port {port}: {error.strerror or error}; leave --port out to take one that is free"
        raise OutputError(told) from error
    return found


def serve(
    table: Table,
    page: Callable[[str], tuple[bytes, str]],
    bound: socket.socket,
    ready: Callable[[str], object],
) -> None:
    """Serve until the user ends it.

    Args:
        table: what is served.
        page: as in `app_of`.
        bound: where it listens, as `listening` gives it.
        ready: is told the address when the page can be opened.
    """
    port = bound.getsockname()[1]
    config = config_of(app_of(table, page, port))
    server = _Server(config, lambda: ready(f"http://{HOST}:{port}/{table.token}/"))
    with suppress(KeyboardInterrupt):  # it ends as it is meant to
        server.run(sockets=[bound])


def config_of(app: ASGIApp) -> uvicorn.Config:
    """Say how an app is served: how long a message may be, and how many pages there are."""
    return uvicorn.Config(
        app,
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        ws="websockets-sansio",
        ws_max_size=MAX_TALK_BYTES,
        ws_per_message_deflate=False,
        limit_concurrency=4 * MAX_DESKS,
        timeout_graceful_shutdown=GRACE_S,
    )


class _Server(uvicorn.Server):
    """Tells when it is ready."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], object]) -> None:
        super().__init__(config)
        self.ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started:
            self.ready()
