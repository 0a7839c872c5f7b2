"""Columns that lie apart in a document, each with its name, its unit and its readings, as rows.

{"altitude": {"unit": "ft", "values": [...]}, ...} or [{"channel": "altitude", "samples": [[time, value], ...]}, ...]:
whatever object holds one long list is a column; a text in it that is a unit is its unit, another text its name.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from airwork.recording.beside import step_s
from airwork.recording.unit_words import read_units

_LEAST = 20  # readings of a column
_MOST_ROWS = 750_000
_BEGIN = re.compile(r"(?i)^(?:t0|t.?start|start|begin|first|offset|time|ts)")
_TIMES = re.compile(r"(?i)^(?:t|ts|times?|timestamps?|time_?s|seconds|when)$")
_PLACE = re.compile(r"(?i)^(?:coord|lng|lon|lat|pos|loc|point|geo|place)")


def pair_cell(name: str, value: list[Any]) -> str | None:
    """Latitude and longitude in a list of two numbers, or of three with the height, as one cell; None of others."""
    if not (len(value) == 2 or (len(value) == 3 and _PLACE.search(name))):
        return None
    if not all(isinstance(x, float) and abs(x) <= 180.0 for x in value[:2]):
        return None
    return ("POINT ({} {})" if name.lower().startswith(("coord", "lng", "lon")) else "{}, {}").format(*value)


def stepped(said: Mapping[str, Any], count: int) -> list[Any]:
    """The moments of readings that an object tells by a start and a step or a rate; [] where it tells no step."""
    numbers = [(n, float(v)) for n, v in said.items() if isinstance(v, (int, float)) and not isinstance(v, bool)]
    step = next((s for n, v in numbers if (s := step_s(n, v)) is not None), None)
    begin = next((v for n, v in said.items() if _BEGIN.search(n) and isinstance(v, (int, float, str))), 0.0)
    if step is None:
        return []
    if not isinstance(begin, str):
        return [round(begin + k * step, 6) for k in range(count)]
    try:
        first = datetime.fromisoformat(begin)
    except ValueError:
        return []
    return [(first + timedelta(seconds=k * step)).isoformat() for k in range(count)]


def series_as_rows(objects: Iterable[Any]) -> tuple[list[dict[str, Any]], dict[str, str]]:
    """(rows, name → unit) of the columns that lie apart; ([], {}) where there are fewer than three.

    Parameters
    ----------
    objects : every object and list of the document.
    """
    found: dict[str, list[Any]] = {}
    units: dict[str, str] = {}
    for value in objects:
        children: Iterable[tuple[Any, Any]] = value.items() if isinstance(value, dict) else enumerate(value)
        for key, child in children:
            of = {n: v for n, v in child.items() if isinstance(v, list)} if isinstance(child, dict) else {"": child}
            times = next((of.pop(n) for n in list(of) if len(of) == 2 and _TIMES.match(n)), [])
            lists = list(of.values())
            if (
                len(lists) != 1
                or not isinstance(lists[0], list)
                or len(lists[0]) < _LEAST
                or isinstance(lists[0][0], dict)
            ):
                continue
            beside = child.values() if isinstance(child, dict) else ()
            texts = [v for v in beside if isinstance(v, str) and v and len(v) < 60]
            unit = next((t for t in texts if read_units(t.split()[0])), "")
            name = key if isinstance(key, str) else next((t for t in texts if t != unit), unit)
            if name and len(lists[0]) > len(found.get(name, ())):
                moments = times or (stepped(child, len(lists[0])) if isinstance(child, dict) else [])
                found[name] = [list(pair) for pair in zip(moments, lists[0], strict=False)] if moments else lists[0]
                units[name] = unit
    if len(found) < 3:
        return [], {}
    apart = {n: v for n, v in found.items() if all(isinstance(x, list) and len(x) == 2 for x in v[:50])}
    if len(apart) >= 3:
        rows: dict[Any, dict[str, Any]] = {}
        for name, pairs in apart.items():
            for pair in pairs:
                if isinstance(pair, list) and len(pair) == 2 and isinstance(pair[0], (int, float, str)):
                    rows.setdefault(pair[0], {"time": pair[0]})[name] = pair[1]
            if len(rows) > _MOST_ROWS:
                break
        alike = len({type(t) for t in rows}) == 1
        return [rows[t] for t in (sorted(rows) if alike else rows)], units
    cells = {n: [pair_cell(n, x) if isinstance(x, list) else x for x in v] for n, v in found.items()}
    cells = {n: v for n, v in cells.items() if not any(x is None or isinstance(x, (list, dict)) for x in v[:50])}
    size = Counter(map(len, cells.values())).most_common(1)[0][0] if cells else 0
    whole = {n: v for n, v in cells.items() if len(v) == size}
    if len(whole) < 3:
        return [], units
    return [dict(zip(whole, row, strict=True)) for row in zip(*whole.values(), strict=True)], units
