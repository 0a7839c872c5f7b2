"""Rows of a lesson that come, go and change places: people, bags, exercises. The address holds them.

A row has a number of its own that stays while it moves: the file's rows have 0, 1, 2 … in the file's order, new ones
the numbers after. Where the rows differ from the file the address says which there are: `exercises=0,2,1,6`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from airwork.errors import InputError
from airwork.web.form_rows import order

MOST_ROWS = {"people": 8, "bags": 8, "exercises": 30}
NEW = "new/"  # fields that say what a button adds; never part of the state
DO = "do"


def rows_of(data: Mapping[str, Any], table: str) -> list[dict[str, Any]]:
    """The file's rows of a table."""
    rows = data.get(table)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def state(asked: Mapping[str, str]) -> dict[str, str]:
    """The address without the buttons."""
    return {k: v for k, v in asked.items() if k != DO and not k.startswith(NEW)}


def done(data: Mapping[str, Any], asked: Mapping[str, str], do: str) -> dict[str, str]:
    """The address after a button: "exercises/add", "exercises/2/up", "exercises/2/down", "exercises/2/to/0"
    (dragged to a place), "people/0/remove", "people/0/back" (a row of the file that was taken out), "exercises/2/wish".

    Raises
    ------
    InputError : no such button, or no such row.
    """
    out = state(asked)
    found = re.fullmatch(r"(people|bags|exercises)/(?:(add)|(\d{1,3})/(up|down|remove|back|wish|to/\d{1,3}))", do)
    if found is None:
        raise InputError(f"there is no button {do[:40]!r}.", where="do")
    table = found[1]
    count = len(rows_of(data, table))
    rows = order(count, asked.get(table), MOST_ROWS[table], table)
    if found[2]:
        _add(table, rows, count, asked, out)
    else:
        _change(table, rows, count, int(found[3]), found[4], asked, out)
    if rows == list(range(count)):
        out.pop(table, None)
    else:
        out[table] = ",".join(str(n) for n in rows)
    return out


def _add(table: str, rows: list[int], count: int, asked: Mapping[str, str], out: dict[str, str]) -> None:
    if len(rows) >= MOST_ROWS[table]:
        raise InputError(f"at most {MOST_ROWS[table]} rows.", where=table)
    number = next(n for n in range(count, count + MOST_ROWS[table]) if n not in rows)
    chosen = asked.get(f"{NEW}{table}", "").strip()
    if not chosen:
        raise InputError("choose what to add.", where=f"{NEW}{table}")
    for key in [k for k in out if k.startswith(f"{table}/{number}/")]:
        del out[key]
    rows.append(number)
    if table == "exercises":
        out[f"{table}/{number}/kind"] = chosen
    else:
        taken = sum(1 for n in rows) if table == "people" else 0
        out[f"{table}/{number}/name"] = f"passenger {taken}" if table == "people" else "bags"
        out[f"{table}/{number}/station"] = chosen
        out[f"{table}/{number}/weight"] = ""


def _change(
    table: str, rows: list[int], count: int, number: int, what: str, asked: Mapping[str, str], out: dict[str, str]
) -> None:
    back = what == "back"
    if (number in rows or number >= count) if back else number not in rows:
        raise InputError("there is no such row.", where=f"{table}/{number}")
    if back:
        rows.insert(next((at for at, n in enumerate(rows) if n > number), len(rows)), number)
        return
    at = rows.index(number)
    if what == "remove":
        rows.pop(at)
        for key in [k for k in out if k.startswith(f"{table}/{number}/")]:
            del out[key]
    elif what == "wish":
        if word := asked.get(f"{NEW}{table}/{number}", "").strip():
            out.setdefault(f"{table}/{number}/target/{word}", "")
    elif what.startswith("to/"):
        rows.insert(min(int(what[3:]), len(rows) - 1), rows.pop(at))
    else:
        other = at + (-1 if what == "up" else 1)
        if 0 <= other < len(rows):
            rows[at], rows[other] = rows[other], rows[at]
