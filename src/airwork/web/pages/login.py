"""Logging in and out."""

from __future__ import annotations

import asyncio
import time
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from functools import partial
from importlib import resources
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.errors import InputError
from airwork.logbook import history, seal
from airwork.version import VERSION
from airwork.web import book, guard
from airwork.web.accounts import Account
from airwork.web.answers import page

router = APIRouter()


class WorkerResponse(Response):
    """A script, so named in the OpenAPI description."""

    media_type = "text/javascript"


def local_address(text: str) -> str:
    """Only an address on this server is gone to after the log-in."""
    plain = text.startswith("/") and not text.startswith("//") and "\\" not in text and text.isprintable()
    return text if plain else "/"


def _form(request: Request, *, name: str, next: str, problem: str = "", status: int = 200) -> Response:
    values = {"problem": problem, "name": name, "next": local_address(next)}
    return page(request, "login.html", values, status=status)


@router.get("/login", response_class=HTMLResponse)
def login_page(request: Request, next: str = "/") -> Response:
    return _form(request, name="", next=next)


@router.post("/login", response_class=HTMLResponse)
async def login(
    request: Request,
    name: Annotated[str, Form(max_length=200)],
    password: Annotated[str, Form(max_length=1000)],
    next: Annotated[str, Form()] = "/",
) -> Response:
    """Check name and password; a session of a new name on success.

    In threads of its own: a class that logs in at once would else take every thread the pages are answered in.
    """
    work = partial(copy_context().run, _log_in, request, name, password, next)
    return await asyncio.get_running_loop().run_in_executor(_passwords, work)


_passwords = ThreadPoolExecutor(2, thread_name_prefix="passwords")  # a check takes 64 MB and several cores on purpose


def _log_in(request: Request, name: str, password: str, next: str) -> Response:
    accounts = request.app.state.accounts
    name = accounts.meant(name)
    said, right = guard.tries(request, name)
    if said:
        return _form(request, name=name, next=next, problem=said, status=429)
    account = accounts.check(name, password)
    if account is not None and not book.knows(request, account):
        accounts.forget(name)
        account = None
    if account is None:
        return _form(request, name=name, next=next, problem="Name and password do not fit.", status=401)
    right()
    _inside(request, account)
    return RedirectResponse(local_address(next), 303)


def _inside(request: Request, account: Account) -> None:
    """A session of its own in place of the one before."""
    sessions = request.app.state.sessions
    sessions.end(request.cookies.get(request.app.state.cookie))
    request.state.fresh_session, _ = sessions.start(account)


@router.get("/join/{word}", response_class=HTMLResponse)
def join_page(request: Request, word: str) -> Response:
    """Where an invited person chooses their password."""
    return _join(request, word)


@router.post("/join/{word}", response_class=HTMLResponse)
def join(
    request: Request,
    word: str,
    password: Annotated[str, Form(max_length=1000)] = "",
    again: Annotated[str, Form(max_length=1000)] = "",
) -> Response:
    """The person's own password; an instructor's guards their signing key too, which is made with it."""
    if password != again:
        return _join(request, word, "The two are not the same.")
    try:
        account = request.app.state.accounts.accept(word, password)
    except InputError as found:
        return _join(request, word, str(found))
    if account.teaches and book.has_logbook(request):
        with history.acting(account.name), book.store_of(request).change() as connection:
            person = book.person_or_404(connection, account.person)
            if person.is_instructor:
                seal.make_key(connection, person, password, now_utc_s=time.time())
    _inside(request, account)
    return RedirectResponse("/", 303)


def _join(request: Request, word: str, problem: str = "") -> Response:
    account = request.app.state.accounts.invited(word)
    status = 422 if problem else 404 if account is None else 200
    values = {"problem": problem, "word": word, "name": "" if account is None else account.name,
              "teaches": account is not None and account.teaches}  # fmt: skip
    return page(request, "join.html", values, status=status)


@router.post("/logout", response_class=HTMLResponse)
def logout(request: Request) -> Response:
    """End the session."""
    request.app.state.sessions.end(request.cookies.get(request.app.state.cookie))
    # What this browser kept for the cockpit, and half-typed tables, are nobody else's.
    return RedirectResponse("/login", 303, headers={"Clear-Site-Data": '"storage"'})


@router.get("/sw.js", response_class=WorkerResponse)
def worker() -> Response:
    """What keeps pages for a cockpit without a network; of this version, so that a new one takes its place."""
    text = resources.files("airwork.web").joinpath("static", "sw.js").read_text(encoding="utf-8")
    return WorkerResponse(text.replace("__VERSION__", VERSION), headers={"Cache-Control": "no-cache"})
