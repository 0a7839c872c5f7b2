"""Slips of a typist, planted at random into a book's data; each returns the table it spoiled, or None."""

from __future__ import annotations

import copy
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


def _cell_slip(change: Callable[[float, random.Random], float | None], *, inputs: bool = False) -> Slip:
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


def _other_unit(key: str) -> float | None:
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
    factor = _other_unit(key)
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


def _scaled(path: str, match: Callable[[str], bool], factor: Callable[[str], float | None] | float) -> Slip:
    """A whole table's columns in another unit (or ten times too much)."""

    def plant(data: Data, draw: random.Random) -> str | None:
        node = at(data, path)
        if node is None:
            return None
        changed = False
        for row in _rows_in(node):
            for key, value in list(row.items()):
                if match(key) and _numbers(value):
                    f = factor(key) if callable(factor) else factor
                    if f is None:
                        continue
                    row[key] = (
                        [rounded(v * f, v) for v in value] if isinstance(value, list) else rounded(value * f, value)
                    )
                    changed = True
        return path if changed else None

    return plant


def _numbers(value: Any) -> bool:
    if isinstance(value, list):
        return bool(value) and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
    return isinstance(value, int | float) and not isinstance(value, bool)


def _rows_in(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, list):
        return [d for item in node for d in _rows_in(item)]
    if not isinstance(node, dict):
        return []
    return [node, *(d for v in node.values() if isinstance(v, dict | list) for d in _rows_in(v))]


def _lengths(key: str) -> bool:
    return key.startswith(("ground_roll", "total_over"))


def _speeds(key: str) -> bool:
    return key.endswith(("kias", "kcas", "ktas", "_mph", "_kmh"))


def _flows(key: str) -> bool:
    return "gph_" in key or key.startswith("lph_")


def _us_to_imperial(key: str) -> float | None:
    return 1 / 1.200950 if "gal" in key or "gph" in key else None


def _liters(key: str) -> float | None:
    return {"_l": 1 / 3.785412, "lph": 1 / 3.785412}.get(
        key[-2:] if key.endswith("_l") else key[:3], 3.785412 if "imp" not in key else 4.54609
    )


def heats_in_other_unit(data: Data, draw: random.Random) -> str | None:
    table, rows = draw.choice(
        [(t, r) for t, r in lists(data) if any(k in r[0] for k in ("oat_c", "oat_f"))] or [("", [])]
    )
    for row in rows:
        if "oat_c" in row:
            row["oat_c"] = round(row["oat_c"] * 1.8 + 32)
        elif "oat_f" in row:
            row["oat_f"] = round((row["oat_f"] - 32) / 1.8)
    return table or None


def tanks_differ(data: Data, draw: random.Random) -> str | None:
    tank = draw.choice(data["fuel"]["tanks"])
    key = next(k for k in tank if k.startswith("usable"))
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, point_moved))(tank[key], draw)
    if new is None or new == tank[key]:
        return None
    tank[key] = new
    return "fuel"


def _scalar(path: str, keys: Callable[[str], bool]) -> Slip:
    def plant(data: Data, draw: random.Random) -> str | None:
        node = at(data, path)
        names = [k for k, v in (node or {}).items() if keys(k) and _numbers(v)]
        if not names:
            return None
        key = draw.choice(names)
        change = draw.choice((digits_exchanged, digit_wrong, digit_dropped, digit_doubled, point_moved))
        value = node[key]
        if isinstance(value, list):
            i = draw.randrange(len(value))
            new = change(value[i], draw)
            if new is None or new == value[i]:
                return None
            value[i] = new
        else:
            new = change(value, draw)
            if new is None or new == value:
                return None
            node[key] = new
        return path

    return plant


def loading_number(data: Data, draw: random.Random) -> str | None:
    """A digit of an arm, a weight or a corner."""
    wb = data["weight_and_balance"]
    rows: list[tuple[str, dict[str, Any]]] = [("weight_and_balance", s) for s in wb["stations"]]
    rows += [("weight_and_balance.envelope_normal", c) for c in wb["envelope_normal"]["polygon"]]
    rows += [("weight_and_balance", wb)] * 2
    table, row = draw.choice(rows)
    key = draw.choice([k for k, v in row.items() if isinstance(v, int | float)])
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, digit_doubled, point_moved))(row[key], draw)
    if new is None or new == row[key]:
        return None
    row[key] = new
    return table


