"""Who may log in: the chief instructor invites people of the logbook, and takes accounts out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.errors import InputError
from airwork.logbook import history
from airwork.logbook.people import people as everybody
from airwork.web import access, book
from airwork.web.accounts import ROLES, Account
from airwork.web.answers import page

router = APIRouter(dependencies=access.CHIEF)


def _page(request: Request, *, invited: str = "", word: str = "", problem: str = "", status: int = 200) -> Response:
    with book.reading(request) as connection:
        known = everybody(connection)
    every, here = request.app.state.accounts.all(), {p.id for p in known}
    at = f"{request.url.scheme}://{request.headers.get('host', '')}"
    values = {
        "accounts": {a.person: a for a in every}, "strangers": [a for a in every if a.person not in here],
        "people": known, "roles": ROLES, "locked": bool(every),
        "invited": invited, "link": f"{at}/join/{word}" if word else "", "problem": problem,
    }  # fmt: skip
    return page(request, "people.html", values, status=status)


@router.get("/people", response_class=HTMLResponse)
def people(request: Request) -> Response:
    """Accounts and invitations, for the chief."""
    return _page(request)


@router.post("/people/invite", response_class=HTMLResponse)
def invite(
    request: Request,
    person: Annotated[str, Form(max_length=64)] = "",
    role: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """A link by which this person chooses a password: shown once, here."""
    with book.reading(request) as connection:
        who = book.person_or_404(connection, person)
    found = next((r for r in ROLES if r == role), None)
    try:
        if found is None or (found != "student" and not who.is_instructor):
            raise InputError(f"{who.name} is not entered as an instructor.", where="role")
        word = request.app.state.accounts.invite(Account(who.name, found, who.id))
    except InputError as problem:
        return _page(request, problem=str(problem), status=422)
    _write_down(request, "invited", who.name, found)
    return _page(request, invited=who.name, word=word)


def _write_down(request: Request, action: str, name: str, role: str) -> None:
    """Accounts stand in a file of their own; who changed them stands in the history with everything else."""
    with book.store_of(request).change() as connection:
        history.mark(connection, f"log-in {action}", {"name": name, "role": role})


@router.post("/people/role", response_class=HTMLResponse)
def role(
    request: Request,
    name: Annotated[str, Form(max_length=200)] = "",
    role: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Another role for somebody who may log in."""
    accounts = request.app.state.accounts
    found, old = next((r for r in ROLES if r == role), None), accounts.find(name)
    try:
        if found is None or old is None:
            raise InputError("choose somebody and a role.", where="role")
        if name == access.account_of(request).name:
            raise InputError("is your own account.", where=name)
        with book.reading(request) as connection:
            if found != "student" and not book.person_or_404(connection, old.person).is_instructor:
                raise InputError(f"{name} is not entered as an instructor.", where="role")
        accounts.change(name, role=found)
    except InputError as problem:
        return _page(request, problem=str(problem), status=422)
    _write_down(request, "changed", name, f"{old.role} → {found}")
    return RedirectResponse("/people", 303)


@router.post("/people/remove", response_class=HTMLResponse)
def remove(request: Request, name: Annotated[str, Form(max_length=200)] = "") -> Response:
    """Take an account out; the person stays in the logbook."""
    try:
        if name == access.account_of(request).name:
            raise InputError("is your own account.", where=name)
        old = request.app.state.accounts.find(name)
        request.app.state.accounts.remove(name)
    except InputError as problem:
        return _page(request, problem=str(problem), status=422)
    _write_down(request, "taken out", name, "" if old is None else old.role)
    return RedirectResponse("/people", 303)
