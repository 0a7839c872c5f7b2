"""What was typed into an airplane's form, back into the file's own text; comments and order stay."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from airwork.airplane.file.printed import EMPTY, as_printed, spellings
from airwork.errors import InputError
from airwork.typed_file import FILL_IN
from airwork.unit_words import KINDS, meant
from airwork.units import halves_as_decimals
from airwork.web.airplane_form import (
    BETWEEN,
    EMPTY_CELL,
    MOST_ROWS,
    NONE,
    Grid,
    Said,
    Section,
    bare_columns,
    sections,
    shown_text,
)
from airwork.web.airplane_kinds import SPEEDS, About, about
from airwork.web.form_rows import order

_BETWEEN_THOUSANDS = re.compile(r"(?<=\d)['\u00a0\u202f ](?=\d{3}(?!\d))")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d+)*|[.,]\d+)")


def typed_number(text: str, low: float = -math.inf, high: float = math.inf) -> float | None:
    """A number; None for what is none, or can be two: 1.150 is 1150 or 1.15, unless one lies outside the limits.

    low, high : what it can be at all. A comma before three digits stands between thousands where both can be.

    >>> [typed_number(text) for text in ("16,3", "0,962", "1.150,5", "1'150", "1,150", "1.150", "12 1/2", "−20")]
    [16.3, 0.962, 1150.5, 1150.0, 1150.0, None, 12.5, -20.0]
    >>> typed_number("1.368", high=25.4)
    1.368
    """
    plain = halves_as_decimals(text.strip().replace("\u2019", "'")).replace("−", "-")
    plain = _BETWEEN_THOUSANDS.sub("", plain)
    if not _NUMBER.fullmatch(plain):
        return None
    marks = [c for c in plain if c in ".,"]
    if len(set(marks)) == 2:  # the last one is the decimal mark
        between = marks[0]
        return float(plain.replace(between, "").replace(",", ".")) if marks.count(marks[-1]) == 1 else None
    if not marks:
        return float(plain)
    whole, *groups = re.split(r"[.,]", plain.lstrip("+-"))
    in_thousands = float(re.sub(r"[.,]", "", plain)) if all(len(g) == 3 for g in groups) else None
    if len(marks) > 1:
        return in_thousands
    as_decimal = float(plain.replace(",", "."))
    if in_thousands is None or not 1 <= len(whole) <= 3 or whole.startswith("0"):
        return as_decimal
    fits = [n for n in (in_thousands, as_decimal) if low <= n <= high]
    if len(fits) == 1:
        return fits[0]
    return in_thousands if marks == [","] else None


LONGEST = 4000  # letters of a value
_FROM_TO = re.compile(r"([+\-−]?\d[\d.,]*)\s*(?:to|-|–|—|…|\.\.\.?)\s*([+\-−]?\d[\d.,]*)")
_WITH_UNIT = re.compile(r"([+\-−]?[\d.,'’ \u00a0\u202f½¼¾/]*[\d½¼¾])\s*([^\d\s.,'’½¼¾/].*)")


def written(text: str, part: str, typed: Mapping[str, str]) -> str:
    """The file's text with a part as it stands in the form.

    Raises
    ------
    InputError : rows that can't be, or a table where the file can hold none; what the values mean is the loader's
        business.
    """
    import tomlkit

    shown = sections(text, part, Said(), None)
    new = [s for s in shown if not s.there and _given(s, typed)]
    tables = [s.path for s in new if [g.path for g in s.grids] != [s.path]]  # no list of tables
    if tables:
        text = text.rstrip() + "\n" + "".join(f"\n[{path}]\n" for path in tables)
    try:
        document: Any = tomlkit.parse(text)
    except ValueError:
        raise InputError("the file's text can't take this table; mend it in an editor.", where=part) from None
    for section in shown:
        if not section.there and section not in new:
            continue
        table = document
        for step in section.path.split(".") if section.cells or section.missing else ():
            table = table[step]
        for cell in (*section.cells, *section.missing):
            _write_cell(table, section.path, cell.key, cell.about, typed, cell.name, cell.shown)
        for grid in section.grids:
            _write_grid(document, grid, typed)
    return tomlkit.dumps(document)


def taken_out(text: str, part: str) -> str:
    """The text without a part: the book has no such table."""
    import tomlkit

    document: Any = tomlkit.parse(text)
    *above, last = part.split(".")
    holder = document
    for step in above:
        holder = holder[step]
    holder.pop(last, None)
    return tomlkit.dumps(document)


def _given(section: Section, typed: Mapping[str, str]) -> bool:
    """Is anything typed into a table the file doesn't have?"""
    return any(typed.get(c.name, "").strip() for c in section.missing) or any(
        _rows_given(grid, typed) for grid in section.grids
    )