def _runway_table(data: Data, draw: random.Random) -> tuple[str, list[dict[str, Any]]]:
    kind = draw.choice(("takeoff", "landing"))
    return f"performance.{kind}", data["performance"][kind]["corrections"]


def correction_sign(data: Data, draw: random.Random) -> str | None:
    table, rules = _runway_table(data, draw)
    rule = draw.choice(rules)
    rule["change_percent"] = -rule["change_percent"]
    return table


def correction_digit(data: Data, draw: random.Random) -> str | None:
    table, rules = _runway_table(data, draw)
    rule = draw.choice(rules)
    key = draw.choice([k for k in ("change_percent", "per") if k in rule])
    new = draw.choice((digit_wrong, digit_doubled, digit_dropped, point_moved, digits_exchanged))(rule[key], draw)
    if not new or new == rule[key]:
        return None
    rule[key] = new
    return table


def correction_missing(data: Data, draw: random.Random) -> str | None:
    table, rules = _runway_table(data, draw)
    del rules[draw.randrange(len(rules))]
    return table


def correction_exchanged(data: Data, draw: random.Random) -> str | None:
    """Percent and "per" typed the other way round."""
    table, rules = _runway_table(data, draw)
    found = [r for r in rules if "per" in r]
    if not found:
        return None
    rule = draw.choice(found)
    sign = -1 if rule["change_percent"] < 0 else 1
    rule["change_percent"], rule["per"] = sign * rule["per"], abs(rule["change_percent"])
    return table


def flap_speeds_exchanged(data: Data, draw: random.Random) -> str | None:
    notches = data["flaps"]["notches"][1:]
    key = next((k for k in notches[0] if k.startswith("maximum_speed")), None) if len(notches) > 1 else None
    if key is None or notches[0][key] == notches[-1][key]:
        return None
    notches[0][key], notches[-1][key] = notches[-1][key], notches[0][key]
    return "flaps"


def flap_speed_digit(data: Data, draw: random.Random) -> str | None:
    row = draw.choice(data["flaps"]["notches"][1:])
    key = next(k for k in row if k.startswith("maximum_speed"))
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped))(row[key], draw)
    if not new or new == row[key]:
        return None
    row[key] = new
    return "flaps"


def speed_names_exchanged(data: Data, draw: random.Random) -> str | None:
    """Two of the speeds under each other's names."""
    rows = data["v_speeds"]["rows"]
    a, b = draw.sample(rows, 2)
    if a["name"] == b["name"]:
        return None
    a["name"], b["name"] = b["name"], a["name"]
    return "v_speeds"


def _climb_rates(key: str) -> bool:
    return key.startswith("rate_of_climb")


def _heights(key: str) -> bool:
    return key.startswith("pressure_altitude")


def height_factor(key: str) -> float | None:
    return 0.3048 if key.endswith("_ft") else 1 / 0.3048


SINGLE: dict[str, Slip] = {
    "digits exchanged": _cell_slip(digits_exchanged),
    "digit wrong": _cell_slip(digit_wrong),
    "digit dropped": _cell_slip(digit_dropped),
    "digit doubled": _cell_slip(digit_doubled),
    "zero dropped": _cell_slip(zero_dropped),
    "decimal point moved": _cell_slip(point_moved),
    "input: digits exchanged": _cell_slip(digits_exchanged, inputs=True),
    "input: digit wrong": _cell_slip(digit_wrong, inputs=True),
    "input: zero dropped": _cell_slip(zero_dropped, inputs=True),
    "one cell in another unit": cell_in_other_unit,
    "two cells of a row exchanged": neighbors_exchanged,
    "two rows exchanged": rows_exchanged,
    "column shifted by a row": column_shifted,
    "row typed twice": row_repeated,
    "row left out": row_left_out,
    "sign lost": sign_lost,
    "columns exchanged": columns_exchanged,
    "left tank unlike right": tanks_differ,
    "correction: sign": correction_sign,
    "correction: digit": correction_digit,
    "correction missing": correction_missing,
    "correction: percent and per exchanged": correction_exchanged,
    "flap speeds exchanged": flap_speeds_exchanged,
    "flap speed: digit": flap_speed_digit,
    "speed names exchanged": speed_names_exchanged,
    "loading: digit": loading_number,
    "limit: digit": _scalar("limitations", lambda k: "arc" not in k and "load" not in k),
    "arc: digit": _scalar("limitations", lambda k: "arc" in k),
    "airplane: digit": _scalar("airplane", lambda k: k.startswith(("maximum", "wing_area"))),
    "engine: digit": _scalar("engine", lambda k: k.startswith("rated")),
    "glide: digit": lambda d, r: (
        "performance.glide" if _scalar_row(d["performance"]["glide"]["rows"][0], "glide_ratio", r) else None
    ),
}


