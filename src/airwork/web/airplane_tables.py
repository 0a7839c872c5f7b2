"""Every table of rows in an airplane's file, as printed, for the page that shows them behind the charts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from airwork.airplane import Airplane


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
    _walk(airplane.file.model_dump(), "", found)
    return found


def _walk(node: Any, path: str, found: list[TableView]) -> None:
    if not isinstance(node, dict):
        return
    for key, value in node.items():
        here = f"{path}.{key}" if path else str(key)
        if isinstance(value, (list, tuple)) and value and all(isinstance(row, dict) for row in value):
            head = list(dict.fromkeys(k for row in value for k, cell in row.items() if cell is not None and cell != ""))
            rows = [[_cell(row.get(k)) for k in head] for row in value]
            title = here.removesuffix(".rows").replace("_", " ").replace(".", ", ")
            found.append(
                TableView(here, title, str(node.get("conditions", "")), [h.replace("_", " ") for h in head], rows)
            )
        else:
            _walk(value, here, found)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:,g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(_cell(v) for v in value)
    return str(value)
