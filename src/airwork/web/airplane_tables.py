"""Every table of rows in an airplane's file, as printed, for the pages that show them again."""

from __future__ import annotations

from dataclasses import dataclass

from airwork.web.airplane_form import ALONE, Grid, Said, Section, parts_of, sections
from airwork.web.airplane_kinds import title


@dataclass(frozen=True, slots=True)
class TableView:
    """A table of the file as printed. key : its path in the file."""

    key: str
    title: str
    conditions: str
    head: list[str]
    rows: list[list[str]]


def tables_of(text: str) -> list[TableView]:
    """Every table of rows in a file's text; what a fit has written isn't the book's.

    Raises
    ------
    InputError : the text is no TOML.
    """
    parts = [part for part in parts_of(text) if part not in {"fitted", "printed_so"}]
    tables = [(s, grid) for part in parts for s in sections(text, part, Said()) for grid in s.grids if grid.count]
    return [_view(section, grid) for section, grid in tables]


def _view(section: Section, grid: Grid) -> TableView:
    rows = [[c.shown for c in cells] for _, cells, _ in grid.rows]
    given = [k for k, _ in enumerate(grid.columns) if any(row[k] for row in rows)]
    names = [" ".join(filter(None, [about.label, about.unit(key)])) for _, key, about in grid.columns]
    return TableView(
        grid.path,
        ", ".join(dict.fromkeys(filter(None, [*_above(section.path), section.title, grid.title]))),
        next((c.shown for c in section.cells if c.key == "conditions"), ""),
        [names[k] for k in given],
        [[_number(row[k]) if grid.columns[k][2].number else row[k] for k in given] for row in rows],
    )


def _above(path: str) -> list[str]:
    """The titles of the tables a table lies in; those of performance stand for themselves."""
    steps = path.split(".")[:-1]
    return [title(".".join(steps[: n + 1])) for n in range(len(steps)) if steps[0] not in ALONE]


def _number(text: str) -> str:
    """A number with its thousands marked."""
    try:
        return f"{float(text):,g}"
    except ValueError:
        return text
