"""The page of a followed flight, for a tablet: one small server of its own; the page listens, and sends what is tapped.

Answers this machine alone unless asked for otherwise; then only who has the key in the address. A phone's position
needs the browser's leave, which it gives to this machine's own address (or over https) alone.
"""

from __future__ import annotations

import json
import secrets
import socket
import threading
import time
from collections.abc import Iterator
from importlib import resources
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from airwork.errors import InputError
from airwork.live.calls import CALLS
from airwork.live.follower import Follower
from airwork.live.reading import Sample
from airwork.live.running import Running

LOOPBACK = {"127.0.0.1", "::1", "localhost"}
MOST_BODY = 2000
PULSE_S = 1.0
POLICY = "default-src 'self'; frame-ancestors 'none'"
PHONE = "phone"
SENT = {
    "latitude": "latitude_rad", "longitude": "longitude_rad", "altitude": "gps_altitude_m", "speed": "groundspeed_mps",
    "heading": "track_rad",
}  # fmt: skip


def serve(running: Running, host: str, port: int, *, night: bool = False) -> str:
    """Start the page's server on a thread of its own; returns the address to open."""
    key = "" if host in LOOPBACK else secrets.token_urlsafe(9)
    there = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    there.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        there.bind((host, port))
        there.listen(64)  # who comes before the server is up waits, and is not turned away
    except (OSError, OverflowError) as problem:
        there.close()
        raise InputError(f"{host}:{port} can't be used ({problem}).", where="--port") from None
    settings = uvicorn.Config(app(running, key, night=night), log_level="error", timeout_graceful_shutdown=1)
    server = uvicorn.Server(settings)
    threading.Thread(target=server.run, args=([there],), daemon=True, name="page").start()
    shown = _own_address() if host in {"0.0.0.0", "::"} else host
    return f"http://{shown}:{there.getsockname()[1]}/" + (f"?key={key}" if key else "")


def _own_address() -> str:
    """This machine's address in its network; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as trying:
        try:
            trying.connect(("192.0.2.1", 9))  # a documentation address: only the route is asked for
            return str(trying.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def _refused(request: Request, key: str) -> Response | None:
    """The answer to who doesn't know the key, and to what another page sent."""
    given = request.query_params.get("key", "") or request.cookies.get("follow", "")
    if key and not secrets.compare_digest(given, key):
        return PlainTextResponse("open the address that airwork follow printed", 403)
    origin = request.headers.get("origin")
    if request.method == "POST" and origin and origin.partition("://")[2] != request.headers.get("host", ""):
        return PlainTextResponse("posted from another page", 403)
    return None


def app(running: Running, key: str = "", *, night: bool = False) -> Starlette:
    """The pages and what is posted to them."""

    def page(request: Request) -> Response:
        if (no := _refused(request, key)) is not None:
            return no
        text = _file("follow.html").replace("{{night}}", "night" if night else "")
        answer = HTMLResponse(text, headers={"Content-Security-Policy": POLICY, "Referrer-Policy": "no-referrer"})
        if key:
            answer.set_cookie("follow", key, httponly=True, samesite="strict")
        return answer

    def script(request: Request) -> Response:
        return Response(_file("follow.js"), media_type="text/javascript")

    def style(request: Request) -> Response:
        return Response(_file("follow.css"), media_type="text/css")

    def events(request: Request) -> Response:
        return _refused(request, key) or StreamingResponse(_stream(running), media_type="text/event-stream", headers={
            "Cache-Control": "no-store"})  # fmt: skip

    async def said(request: Request) -> Response:
        if (no := _refused(request, key)) is not None:
            return no
        body = (await request.body())[: MOST_BODY + 1]
        if len(body) > MOST_BODY:
            return PlainTextResponse("too long", 413)
        try:
            data = json.loads(body)
            command = _command(request.path_params["what"], data)
        except (ValueError, KeyError, TypeError):
            return PlainTextResponse("not understood", 400)
        await run_in_threadpool(running.ask, command)
        return JSONResponse({"taken": True})

    return Starlette(
        routes=[
            Route("/", page), Route("/follow.js", script), Route("/follow.css", style), Route("/events", events),
            Route("/favicon.ico", lambda _: Response(status_code=204)), Route("/say/{what}", said, methods=["POST"]),
        ]
    )  # fmt: skip


def _command(what: str, data: dict[str, Any]) -> Any:
    """What a tap asks for. Raises ValueError, KeyError, TypeError for what it can't be."""
    if what == "mark":
        words = str(data.get("words", ""))
        return lambda follower, now: follower.mark(words, now)
    if what == "silence":
        key, on = str(data["call"]), bool(data["silent"])
        if key not in CALLS:
            raise ValueError(key)
        return lambda follower, now: _silence(follower, key, on)
    if what == "next":
        index = int(data["exercise"])
        return lambda follower, now: follower.take_next(index)
    if what == "position":
        values = {house: float(data[name]) for name, house in SENT.items() if data.get(name) is not None}
        for house in ("latitude_rad", "longitude_rad", "track_rad"):
            if house in values:
                values[house] *= 3.141592653589793 / 180.0
        return lambda follower, now: follower.take(Sample(PHONE, now, float("nan"), values))
    raise ValueError(what)


def _silence(follower: Follower, key: str, silent: bool) -> None:
    (follower.calls.silenced.add if silent else follower.calls.silenced.discard)(key)


def _stream(running: Running) -> Iterator[str]:
    """Server-sent events: the screen when it is new, the dials' readings as they come, a pulse where nothing does."""
    seen, drawn = -1, -1
    yield f"event: calls\ndata: {json.dumps({name: why for name, (_, why) in CALLS.items()})}\n\n"
    while not running.finished:
        with running.changed:
            if running.version == seen:
                running.changed.wait(PULSE_S)
            seen = running.version
        if running.ticks != drawn and running.screen is not None:
            drawn = running.ticks
            yield f"event: screen\ndata: {json.dumps(running.screen.as_json(), default=str)}\n\n"
        yield f"event: dials\ndata: {json.dumps({**running.readings, 'at': time.time()})}\n\n"
    yield "event: over\ndata: {}\n\n"


def _file(name: str) -> str:
    return resources.files("airwork.live").joinpath("assets", name).read_text(encoding="utf-8")
