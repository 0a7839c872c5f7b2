"""An airplane file's data as TOML text, laid out to be read and mended by hand: one row a line, a comment a table."""

from __future__ import annotations

import re
from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable, Table

from airwork.airplane.writing.progress import at

_COMMENTS = {
    "airplane": "Which airplane. Units are in the key names.",
    "engine": "Engine and leaning rule.",
    "propeller": "fixed_pitch or constant_speed.",
    "fuel": "Tanks, and what each selector position feeds from.",
    "flaps": "Notch 0 is up.",
    "airspeed_calibration": "Indicated to calibrated, by flaps.",
    "v_speeds": "One row per speed and weight.",
    "limitations": "Limits as on the dial.",
    "weight_and_balance": "From this airplane's latest weighing; arms aft of the datum.",
    "performance": "As printed. A missing row or column means it is not published.",
}
_LATER = {
    "airspeed_calibration": "[airspeed_calibration.flaps_up]: without it calibrated speeds are taken as indicated",
    "weight_and_balance": "[weight_and_balance]: without it there is no loading",
    "performance.stall": "[performance.stall]: without it only the V-speeds' stall speeds are known",
    "performance.power_chart": "[performance.power_chart]: without it percent power is not known",
    "performance.cruise": "[performance.cruise]: without it fuel flow is not known",
    "performance.climb": "[performance.climb]: without it the rate of climb is not known",
    "performance.takeoff": "[performance.takeoff]: without it takeoff distance is not known",
    "performance.landing": "[performance.landing]: without it landing distance is not known",
    "performance.glide": "[performance.glide]: without it glide distance is not known",
}


def toml_text(data: dict[str, Any]) -> str:
    """The text of an airplane file, ready to be written whole."""
    doc = tomlkit.document()
    doc.add(tomlkit.comment("Airplane file for airwork. The handbook decides; check every number against it."))
    doc.add(tomlkit.comment("What each key means: docs/airplane-file.md. Check with: airwork airplane check FILE"))
    for key, value in data.items():
        doc.add(tomlkit.nl())
        if key in _COMMENTS:
            doc.add(tomlkit.comment(_COMMENTS[key]))
        if isinstance(value, list):  # [[maneuvers]]
            several = tomlkit.aot()
            for each in value:
                several.append(_table(each))
        doc.add(key, several if isinstance(value, list) else _table(value))
    missing = [words for key, words in _LATER.items() if at(data, key) is None]
    if missing:
        doc.add(tomlkit.nl())
        doc.add(tomlkit.comment("Not in this file yet:"))
        for words in missing:
            doc.add(tomlkit.comment(f"  {words}"))
    return re.sub(r"^(# .*\n)\n(?=\[)", r"\1", tomlkit.dumps(doc), flags=re.MULTILINE)  # a comment stands on its table


def _table(values: dict[str, Any]) -> Table:
    """A table: plain values first, then subtables."""
    only_tables = all(isinstance(v, dict) for v in values.values())
    table = tomlkit.table(is_super_table=only_tables)
    for key, value in values.items():
        if not isinstance(value, dict):
            in_rows = isinstance(value, list) and bool(value) and isinstance(value[0], dict | list)
            table.add(key, _rows(value) if in_rows else value)
    for key, value in values.items():
        if isinstance(value, dict):
            table.add(key, _table(value))
    return table


def _rows(rows: list[Any]) -> Array:
    """Rows one a line: tables, or bare ones whose columns stand over them."""
    array = tomlkit.array()
    array.multiline(True)
    for row in rows:
        if isinstance(row, dict):
            inline: InlineTable = tomlkit.inline_table()
            inline.update(row)
        array.append(inline if isinstance(row, dict) else row)
    return array
