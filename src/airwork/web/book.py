"""The logbook as the pages ask it: opened for each question, or None when this server has none."""

from __future__ import annotations

import os
from collections.abc import Container
from contextlib import AbstractContextManager
from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from starlette.exceptions import HTTPException

from airwork.errors import AirworkError, InputError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from airwork.logbook.records import Person
    from airwork.logbook.store import Store
    from airwork.web.accounts import Account


def has_logbook(request: Request) -> bool:
    return request.app.state.settings.data is not None


def store_of(request: Request) -> Store:
    """The logbook, opened once. HTTPException 404 where this server has none."""
    from airwork.logbook.store import open_store

    state = request.app.state
    if state.settings.data is None:
        raise HTTPException(404)
    if getattr(state, "store", None) is None:
        state.store = open_store(state.settings.data)
    found: Store = state.store
    return found


def begin(app: FastAPI) -> None:
    """An empty logbook where the next `airwork serve` looks for one too.

    Raises
    ------
    InputError : this server has one already.
    """
    from airwork.logbook.store import default_path, open_store

    if app.state.settings.data is not None:
        raise InputError("this server has a logbook already.", where="logbook")
    where = os.environ.get("AIRWORK_DATA") or str(default_path())
    open_store(where, create=True).close()
    app.state.settings = app.state.workshop.settings = replace(app.state.settings, data=where)


def reading(request: Request) -> AbstractContextManager[Connection]:
    """The logbook as it stands at one moment."""
    return store_of(request).read()


def knows(request: Request, account: Account) -> bool:
    """The logbook, where there is one, has the person of an account; a student's as a student still."""
    from airwork.logbook.people import person_by_id

    if not account.person or not has_logbook(request):
        return True
    try:
        with reading(request) as connection:
            return account.teaches or person_by_id(connection, account.person).is_student
    except InputError:
        return False
    except AirworkError:  # a logbook that can't be read says so on its pages
        return True


def person_or_404(connection: Connection, person_id: str) -> Person:
    """The person of an identity. HTTPException 404 for nobody."""
    from airwork.logbook.people import person_by_id

    try:
        return person_by_id(connection, person_id)
    except InputError:
        raise HTTPException(404) from None


def aimed_at(request: Request, student_id: str, known: Container[str], otherwise: str = "") -> str:
    """What a student of the logbook aims at, where it is one of these; else the other."""
    if not student_id or not has_logbook(request):
        return otherwise
    with reading(request) as connection:
        aimed = person_or_404(connection, student_id).certificate_aimed
    return aimed if aimed in known else otherwise