def _rows_given(grid: Grid, typed: Mapping[str, str]) -> list[int]:
    """The rows there are to be, in order: the file's, and new ones that are not empty."""
    there = order(grid.count, typed.get(f"order:{grid.path}"), MOST_ROWS)
    keys = _columns(grid, typed)
    return [n for n in there if n < grid.count or any(typed.get(f"{grid.path}/{n}/{c}", "").strip() for c in keys)]


def _columns(grid: Grid, typed: Mapping[str, str]) -> list[str]:
    """The columns as the form has them: the file's, and those added."""
    may = [*(key for key, _, _ in grid.columns), *(key for key, _ in grid.more)]
    asked = typed.get(f"columns:{grid.path}")
    return [c for c in asked.split(",") if c in may] if asked else [key for key, _, _ in grid.columns]


def _unit_chosen(typed: Mapping[str, str], name: str, key: str, what: About) -> str:
    """The key as it is written in the unit chosen for it."""
    chosen = typed.get(f"unit:{name}", key)
    return chosen if chosen in dict(what.units) else key


def _write_cell(
    table: Any, path: str, key: str, what: About, typed: Mapping[str, str], name: str, stood: str
) -> None:  # fmt: skip
    text = typed.get(name)
    to = _unit_chosen(typed, name, key, what)
    if text is None or (text.strip() == stood and (to == key or key not in table)):
        return
    text, to = _unit_typed(text.strip()[:LONGEST], to, what)
    if to != key and key in table:
        _rename(table, key, to)
    if text != stood:
        _put(table, to, text, about(path, to))


def _rename(table: Any, key: str, to: str) -> None:
    """A key written in another unit; its number stays as the book prints it."""
    value = table[key]
    table.remove(key)
    table.add(to, value) if hasattr(table, "add") else table.update({to: value})


def _unit_typed(text: str, key: str, what: About) -> tuple[str, str]:
    """(number, key) of a number with its unit behind it, "980 kg"; as they are where it is no unit of the value's.

    Gallons in a book of imperial ones, and a calibrated speed for the indicated one, are left to be asked about.
    """
    found = _WITH_UNIT.fullmatch(text) if what.number else None
    if found is None:
        return text, key
    number, word = found[1], found[2].strip(" .")
    kind = re.search(r"([ICTE])AS$", word.upper())
    own = {"I": "indicated", "C": "calibrated", "T": "true"}
    if kind and own.get(kind[1]) != SPEEDS.get(what.key.rpartition("_")[2]):
        return text, key
    spoken = {meant(word, each) for each in KINDS}
    for name, unit in what.units:
        if unit and (unit in spoken or word.casefold() == unit.casefold()):
            return (text, key) if unit == "gal" and what.unit(key) == "impgal" else (number, name)
    return text, key


def _column_unit(grid: Grid, key: str, numbers: list[int], typed: Mapping[str, str]) -> str:
    """The key as it is written in the column's unit: the one chosen, or the one typed behind every number of it."""
    what, column = about(grid.path, key), f"{grid.path}/{key}"
    chosen = _unit_chosen(typed, column, key, what)
    cells = [text for n in numbers if (text := _cell_text(typed.get(f"{grid.path}/{n}/{key}", "")))]
    behind = {_unit_typed(text, "", what)[1] for text in cells}
    return behind.pop() if len(behind) == 1 and len(cells) == len(numbers) and "" not in behind else chosen


def _write_grid(document: Any, grid: Grid, typed: Mapping[str, str]) -> None:
    numbers, keys = _rows_given(grid, typed), _columns(grid, typed)
    if f"order:{grid.path}" not in typed or not (grid.count or numbers):
        return
    *before, last = grid.path.split(".")
    holder = document
    for step in before:
        holder = holder[step]
    if not grid.count:
        keys = [c for c in keys if any(typed.get(f"{grid.path}/{n}/{c}", "").strip() for n in numbers)]
        _begin(holder, last, keys if last == "rows" else [], of_tables=not before)
    rows = holder[last]
    bare = bare_columns(_raw(holder)) if last == "rows" else None
    if bare is not None:
        _write_bare(holder, bare, grid, keys, numbers, typed)
    else:
        _write_named(rows, grid, keys, numbers, typed)
    for number in sorted(set(range(grid.count)) - set(numbers), reverse=True):
        del rows[number]


def _begin(holder: Any, last: str, over: list[str], *, of_tables: bool) -> None:
    """An empty list of rows: of tables, else of one row a line, under its columns where they stand over it."""
    import tomlkit

    if of_tables:
        holder.append(last, tomlkit.aot())
        return
    if over:
        holder["columns"] = over
    rows = tomlkit.array()
    rows.multiline(True)
    holder[last] = rows


