"""Slips in what is printed once: tanks, limits, loading, corrections, flap speeds, names of speeds."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from books.slips_cells import Data, Slip, at, digit_doubled, digit_dropped, digit_wrong, digits_exchanged, point_moved
from books.slips_units import numbers


def tanks_differ(data: Data, draw: random.Random) -> str | None:
    tank = draw.choice(data["fuel"]["tanks"])
    key = next(k for k in tank if k.startswith("usable"))
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, point_moved))(tank[key], draw)
    if new is None or new == tank[key]:
        return None
    tank[key] = new
    return "fuel"


def scalar(path: str, keys: Callable[[str], bool]) -> Slip:
    def plant(data: Data, draw: random.Random) -> str | None:
        node = at(data, path)
        names = [k for k, v in (node or {}).items() if keys(k) and numbers(v)]
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
    envelope = next(key for key in wb if key.startswith("envelope_"))
    rows += [(f"weight_and_balance.{envelope}", c) for c in wb[envelope]["polygon"]]
    rows += [("weight_and_balance", wb)] * 2
    table, row = draw.choice(rows)
    key = draw.choice([k for k, v in row.items() if isinstance(v, int | float)])
    new = draw.choice((digits_exchanged, digit_wrong, digit_dropped, digit_doubled, point_moved))(row[key], draw)
    if new is None or new == row[key]:
        return None
    row[key] = new
    return table


def runway_table(data: Data, draw: random.Random) -> tuple[str, list[dict[str, Any]]]:
    kind = draw.choice(("takeoff", "landing"))
    return f"performance.{kind}", data["performance"][kind]["corrections"]


def correction_sign(data: Data, draw: random.Random) -> str | None:
    table, rules = runway_table(data, draw)
    rule = draw.choice(rules)
    rule["change_percent"] = -rule["change_percent"]
    return table


def correction_digit(data: Data, draw: random.Random) -> str | None:
    table, rules = runway_table(data, draw)
    rule = draw.choice(rules)
    key = draw.choice([k for k in ("change_percent", "per") if k in rule])
    new = draw.choice((digit_wrong, digit_doubled, digit_dropped, point_moved, digits_exchanged))(rule[key], draw)
    if not new or new == rule[key]:
        return None
    rule[key] = new
    return table


def correction_missing(data: Data, draw: random.Random) -> str | None:
    table, rules = runway_table(data, draw)
    del rules[draw.randrange(len(rules))]
    return table


def correction_exchanged(data: Data, draw: random.Random) -> str | None:
    """Percent and "per" typed the other way round."""
    table, rules = runway_table(data, draw)
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
    notches = data["flaps"]["notches"][1:]
    if not notches:
        return None
    row = draw.choice(notches)
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
