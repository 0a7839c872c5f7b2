"""Whole tables typed in another unit, or ten times too much; each returns the table it spoiled, or None."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from books.slips_cells import Data, Slip, at, lists, rounded


def scaled(path: str, match: Callable[[str], bool], factor: Callable[[str], float | None] | float) -> Slip:
    """A whole table's columns in another unit (or ten times too much)."""

    def plant(data: Data, draw: random.Random) -> str | None:
        node = at(data, path)
        if node is None:
            return None
        changed = False
        for row in rows_in(node):
            for key, value in list(row.items()):
                if match(key) and numbers(value):
                    f = factor(key) if callable(factor) else factor
                    if f is None:
                        continue
                    row[key] = (
                        [rounded(v * f, v) for v in value] if isinstance(value, list) else rounded(value * f, value)
                    )
                    changed = True
        return path if changed else None

    return plant


def numbers(value: Any) -> bool:
    if isinstance(value, list):
        return bool(value) and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
    return isinstance(value, int | float) and not isinstance(value, bool)


def rows_in(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, list):
        return [d for item in node for d in rows_in(item)]
    if not isinstance(node, dict):
        return []
    return [node, *(d for v in node.values() if isinstance(v, dict | list) for d in rows_in(v))]


def lengths(key: str) -> bool:
    return key.startswith(("ground_roll", "total_over"))


def speeds(key: str) -> bool:
    return key.endswith(("kias", "kcas", "ktas", "_mph", "_kmh"))


def flows(key: str) -> bool:
    return "gph_" in key or key.startswith("lph_")


def us_to_imperial(key: str) -> float | None:
    return 1 / 1.200950 if "gal" in key or "gph" in key else None


def liters(key: str) -> float | None:
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


def climb_rates(key: str) -> bool:
    return key.startswith("rate_of_climb")


def heights(key: str) -> bool:
    return key.startswith("pressure_altitude")


def height_factor(key: str) -> float | None:
    return 0.3048 if key.endswith("_ft") else 1 / 0.3048