def _write_named(rows: Any, grid: Grid, keys: list[str], numbers: list[int], typed: Mapping[str, str]) -> None:
    """Rows that name their columns."""
    import tomlkit

    inline = not isinstance(rows, tomlkit.items.AoT)
    units = {key: _column_unit(grid, key, numbers, typed) for key in keys}
    for number in numbers:
        fresh = number >= grid.count
        row = (tomlkit.inline_table() if inline else tomlkit.table()) if fresh else rows[number]
        for key in keys:
            what, name, to = about(grid.path, key), f"{grid.path}/{number}/{key}", units[key]
            if to != key and key in row:
                _rename(row, key, to)
            new = _cell_text(typed.get(name, shown_text(_raw(row.get(to)))))
            if new != shown_text(_raw(row.get(to))):
                _put(row, to, _bare_number(new, to, what), what)
        if fresh:
            rows.append(row)


def _write_bare(
    holder: Any, over: list[str], grid: Grid, keys: list[str], numbers: list[int], typed: Mapping[str, str]
) -> None:
    """Rows under their columns: "-" where nothing is printed."""
    import tomlkit

    rows = holder["rows"]
    whats = {key: about(grid.path, key) for key in keys}
    chosen = {key: _column_unit(grid, key, numbers, typed) for key in keys}
    if [chosen.get(c, c) for c in over] + [chosen[c] for c in keys if c not in over] != over:
        holder["columns"] = [chosen.get(c, c) for c in over] + [chosen[c] for c in keys if c not in over]
        for row in rows:
            row.extend([EMPTY_CELL] * (len(keys) - len(row)))
    over = [*over, *(c for c in keys if c not in over)]
    for number in numbers:
        fresh = number >= grid.count
        row = tomlkit.array() if fresh else rows[number]
        for at, key in enumerate(over):
            stands = None if fresh or at >= len(row) else _raw(row[at])
            shown = "" if stands is None or stands == EMPTY_CELL else shown_text(stands)
            new = _cell_text(typed.get(f"{grid.path}/{number}/{key}", shown))
            what = whats.get(key, about(grid.path, key))
            to = chosen.get(key, key)
            value = _value(_bare_number(new, to, what), to, what, None) if new else EMPTY_CELL
            if fresh:
                row.append(value)
            elif new != shown:
                row[at] = value
        if fresh:
            rows.append(row)


def _cell_text(text: str) -> str:
    """What stands in a cell; nothing where the book's own mark for it was pasted."""
    text = text.strip()[:LONGEST]
    return "" if text in EMPTY else text


def _bare_number(text: str, key: str, what: About) -> str:
    """A number of a column without the column's own unit behind it; one in another unit is left to be asked about."""
    number, name = _unit_typed(text, key, what)
    return number if name == key else text


def _raw(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _put(table: Any, key: str, text: str, what: About) -> None:
    """A value as the file has it: text stays text, numbers numbers."""
    if not text:
        table.pop(key, None)
        return
    old = _raw(table.get(key))
    if what.several or isinstance(old, list):
        first = next(iter(old), None) if isinstance(old, list) else None
        ends = _FROM_TO.fullmatch(text) if what.number else None  # an arc as books print it, 43 - 100
        parts = list(ends.groups()) if ends else [p.strip() for p in text.split(BETWEEN.strip()) if text != NONE]
        table[key] = [_value(part, key, what, first) for part in parts if part]
    else:
        table[key] = _value(text, key, what, old)


def _value(text: str, key: str, what: About, old: Any) -> Any:
    """What a text is in the file; the text itself where it can't be read so: the loader says what belongs there."""
    if isinstance(old, date):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return text
    yes_no = what.yes_no or (not what.known and (isinstance(old, bool) or old is None))
    if yes_no and text in {"true", "false"}:
        return text == "true"
    if (what.known and not what.number) or (not what.known and isinstance(old, str) and old != FILL_IN):
        return text
    unit = dict(spellings(what.key)).get(key)
    low, high = (as_printed(x, what.key, unit) if unit and abs(x) < 1e9 else x for x in (what.low, what.high))
    number = typed_number(text, low, high)
    if number is None:
        return text
    return int(number) if number.is_integer() and "." not in text and abs(number) < 1e15 else number


def changed_rows(typed: Mapping[str, str], grids: list[Grid], do: str) -> dict[str, str]:
    """The form after a grid's button: "PATH/add", "PATH/3/remove", "PATH/column"; a new row is like the last."""
    out = dict(typed)
    for grid in grids:
        if not do.startswith(f"{grid.path}/"):
            continue
        what = do.removeprefix(f"{grid.path}/")
        numbers = [n for n, _, _ in grid.rows]
        if what == "column":
            out[f"columns:{grid.path}"] = ",".join([*_columns(grid, typed), typed.get(f"column:{grid.path}", "")])
        elif what == "add" and numbers:
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
