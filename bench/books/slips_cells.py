"""Slips in single numbers and rows; each returns the table it spoiled, or None."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

Data = dict[str, Any]
Slip = Callable[[Data, random.Random], str | None]

INPUTS = (
    "weight",
    "pressure_altitude",
    "density_altitude",
    "oat",
    "isa_deviation",
    "rpm",
    "manifold",
    "flap_notch",
    "bank",
    "name",
)
TABLES = {
    "takeoff": "performance.takeoff",
    "landing": "performance.landing",
    "climb": "performance.climb",
    "cruise": "performance.cruise",
    "power_chart": "performance.power_chart",
    "stall": "performance.stall",
    "to_climb": "performance.time_fuel_distance_to_climb",
}


def at(data: Data, path: str) -> Any:
    node: Any = data
    for part in path.split("."):
        if not isinstance(node, dict) or part not in node:
            return None
        node = node[part]
    return node


def lists(data: Data) -> list[tuple[str, list[dict[str, Any]]]]:
    """(table, rows) of every printed table of numbers."""
    found = [(path, rows["rows"]) for path in TABLES.values() if (rows := at(data, path))]
    for key in ("flaps_up", "flaps_down"):
        if rows := at(data, f"airspeed_calibration.{key}"):
            found.append((f"airspeed_calibration.{key}", rows["rows"]))
    found.append(("v_speeds", data["v_speeds"]["rows"]))
    return found


def is_input(key: str) -> bool:
    return key.startswith(INPUTS) or key in {"notch", "per"}


def columns(rows: list[dict[str, Any]], *, inputs: bool = False) -> list[str]:
    keys = dict.fromkeys(k for row in rows for k, v in row.items() if isinstance(v, int | float))
    return [k for k in keys if is_input(k) == inputs and k not in {"flap_notch", "bank_deg"}]


def some_cell(data: Data, draw: random.Random, *, inputs: bool = False) -> tuple[str, dict[str, Any], str] | None:
    table, rows = draw.choice(lists(data))
    keys = columns(rows, inputs=inputs)
    if not keys:
        return None
    key = draw.choice(keys)
    row = draw.choice([r for r in rows if key in r])
    return table, row, key


def typed(text: str, like: float) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return int(value) if value == int(value) and "." not in text else value


def digits_exchanged(x: float, draw: random.Random) -> float | None:
    text = f"{x:g}"
    pairs = [i for i in range(len(text) - 1) if text[i : i + 2].isdigit() and text[i] != text[i + 1]]
    if not pairs:
        return None
    i = draw.choice(pairs)
    return typed(text[:i] + text[i + 1] + text[i] + text[i + 2 :], x)


def digit_wrong(x: float, draw: random.Random) -> float | None:
    text = f"{x:g}"
    places = [i for i, c in enumerate(text) if c.isdigit()]
    i = draw.choice(places)
    return typed(text[:i] + draw.choice([c for c in "0123456789" if c != text[i]]) + text[i + 1 :], x)


def digit_dropped(x: float, draw: random.Random) -> float | None:
    text = f"{x:g}"
    places = [i for i, c in enumerate(text) if c.isdigit()]
    if len(places) < 2:
        return None
    i = draw.choice(places)
    return typed(text[:i] + text[i + 1 :], x)


def digit_doubled(x: float, draw: random.Random) -> float | None:
    text = f"{x:g}"
    i = draw.choice([i for i, c in enumerate(text) if c.isdigit()])
    return typed(text[: i + 1] + text[i:], x)


def zero_dropped(x: float, draw: random.Random) -> float | None:
    return x // 10 if x == int(x) and x % 10 == 0 and x >= 10 else None


def point_moved(x: float, draw: random.Random) -> float | None:
    return round(x * 10, 6) if draw.random() < 0.5 else round(x / 10, 6)


def cell_slip(change: Callable[[float, random.Random], float | None], *, inputs: bool = False) -> Slip:
    def plant(data: Data, draw: random.Random) -> str | None:
        cell = some_cell(data, draw, inputs=inputs)
        if cell is None:
            return None
        table, row, key = cell
        new = change(row[key], draw)
        if new is None or new == row[key]:
            return None
        row[key] = new
        return table

    return plant


# what one number becomes when it is typed in the unit it is not printed in
OTHER = {
    "_kg": (1 / 0.45359237,),
    "_lb": (0.45359237,),
    "_ft": (0.3048,),
    "_m": (1 / 0.3048,),
    "_15_m": (1 / 0.3048,),
    "kias": (1.150779,),
    "kcas": (1.150779,),
    "ktas": (1.150779,),
    "_mph": (1 / 1.150779,),
    "_kmh": (1 / 1.852,),
    "_us_gal": (3.785412,),
    "_l": (1 / 3.785412,),
    "_imp_gal": (4.54609,),
    "gph": (3.785412,),
    "lph": (1 / 3.785412,),
}


def other_unit(key: str) -> float | None:
    if key.startswith(("gph_", "lph_")):
        return OTHER[key[:3]][0]
    if key.startswith("imp_gph"):
        return 4.54609
    return next((f[0] for end, f in sorted(OTHER.items(), key=lambda i: -len(i[0])) if key.endswith(end)), None)


def rounded(x: float, like: float) -> float:
    return round(x) if isinstance(like, int) and abs(x) >= 5 else round(x, 1)


def cell_in_other_unit(data: Data, draw: random.Random) -> str | None:
    cell = some_cell(data, draw, inputs=draw.random() < 0.25)
    if cell is None:
        return None
    table, row, key = cell
    factor = other_unit(key)
    if key == "oat_c":
        row[key] = round(row[key] * 1.8 + 32)
    elif key == "oat_f":
        row[key] = round((row[key] - 32) / 1.8)
    elif factor is None:
        return None
    else:
        row[key] = rounded(row[key] * factor, row[key])
    return table


def neighbors_exchanged(data: Data, draw: random.Random) -> str | None:
    table, rows = draw.choice(lists(data))
    keys = columns(rows)
    if len(keys) < 2:
        return None
    row = draw.choice(rows)
    a, b = draw.sample(keys, 2)
    if a not in row or b not in row or row[a] == row[b]:
        return None
    row[a], row[b] = row[b], row[a]
    return table


def rows_exchanged(data: Data, draw: random.Random) -> str | None:
    table, rows = draw.choice(lists(data))
    keys = columns(rows)
    i = draw.randrange(len(rows) - 1)
    for key in keys:
        if key in rows[i] and key in rows[i + 1]:
            rows[i][key], rows[i + 1][key] = rows[i + 1][key], rows[i][key]
    return table


def column_shifted(data: Data, draw: random.Random) -> str | None:
    """From a row on, a column stands one row too low (or too high), for the rest of the table."""
    table, rows = draw.choice(lists(data))
    key = draw.choice(columns(rows))
    i = draw.randrange(max(len(rows) - 2, 1))
    old = [row.get(key) for row in rows]
    new = old[:i] + old[i : i + 1] + old[i:-1] if draw.random() < 0.5 else old[:i] + old[i + 1 :] + old[-1:]
    for row, value in zip(rows, new, strict=True):
        if value is not None and key in row:
            row[key] = value
    return table


def row_repeated(data: Data, draw: random.Random) -> str | None:
    table, rows = draw.choice(lists(data))
    i = draw.randrange(len(rows) - 1)
    for key in columns(rows):
        if key in rows[i] and key in rows[i + 1]:
            rows[i + 1][key] = rows[i][key]
    return table


def row_left_out(data: Data, draw: random.Random) -> str | None:
    table, rows = draw.choice(lists(data))
    if len(rows) < 4 or table == "v_speeds":
        return None
    del rows[draw.randrange(1, len(rows) - 1)]
    return table


def sign_lost(data: Data, draw: random.Random) -> str | None:
    rows = [
        (t, r, k) for t, rs in lists(data) for r in rs for k, v in r.items() if isinstance(v, int | float) and v < 0
    ]
    if not rows:
        return None
    table, row, key = draw.choice(rows)
    row[key] = -row[key]
    return table


def columns_exchanged(data: Data, draw: random.Random) -> str | None:
    """Two columns of a whole table."""
    table, rows = draw.choice([(t, r) for t, r in lists(data) if len(columns(r)) > 1])
    a, b = draw.sample(columns(rows), 2)
    for row in rows:
        if a in row and b in row:
            row[a], row[b] = row[b], row[a]
    return table
