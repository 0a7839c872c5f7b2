"""Every table of rows in an airplane's file, as printed, for the page that shows them behind the charts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airwork.airplane import Airplane
from airwork.airplane.file.printed import as_printed, spellings


@dataclass(frozen=True, slots=True)
class TableView:
    """A table of the file as printed."""

    key: str
    title: str
    conditions: str
    head: list[str]
    rows: list[list[str]]


def tables_of(airplane: Airplane) -> list[TableView]:
    """Every table of rows in the file, as printed."""
    found: list[TableView] = []
    data = airplane.file.model_dump()
    printed = data.pop("printed", {})
    _walk(data, "", found, printed)
    return found


def in_print(row: dict[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """A row of the file as its book prints it: the book's keys and units.

    names : the model's key -> the printed one.
    """
    if row.get("isa_deviation_c") is not None:
        row = {key: value for key, value in row.items() if key != "oat_c"}
    out = {}
    for key, value in row.items():
        name = names.get(key, key)
        unit = dict(spellings(key)).get(name)
        out[name] = as_printed(value, key, unit) if unit and isinstance(value, int | float) else value
    return out


def _walk(node: Any, path: str, found: list[TableView], printed: Mapping[str, Mapping[str, str]]) -> None:
    if not isinstance(node, dict):
        return
    for key, value in node.items():
        here = f"{path}.{key}" if path else str(key)
        if isinstance(value, (list, tuple)) and value and all(isinstance(row, dict) for row in value):
            value = [in_print(row, printed.get(here, {})) for row in value]
            head = list(dict.fromkeys(k for row in value for k, cell in row.items() if cell is not None and cell != ""))
            rows = [[_cell(row.get(k)) for k in head] for row in value]
            title = here.removesuffix(".rows").replace("_", " ").replace(".", ", ")
            found.append(
                TableView(here, title, str(node.get("conditions", "")), [h.replace("_", " ") for h in head], rows)
            )
        else:
            _walk(value, here, found, printed)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:,g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(_cell(v) for v in value)
    return str(value)