def _scalar_row(row: dict[str, Any], key: str, draw: random.Random) -> bool:
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, point_moved))(row[key], draw)
    if not new or new == row[key]:
        return False
    row[key] = new
    return True


WHOLE: dict[str, Slip] = {
    "takeoff: m and ft": _scaled("performance.takeoff", _lengths, _other_unit),
    "landing: m and ft": _scaled("performance.landing", _lengths, _other_unit),
    "takeoff ten times too short": _scaled("performance.takeoff", _lengths, 0.1),
    "landing ten times too short": _scaled("performance.landing", _lengths, 0.1),
    "takeoff weights in the other unit": _scaled("performance.takeoff", lambda k: k.startswith("weight"), _other_unit),
    "climb weights in the other unit": _scaled("performance.climb", lambda k: k.startswith("weight"), _other_unit),
    "stall weights in the other unit": _scaled("performance.stall", lambda k: k.startswith("weight"), _other_unit),
    "stall speeds: mph and kt": _scaled("performance.stall", _speeds, _other_unit),
    "V-speeds: mph and kt": _scaled("v_speeds", _speeds, _other_unit),
    "limits and arcs: mph and kt": _scaled("limitations", lambda k: _speeds(k) and "crosswind" not in k, _other_unit),
    "flap speeds: mph and kt": _scaled("flaps", _speeds, _other_unit),
    "calibration, one column: mph and kt": _scaled(
        "airspeed_calibration", lambda k: k in {"kcas", "calibrated_mph", "calibrated_kmh"}, _other_unit
    ),
    "cruise speeds: mph and kt": _scaled("performance.cruise", _speeds, _other_unit),
    "fuel flow: L and gal": _scaled("performance.cruise", _flows, _liters),
    "fuel flow: imperial": _scaled("performance.cruise", _flows, _us_to_imperial),
    "tanks: L and gal": _scaled("fuel", lambda k: k.startswith(("usable", "capacity", "unusable")), _liters),
    "tanks: imperial": _scaled("fuel", lambda k: k.startswith(("usable", "capacity", "unusable")), _us_to_imperial),
    "climb: m/s and ft/min": _scaled("performance.climb", _climb_rates, 0.00508),
    "climb altitudes: m and ft": _scaled("performance.climb", _heights, height_factor),
    "takeoff altitudes: m and ft": _scaled("performance.takeoff", _heights, height_factor),
    "temperatures: F and C": heats_in_other_unit,
    "loading weights: kg and lb": _scaled(
        "weight_and_balance", lambda k: k.endswith(("_kg", "_lb")) or k.startswith("weight"), _other_unit
    ),
    "envelope weights: kg and lb": _scaled(
        "weight_and_balance.envelope_normal", lambda k: k.startswith("weight"), _other_unit
    ),
    "maximum weight: kg and lb": _scaled("airplane", lambda k: k.startswith("maximum"), _other_unit),
    "wing area: m² and ft²": _scaled(
        "airplane", lambda k: k.startswith("wing_area"), lambda k: 10.7639 if k.endswith("m2") else 1 / 10.7639
    ),
    "envelope arms: mm and in": _scaled(
        "weight_and_balance.envelope_normal",
        lambda k: k.startswith("arm"),
        lambda k: 25.4 if k.endswith("_in") else 1 / 25.4 if k.endswith("mm") else 39.37,
    ),
    "station arms: mm and in": _scaled(
        "weight_and_balance.stations",
        lambda k: k.startswith("arm"),
        lambda k: 25.4 if k.endswith("_in") else 1 / 25.4 if k.endswith("mm") else 39.37,
    ),
}


def planted(data: Data, kind: str, seed: str) -> tuple[Data, str] | None:
    """The book with one slip of a kind, and the table it is in; None where the book has no place for it."""
    draw = random.Random(seed)
    slip = SINGLE.get(kind) or WHOLE[kind]
    for _ in range(12):
        spoiled = copy.deepcopy(data)
        table = slip(spoiled, draw)
        if table is not None and spoiled != data:
            return spoiled, table
    return None
