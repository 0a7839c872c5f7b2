"""Files people type: their text, and TOML's tables, or one clear line saying what is wrong."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from airwork.errors import InputError

FILL_IN = "FILL IN"  # what a new file says where only the user knows


def read_text(path: Path, what: str, *, most_mb: int = 1, missing: str = "no such file.") -> str:
    """The text of a file.

    Parameters
    ----------
    what : what it should be: "lesson file".
    most_mb : it is no such file above that. [MB]

    Raises
    ------
    InputError : there is none, it can't be read, is too large or no text; names the path.
    """
    try:
        if path.is_dir():
            raise InputError(f"is a folder; give the {what} in it.", where=str(path))
        if path.stat().st_size > most_mb * 1_000_000:
            raise InputError(f"is larger than {most_mb} MB; that is no {what}.", where=str(path))
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(missing, where=str(path)) from None
    except UnicodeDecodeError:
        raise InputError("is not UTF-8 text; save it as plain text.", where=str(path)) from None
    except (OSError, ValueError) as problem:  # ValueError: a NUL byte in the path
        raise InputError(f"can't be read ({getattr(problem, 'strerror', None) or problem}).", where=str(path)) from None


def tables(text: str, where: str) -> dict[str, Any]:
    """What a TOML text says.

    Raises
    ------
    InputError : it is no TOML, or holds a date or number no calendar or machine knows.

    >>> tables("rows = [\\n [1150, 070]]", "x.toml")
    Traceback (most recent call last):
    airwork.errors.InputError: x.toml: line 2: 070 begins with 0; write 70.
    """
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError:
        raise InputError("not valid TOML: nested too deeply.", where=where) from None
    except ValueError as problem:
        raise InputError(_leading_zero(text, str(problem)) or f"not valid TOML: {problem}.", where=where) from None


def _leading_zero(text: str, problem: str) -> str:
    """A number that begins with 0, in words; empty where that is not the problem."""
    at = re.search(r"\(at line (\d+)", problem)
    lines = text.split("\n")
    line = lines[int(at[1]) - 1] if at and 0 < int(at[1]) <= len(lines) else ""
    bad = re.search(r"""(?:^|[=\[,{])\s*([+-]?)(0[\d_]+(?:\.\d+)?)\s*(?=[,\]}#]|$)""", line.rstrip("\r"))
    if at is None or bad is None:
        return ""
    return f"line {at[1]}: {bad[1]}{bad[2]} begins with 0; write {bad[1]}{re.sub(r'^[0_]+(?=[0-9])', '', bad[2])}."
