"""The logbook as the pages ask it: opened for each question, or None when this server has none."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from starlette.exceptions import HTTPException

from airwork.errors import InputError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from airwork.logbook.records import Person
    from airwork.logbook.store import Store


def has_logbook(request: Request) -> bool:
    """This server has a logbook."""
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


@contextmanager
def reading(request: Request) -> Iterator[Connection]:
    """The logbook as it stands at one moment."""
    with store_of(request).read() as connection:
        yield connection


def person_or_404(connection: Connection, person_id: str) -> Person:
    """The person of an identity. HTTPException 404 for nobody."""
    from airwork.logbook.people import person_by_id

    try:
        return person_by_id(connection, person_id)
    except InputError:
        raise HTTPException(404) from None
