"""Who may log in: the chief instructor invites people of the logbook, and takes accounts out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.errors import InputError
from airwork.logbook.changes import changes
from airwork.logbook.people import people as everybody
from airwork.web import access, book
from airwork.web.accounts import ROLES, Account
from airwork.web.answers import page

router = APIRouter()


def _page(request: Request, *, invited: str = "", word: str = "", problem: str = "", status: int = 200) -> Response:
    with book.reading(request) as connection:
        known, told = everybody(connection), changes(connection)
    at = f"{request.url.scheme}://{request.headers.get('host', '')}"
    values = {
        "accounts": request.app.state.accounts.all(), "people": known, "roles": ROLES, "changes": told,
        "invited": invited, "link": f"{at}/join/{word}" if word else "", "problem": problem,
    }  # fmt: skip
    return page(request, "people.html", values, status=status)


@router.get("/people", response_class=HTMLResponse)
def people(request: Request) -> Response:
    """Accounts, invitations and the newest changes, for the chief."""
    access.require_chief(request)
    return _page(request)


@router.post("/people/invite", response_class=HTMLResponse)
def invite(
    request: Request,
    person: Annotated[str, Form(max_length=64)] = "",
    role: Annotated[str, Form(max_length=20)] = "",
    token: Annotated[str, Form()] = "",
) -> Response:
    """A link by which this person chooses a password: shown once, here."""
    access.require_token(request, token)
    access.require_chief(request)
    with book.reading(request) as connection:
        who = book.person_or_404(connection, person)
    found = next((r for r in ROLES if r == role), None)
    try:
        if found is None or (found != "student" and not who.is_instructor):
            raise InputError(f"{who.name} is not entered as an instructor.", where="role")
        word = request.app.state.accounts.invite(Account(who.name, found, who.id))
    except InputError as problem:
        return _page(request, problem=str(problem), status=422)
    return _page(request, invited=who.name, word=word)


@router.post("/people/remove", response_class=HTMLResponse)
def remove(
    request: Request, name: Annotated[str, Form(max_length=200)] = "", token: Annotated[str, Form()] = ""
) -> Response:
    """Take an account out; the person stays in the logbook."""
    access.require_token(request, token)
    access.require_chief(request)
    try:
        if name == access.account_of(request).name:
            raise InputError("is your own account.", where=name)
        request.app.state.accounts.remove(name)
    except InputError as problem:
        return _page(request, problem=str(problem), status=422)
    return RedirectResponse("/people", 303)
