"""The page of a study that is being followed, served to this computer alone."""

from __future__ import annotations

import asyncio
import json
import socket
import threading
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from importlib.resources import files

import uvicorn
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.routing import Route

from studies.live.shown import Board
from studies.text.problems import Refused

HOST = "127.0.0.1"
"""The loopback interface: no other computer reaches it."""
LOOK = 0.05
"""Wait between two looks at the board. [s]"""
ALIVE = 10.0
"""Longest silence towards the page, which else takes the program for ended. [s]"""
OWN = ("script-src", "style-src", "connect-src", "frame-src", "img-src")
POLICY = "default-src 'none'; " + "; ".join(f"{kind} 'self'" for kind in OWN)
"""The page loads nothing from anywhere else."""
PARTS = {"": "text/html", "page.js": "text/javascript", "page.css": "text/css"}
"""Files of the page around the answers, and their media types."""
HEADERS = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}


def application(board: Board) -> Starlette:
    """The addresses: the page, its script and style, the answers, the drawing, and the changes as they come."""

    def part(name: str, kind: str) -> Route:
        text = (files("studies.live") / (name or "page.html")).read_text(encoding="utf-8")
        headers = HEADERS | {"Content-Security-Policy": POLICY}
        return Route(f"/{name}", lambda request: Response(text, media_type=kind, headers=headers))

    def answer(request: Request) -> Response:
        return HTMLResponse(board.page, headers=HEADERS)

    def drawing(request: Request) -> Response:
        return Response(board.drawing, media_type="image/png", headers=HEADERS)

    def changes(request: Request) -> Response:
        return StreamingResponse(_changes(board), media_type="text/event-stream", headers=HEADERS)

    routes = [part(name, kind) for name, kind in PARTS.items()]
    routes += [Route("/answer/{number:int}", answer), Route("/drawing/{number:int}", drawing)]
    routes += [Route("/changes", changes), Route("/favicon.ico", lambda request: Response(status_code=204))]
    # a page elsewhere that has its name point here is refused, as it asks for that name
    only_here = Middleware(TrustedHostMiddleware, allowed_hosts=[HOST, "localhost"])
    return Starlette(routes=routes, middleware=[only_here])


async def _changes(board: Board) -> AsyncIterator[str]:
    """Every state of the board from now on, as server-sent events."""
    told, silence = -1, 0.0
    while not board.ended.is_set():
        shown = board.shown
        if shown.change != told:
            told, silence = shown.change, 0.0
            yield f"data: {json.dumps(shown.as_json())}\n\n"
        elif silence > ALIVE:
            silence = 0.0
            yield ": still here\n\n"
        await asyncio.sleep(LOOK)
        silence += LOOK


@contextmanager
def served(board: Board, port: int) -> Iterator[str]:
    """Serve the board in a thread of its own; the address of the page.

    port: Port to use; 0 takes one that is free. One that is taken raises `Refused`.
    """
    try:
        listening = socket.create_server((HOST, port))
    except OSError as error:
        raise Refused(f"--port {port}: cannot be used ({error.strerror}); leave it out to take a free one") from None
    config = uvicorn.Config(application(board), log_level="error", lifespan="off", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield f"http://{HOST}:{listening.getsockname()[1]}/"
    finally:
        board.ended.set()
        server.should_exit = True
        thread.join(timeout=3)
        listening.close()
