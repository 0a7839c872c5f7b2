"""Rows of a form that come, go and change places, by their own numbers: the file's 0, 1, 2 …, new ones after."""

from __future__ import annotations

import re

from airwork.errors import InputError


def order(count: int, text: str | None, most: int, where: str = "rows") -> list[int]:
    """The rows there are, in order: "0,2,1,6"; those of the file where nothing is said. count : rows of the file.

    Raises
    ------
    InputError : it names none such, or more than so many.
    """
    if text is None:
        return list(range(count))
    if not re.fullmatch(r"(\d{1,4}(,\d{1,4})*)?", text):
        raise InputError(f"found {text[:40]!r}, expected numbers of rows like 0,2,1.", where=where)
    found = [int(part) for part in text.split(",")] if text else []
    if len(set(found)) != len(found) or any(n >= count + most for n in found):
        raise InputError("a row stands there twice, or there is none such.", where=where)
    if len(found) > max(most, count):
        raise InputError(f"at most {most} rows.", where=where)
    return found
