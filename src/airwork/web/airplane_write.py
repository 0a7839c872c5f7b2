"""What was typed into an airplane's form, back into the file's own text; comments and order stay."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from airwork.web.airplane_form import (
    BETWEEN,
    EMPTY_CELL,
    MOST_ROWS,
    Grid,
    Said,
    bare_columns,
    sections,
    shown_text,
    takes_several,
)
from airwork.web.form_rows import order

LONGEST = 4000  # letters of a value


def written(text: str, part: str, typed: Mapping[str, str]) -> str:
    """The file's text with a part as it stands in the form.

    Raises
    ------
    InputError : rows that can't be; what the values mean is the loader's business.
    """
    import tomlkit

    document: Any = tomlkit.parse(text)
    for section in sections(text, part, Said(), None):
        table = document
        for step in section.path.split(".") if section.cells or section.missing else ():
            table = table[step]
        for cell in (*section.cells, *section.missing):
            if (new := typed.get(cell.name)) is not None and new.strip() != cell.shown:
                key = cell.name.rpartition(":")[2]
                _put(table, key, new.strip()[:LONGEST], [] if takes_several(section.path, key) else None)
        for grid in section.grids:
            _write_grid(document, grid, typed)
    return tomlkit.dumps(document)


def _write_grid(document: Any, grid: Grid, typed: Mapping[str, str]) -> None:
    import tomlkit

    *before, last = grid.path.split(".")
    holder = document
    for step in before:
        holder = holder[step]
    rows = holder[last]
    count = len(rows)
    numbers = order(count, typed.get(f"order:{grid.path}"), MOST_ROWS)
    bare = bare_columns(_raw(holder)) if last == "rows" else None
    if bare is not None:
        _write_bare(rows, bare, grid, numbers, typed)
        return
    columns = [c.name.rpartition("/")[2] for c in grid.rows[0][1]] if grid.rows else []
    kinds = {c: next((row[c] for row in rows if c in row), None) for c in columns}
    inline = not isinstance(rows, tomlkit.items.AoT)
    for number in numbers:
        fresh = number >= count
        row = (tomlkit.inline_table() if inline else tomlkit.table()) if fresh else rows[number]
        for column in columns:
            new = typed.get(f"{grid.path}/{number}/{column}")
            if new is not None and new.strip() != shown_text(_raw(row.get(column))):
                _put(row, column, new.strip()[:LONGEST], kinds[column])
        if fresh:
            rows.append(row)
    _arrange(rows, numbers, count)


def _write_bare(rows: Any, columns: list[str], grid: Grid, numbers: list[int], typed: Mapping[str, str]) -> None:
    """Rows under their columns: "-" where nothing is printed."""
    import tomlkit

    count = len(rows)
    for number in numbers:
        fresh = number >= count
        row = tomlkit.array() if fresh else rows[number]
        for at, column in enumerate(columns):
            stands = None if fresh or at >= len(row) else _raw(row[at])
            shown = "" if stands is None or stands == EMPTY_CELL else shown_text(stands)
            new = typed.get(f"{grid.path}/{number}/{column}", shown).strip()[:LONGEST]
            value = EMPTY_CELL if not new else _typed(new, None)
            if fresh:
                row.append(value)
            elif new != shown:
                row[at] = value
        if fresh:
            rows.append(row)
    _arrange(rows, numbers, count)


def _arrange(rows: Any, numbers: list[int], count: int) -> None:
    """Rows taken out; new ones stand at the end already."""
    for number in sorted(set(range(count)) - set(numbers), reverse=True):
        del rows[number]


def _raw(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _put(table: Any, key: str, text: str, like: Any = None) -> None:
    """A value as the file has it: text stays text, numbers numbers."""
    if not text:
        table.pop(key, None)
        return
    old = _raw(table.get(key, like))
    if isinstance(old, list):
        element = next(iter(old), None)
        table[key] = [_typed(part.strip(), element) for part in text.split(BETWEEN.strip()) if part.strip()]
    else:
        table[key] = _typed(text, old)


def _typed(text: str, old: Any) -> Any:
    if isinstance(old, bool) or (old is None and text in {"true", "false"}):
        return {"true": True, "false": False}.get(text, text)
    if isinstance(old, date):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return text
    if isinstance(old, str):
        return text
    try:
        number = float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return text  # the loader says what belongs there
    return int(number) if number.is_integer() and "." not in text and abs(number) < 1e15 else number


def changed_rows(typed: Mapping[str, str], grids: list[Grid], do: str) -> dict[str, str]:
    """The form after a row's button: "PATH/add", "PATH/3/remove"; a new row begins as a copy of the last."""
    out = dict(typed)
    for grid in grids:
        if not do.startswith(f"{grid.path}/"):
            continue
        what = do.removeprefix(f"{grid.path}/")
        numbers = [n for n, _, _ in grid.rows]
        if what == "add" and numbers:
            new = max(numbers) + 1
            while new in numbers or new < grid.count:
                new += 1
            for cell in grid.rows[-1][1]:
                column = cell.name.rpartition("/")[2]
                out[f"{grid.path}/{new}/{column}"] = cell.shown
            numbers.append(new)
        elif what.endswith("/remove") and what.removesuffix("/remove").isdecimal():
            numbers = [n for n in numbers if n != int(what.removesuffix("/remove"))]
        out[f"order:{grid.path}"] = ",".join(str(n) for n in numbers)
    return out
