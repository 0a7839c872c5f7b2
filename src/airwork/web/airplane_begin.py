"""A table the file doesn't have yet, begun in the form: its columns as the book's units have them, one empty row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airwork.airplane.file.printed import key_in
from airwork.airplane.writing import questions
from airwork.airplane.writing.units_of_book import defaults
from airwork.web.airplane_form import parsed

# Part of the file: the question that asks for its rows.
TABLES = {
    "performance.stall": "stall", "performance.power_chart": "power_chart", "performance.cruise": "cruise",
    "performance.climb": "climb", "performance.time_fuel_distance_to_climb": "to_climb",
    "performance.takeoff": "takeoff", "performance.landing": "landing",
}  # fmt: skip


def lacking(text: str) -> list[str]:
    """Tables that can be begun: what a file of the kind may have and this one hasn't."""
    data = parsed(text)
    there = data.get("performance", {})
    return [part for part in TABLES if part.rpartition(".")[2] not in there]


def begun(text: str, part: str) -> str:
    """The file's text with an empty table added; as it is where the table is there."""
    if part not in TABLES or part not in lacking(text):
        return text
    data = parsed(text)
    columns = columns_of(data, part)
    cells = ", ".join('"-"' for _ in columns)
    heads = ", ".join(f'"{c}"' for c in columns)
    return f"{text.rstrip()}\n\n[{part}]\ncolumns = [{heads}]\nrows = [\n  [{cells}],\n]\n"


def columns_of(data: Mapping[str, Any], part: str) -> list[str]:
    """The keys of a table's columns in the units the file already uses."""
    airplane = data.get("airplane", {})
    units = defaults()
    if any(key.endswith("_kg") for key in airplane):
        units |= {"weight": "kg", "runway": "m"}
    tanks = data.get("fuel", {}).get("tanks") or [{}]
    units["fuel"] = (
        "L" if any(k.endswith("_l") for k in tanks[0]) else "impgal" if "usable_imp_gal" in tanks[0] else "gal"
    )
    dial = airplane.get("airspeed_indicator_unit", "kt")
    kind = str(data.get("propeller", {}).get("type", "")).replace("_", " ")
    answers = {"dial": dial, "units": units, "propeller": kind}
    found = next(q for q in questions(answers) if q.key == TABLES[part])
    names = {"speed": key_in("kias", dial), "climb_speed": key_in("climb_speed_kias", dial)}
    return [names.get(c.key, c.key) for c in found.columns]
