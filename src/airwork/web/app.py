"""The application: middleware, who is asking, and the pages put together.

A request's body is counted as it comes in, so that a sender who names no length can't fill the disk.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from importlib import resources
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from airwork.errors import AirworkError
from airwork.logbook import history
from airwork.version import VERSION
from airwork.web import answers, book, guard
from airwork.web.access import from_our_page
from airwork.web.accounts import Account, Accounts
from airwork.web.desk import DESK, Desk
from airwork.web.folder import Folder
from airwork.web.settings import ACCOUNTS_FILE, Settings
from airwork.web.workshop import Workshop


class BodyLimit:
    """Refuses bodies larger than `most_bytes`: by the length named, else as they come in."""

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self.app, self.most_bytes = app, most_bytes

    @property
    def _said(self) -> str:
        return f"Too large: at most {self.most_bytes // 1_000_000} MB."

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        named = dict(scope["headers"]).get(b"content-length")
        if named is not None and (not named.isdigit() or int(named) > self.most_bytes):
            await self._refuse(send)
            return
        taken, begun, refused = 0, False, False

        async def counted() -> Message:
            """The next part; past the limit the sender seems to have hung up, so that nobody reads on."""
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            return {"type": "http.disconnect"} if taken > self.most_bytes else message

        async def noted(message: Message) -> None:
            """What the application answers; past the limit the refusal instead."""
            nonlocal begun, refused
            if taken > self.most_bytes and not begun:
                if not refused:
                    refused = True
                    await self._refuse(send)
                return
            begun = True
            await send(message)

        await self.app(scope, counted, noted)
        if taken > self.most_bytes and not begun and not refused:
            await self._refuse(send)

    async def _refuse(self, send: Send) -> None:
        text = self._said.encode()
        headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(text)).encode()),
                   (b"connection", b"close")]  # fmt: skip
        await send({"type": "http.response.start", "status": 413, "headers": headers})
        await send({"type": "http.response.body", "body": text})


# The only person of a server nobody has set a password for: whoever sits at this machine.
OWNER = Account("", "chief")
OPEN = ("/static/", "/login", "/join/", "/sw.js")
# What any address may answer besides its own; a problem is said in words, as a page or as JSON.
ANSWERS: dict[int | str, dict[str, Any]] = {
    303: {"description": "done, or log in first: go on there"}, 401: {"description": "log in first"},
    403: {"description": "not yours to do, or not asked for by a page of this server"},
    404: {"description": "there is no such thing, or it is nothing of yours"},
    409: {"description": "waits for its debrief"},
    413: {"description": "too large"}, 422: {"description": "can't be done as asked; the line says why"},
    429: {"description": "too many tries; the line says how long to wait"},
}  # fmt: skip
FORM_BYTES = 100_000  # of an upload's form beside its file


def create_app(settings: Settings) -> FastAPI:
    """The application for one folder and one logbook."""
    from airwork.web.pages import routers

    app = FastAPI(
        title="airwork", version=VERSION, docs_url=None, redoc_url=None, openapi_url="/openapi.json",
        responses=ANSWERS,
        telemetry={"auto_configure": False},  # nothing is sent anywhere, whatever the environment asks
    )  # fmt: skip
    app.state.settings = settings
    app.state.accounts = Accounts(settings.folder / ACCOUNTS_FILE)
    app.state.sessions, app.state.cookie = guard.Sessions(), guard.cookie_of(settings.folder)
    app.state.rate = guard.LoginRate()
    app.state.folder = Folder(settings.folder)
    app.state.desk = Desk(settings.folder / DESK, app.state.folder)
    app.state.workshop = Workshop(app)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.middleware("http")(_guarded)
    app.add_middleware(BodyLimit, most_bytes=settings.max_upload_bytes + FORM_BYTES)
    app.add_exception_handler(AirworkError, answers.said_plainly)
    app.add_exception_handler(HTTPException, answers.http_error)
    app.add_exception_handler(RequestValidationError, answers.not_valid)
    app.add_exception_handler(Exception, answers.fault)
    assets = Path(str(resources.files("airwork.output").joinpath("assets")))
    app.mount("/static/report", StaticFiles(directory=assets), name="report")
    static = Path(str(resources.files("airwork.web").joinpath("static")))
    app.mount("/static", StaticFiles(directory=static), name="static")
    for router in routers():
        app.include_router(router, dependencies=[Depends(from_our_page)])
    return app


async def _guarded(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
    """Every request passes here: host, origin, session, account; every answer leaves with the safety headers."""
    try:
        refused = _refusal(request)
    except AirworkError as found:  # an accounts file that can't be read opens nothing
        request.state.account = request.state.session = None
        refused = answers.problem(request, 503, str(found))
    account: Account | None = request.state.account
    with history.acting(account.name if account is not None else ""):
        response = refused if refused is not None else await call_next(request)
    for name, value in guard.HEADERS.items():
        response.headers.setdefault(name, value)
    if request.url.path.startswith("/static/"):
        response.headers["Cache-Control"] = "max-age=3600"
    else:
        response.headers["X-Airwork-Who"] = guard.who(account)
    if request.url.scheme == "https":
        response.headers["Strict-Transport-Security"] = guard.HSTS
    fresh = getattr(request.state, "fresh_session", None)
    if fresh is not None:
        secure = request.url.scheme == "https"
        response.set_cookie(request.app.state.cookie, fresh, httponly=True, samesite="strict", secure=secure, path="/")
    return response


def _refusal(request: Request) -> Response | None:
    app, path = request.app, request.url.path
    request.state.session = request.state.account = None
    if not app.state.settings.answers_to(request.headers.get("host", "")):
        return answers.problem(request, 421, "This server is not called so.")
    _settle_account(request)
    if request.method not in {"GET", "HEAD", "OPTIONS"} and not guard.same_origin(request.headers):
        return answers.problem(request, 403, "This change was not asked for by a page of this server.")
    if request.state.account is None and not path.startswith(OPEN):
        if answers.wants_json(request):
            return answers.problem(request, 401, "Log in first.")
        wanted = path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/login?next={quote(wanted)}", 303)
    return None


def _settle_account(request: Request) -> None:
    """The session of the browser and the person behind it, as the accounts file has them now."""
    app = request.app
    locked = app.state.accounts.any
    session = app.state.sessions.find(request.cookies.get(app.state.cookie))
    if session is None and not request.url.path.startswith("/static/"):
        request.state.fresh_session, session = app.state.sessions.start(None if locked else OWNER)
    request.state.session = session
    if not locked:
        request.state.account = OWNER
    elif session is not None and session.account is not None and session.account.name:
        now = app.state.accounts.find(session.account.name)
        if now is not None and not book.knows(request, now):  # forgotten
            app.state.accounts.forget(now.name)
            now = None
        request.state.account = now if now == session.account else None  # removed, changed, or a new password
