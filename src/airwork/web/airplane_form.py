"""An airplane file as a form: a part at a time, a field for each value, a grid for each table of rows.

What the file may hold and doesn't stands there to be given (`airplane_kinds` says what that is). Complaints find their
field by the place they name. What is typed goes back into the text by `airplane_write`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from airwork.airplane.check import Complaint
from airwork.airplane.file.model import AirplaneFile
from airwork.errors import InputError, Where
from airwork.typed_file import FILL_IN, tables
from airwork.web.airplane_kinds import About, about, absent, columns, holds_rows, in_the_book, of_every_row, title
from airwork.web.form_rows import order

MOST_ROWS = 400
ALONE = ("performance",)  # its tables are parts of their own
HIDDEN = frozenset({"schema_version"})
BETWEEN = " | "  # of the entries of a list
NONE = "none"  # a list without an entry: a tank's position that feeds from nothing
EMPTY_CELL = "-"  # of a table of bare rows: the book prints nothing
Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Cell:
    """One value. name : in the form. key : as it is written, in the unit chosen. said : complaints about it."""

    name: str
    key: str
    about: About
    shown: str
    said: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        return self.about.label

    @property
    def hint(self) -> str:
        """What else is to be known of it."""
        several = f"several with {BETWEEN.strip()} between, or {NONE}" if self.about.several else ""
        return "; ".join(filter(None, [self.about.hint, several]))

    @property
    def choices(self) -> tuple[str, ...]:
        """The words it is one of; what stands there and what isn't given stay so."""
        known = self.about.choices
        if not known or (self.shown and self.shown not in known):
            return ()
        return known if self.shown or "" in known else ("", *known)


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of rows.

    count : rows of the file. columns : (key as the file has it, as it is written in the unit chosen, what it is).
    more : columns that may be added. rows : (the row's own number, cells, complaints about the row).
    """

    path: str
    title: str
    count: int
    columns: tuple[tuple[str, str, About], ...]
    more: tuple[tuple[str, str], ...]
    rows: tuple[tuple[int, tuple[Cell, ...], tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A table of the file. missing : values the file may give and doesn't. there : the file has it."""

    path: str
    title: str
    cells: tuple[Cell, ...]
    missing: tuple[Cell, ...]
    grids: tuple[Grid, ...]
    said: tuple[str, ...]
    there: bool = True

    @property
    def open(self) -> bool:
        """Is something said of what the file doesn't have yet?"""
        rows = (row for g in self.grids if not g.count for row in g.rows)
        return any(c.said for c in self.missing) or any(said or any(c.said for c in cells) for _, cells, said in rows)


class Said:
    """Complaints and what stops the file from being read, found by their places."""

    def __init__(self, errors: Sequence[InputError] = (), complaints: Sequence[Complaint] = ()) -> None:
        found = [(e.where, e.problem) for e in errors] + [(c.where, f"{c.what}. {_on_a_page(c)}") for c in complaints]
        self.lines = tuple(dict.fromkeys(found))
        self.used: set[tuple[Where, str]] = set()

    def at(self, table: str, rows: str = "", row: int | None = None, *keys: str) -> tuple[str, ...]:
        """Those about a value by the keys it may have, a row or a table."""
        here = [
            (place, words) for place, words in self.lines
            if ((place.table, place.rows, place.row) == (table, rows, row) and place.field in (keys or ("",)))
            or (row is None and keys and (place.table, place.field) == (table, "") and place.rows in keys)  # of a list
        ]  # fmt: skip
        self.used.update(here)
        return tuple(words for _, words in here)

    def counts(self, part: str) -> int:
        """How many are about a part."""
        return sum(1 for place, _ in self.lines if _is_of(place, part))

    def left_of(self, part: str, parts: Sequence[str]) -> tuple[str, ...]:
        """Those that found no field, but for what is about the other parts."""
        others = [p for p in parts if p != part]
        return tuple(
            ": ".join(filter(None, [p.within, words]))
            for p, words in self.lines
            if (p, words) not in self.used and not any(_is_of(p, other) for other in others)
        )


_OTHERS = re.compile(r" \((?:One more check doubts|(\d+) more checks doubt) it: .*\)$")
MANY = 5  # checks that doubt one number: the row beside it may be meant


def _on_a_page(c: Complaint) -> str:
    """Why it is asked about, without the places of the file; that many numbers are, is said."""
    tail = _OTHERS.search(c.why)
    if tail is None:
        return c.why
    more = f" {tail[1]} more numbers fit no better: has a column slipped by a row?" if int(tail[1] or 1) >= MANY else ""
    return c.why[: tail.start()] + more


def _is_of(place: Where, part: str) -> bool:
    return f"{place.table}.".startswith(f"{part}.") or (not place.table and place.field == part)


@lru_cache(maxsize=4)
def parsed(text: str) -> Mapping[str, Any]:
    """The file as plain data, to look at: a page asks seven times for the same text.

    Raises
    ------
    InputError : the text is no TOML.
    """
    return tables(text, "airplane")


def parts_of(text: str) -> list[str]:
    """The file's parts, in its order.

    Raises
    ------
    InputError : the text is no TOML.
    """
    found: list[str] = []
    for key, value in parsed(text).items():
        if key in ALONE and isinstance(value, dict):
            found += [f"{key}.{inner}" for inner, table in value.items() if isinstance(table, dict)]
        else:
            found.append(key)
    return found


def absent_parts(text: str) -> list[str]:
    """What a file may have and this one hasn't."""
    data, found = parsed(text), []
    for key in AirplaneFile.model_fields:
        if key in ALONE:
            found += [f"{key}.{inner}" for inner, _ in absent(key, data.get(key, {}))]
    top = [key for key, _ in absent("", data) if key not in ALONE]
    return [*top[:-4], *found, *top[-4:]]


@dataclass(frozen=True, slots=True)
class _Form:
    """What a form is made with. typed : what stands in one that was sent. used : every key and column of the file."""

    said: Said
    typed: Typed | None
    used: tuple[str, ...]
    dial: str

    def shown(self, name: str, stands: str) -> str:
        return stands if self.typed is None else self.typed.get(name, stands)

    def written(self, key: str) -> str:
        return in_the_book(key, self.used, self.dial)


def sections(text: str, part: str, said: Said, typed: Typed | None = None) -> list[Section]:
    """The tables of a part with their fields.

    typed : what stands in a form that was sent, by the fields' names; else the file's values.
    """
    data = parsed(text)
    here: Any = data
    for step in part.split("."):
        here = here.get(step) if isinstance(here, Mapping) else None
    airplane = data.get("airplane")
    dial = str(airplane.get("airspeed_indicator_unit", "")) if isinstance(airplane, dict) else ""
    form = _Form(said, typed, tuple(dict.fromkeys(_keys_of(data))), dial)
    if isinstance(here, list) or (here is None and holds_rows(part)):  # [[maneuvers]]
        grid = _grid(form, part, "", here or [])
        return [Section(part, title(part), (), (), (grid,), said.at(part), bool(here))]
    found: list[Section] = []
    _walk(form, part, here if isinstance(here, dict) else {}, found, there=isinstance(here, dict))
    return found


def _keys_of(node: Any) -> list[str]:
    """Every key of the tables, and every column."""
    if isinstance(node, list):
        return [k for item in node for k in _keys_of(item)]
    if not isinstance(node, dict):
        return []
    over = bare_columns(node) or ()
    return [*node, *over, *(k for value in node.values() for k in _keys_of(value))]


def _walk(form: _Form, path: str, table: dict[str, Any], found: list[Section], *, there: bool) -> None:
    cells, grids, inner = _written(form, path, table)
    missing, unwritten, unopened = _missing(form, path, table, grids)
    grids, inner = grids + unwritten, inner + unopened
    if cells or grids or missing:
        found.append(
            Section(
                path, title(path), _told_apart(cells), tuple(missing), tuple(grids), form.said.at(path), there=there
            )
        )
    for deeper, value, is_there in inner:
        _walk(form, deeper, value, found, there=is_there)


_Inner = list[tuple[str, dict[str, Any], bool]]  # tables within: path, values, whether it stands in the file


def _written(form: _Form, path: str, table: dict[str, Any]) -> tuple[list[Cell], list[Grid], _Inner]:
    """What stands in a table of the file: single values, rows, tables within."""
    cells: list[Cell] = []
    grids: list[Grid] = []
    inner: _Inner = []
    bare = bare_columns(table)
    for key, value in table.items():
        if bare is not None and key in {"columns", "rows"}:
            if key == "rows":
                grids.append(_grid(form, path, key, named_rows(bare, value), bare))
        elif isinstance(value, dict):
            inner.append((f"{path}.{key}", value, True))
        elif _is_rows(value):
            grids.append(_grid(form, path, key, value))
        elif key not in HIDDEN:
            cells.append(_cell(form, path, key, value, form.said.at(path, "", None, *_keys(form, path, key))))
    return cells, grids, inner


def _missing(form: _Form, path: str, table: dict[str, Any], there: list[Grid]) -> tuple[list[Cell], list[Grid], _Inner]:
    """The same of what a table may have and hasn't."""
    missing: list[Cell] = []
    grids: list[Grid] = []
    inner: _Inner = []
    for key, kind in absent(path, table):
        if kind == "table":
            inner.append((f"{path}.{key}", {}, False))
        elif kind == "rows":
            grids.append(_grid(form, path, key, []))
        else:
            written = form.written(key)
            said = form.said.at(path, "", None, *_keys(form, path, written))
            missing.append(_cell(form, path, written, None, said))
    over = [key for g in there if g.path == f"{path}.rows" and g.count for key, _, _ in g.columns]
    for key in of_every_row(path, (*table, *over)):
        written = form.written(key)
        missing.append(_cell(form, path, written, None, form.said.at(path, "", None, *_keys(form, path, written))))
    return missing, grids, inner


def _keys(form: _Form, path: str, key: str, name: str = "") -> tuple[str, ...]:
    """The keys a complaint may call a value by: as it is written in the unit chosen, and the model's own."""
    return tuple(dict.fromkeys((form.shown(f"unit:{name or f'{path}:{key}'}", key), about(path, key).key)))


def bare_columns(table: Any) -> list[str] | None:
    """The columns over a table of bare rows; None for a table whose rows name their own."""
    over = table.get("columns") if isinstance(table, Mapping) else None
    rows = table.get("rows") if isinstance(table, Mapping) else None
    if not isinstance(over, list) or not isinstance(rows, list) or not all(isinstance(c, str) for c in over):
        return None
    return [str(c) for c in over] if all(isinstance(row, list) for row in rows) else None


def named_rows(over: list[str], rows: Any) -> list[dict[str, Any]]:
    """Bare rows with the names of their columns; a cell the book leaves empty is left out."""
    return [{c: v for c, v in zip(over, row, strict=False) if v != EMPTY_CELL} for row in rows]


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, dict) for row in value)


def _grid(form: _Form, path: str, key: str, rows: list[Any], printed: list[str] | None = None) -> Grid:
    full = f"{path}.{key}" if key else path
    may = [form.written(c) for c in columns(full)]
    there = printed or list(
        dict.fromkeys(k for row in rows for k, v in row.items() if not isinstance(v, dict) and not _is_rows(v))
    )
    if len(rows) == 1 and not printed:  # just begun
        known = {about(full, c).key for c in there}
        there += [c for c in may if about(full, c).key not in known]
    asked = form.shown(f"columns:{full}", ",".join(there or may)).split(",")
    keys = [c for c in dict.fromkeys(asked) if c in {*there, *may}] or there or may
    numbers = order(len(rows), (form.typed or {}).get(f"order:{full}"), MOST_ROWS) or ([] if rows else [0])
    made: list[tuple[int, tuple[Cell, ...], tuple[str, ...]]] = []
    at = 0  # of the row in the file: what stands empty isn't written
    for number in numbers:
        row = rows[number] if number < len(rows) else {}
        cells = tuple(
            _cell(form, f"{full}/{number}", c, row.get(c),
                  form.said.at(path, key, at, *_keys(form, full, c, f"{full}/{c}")), of=full)
            for c in keys
        )  # fmt: skip
        cells = _told_apart(cells)
        kept = number < len(rows) or any(c.shown for c in cells)
        made.append((number, cells, form.said.at(path, key, at) if kept else ()))
        at += kept
    heads = tuple((c, form.shown(f"unit:{full}/{c}", c), about(full, c)) for c in keys)
    known = {about(full, c).key for c in keys}
    more = tuple((c, about(full, c).label) for c in may if about(full, c).key not in known)
    return Grid(full, title(full) if key != "rows" else "", len(rows), heads, more, tuple(made))


def _told_apart(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    """With the unit in the label where two are alike: a speed printed in knots and in mph."""
    count = Counter(c.label for c in cells)
    return tuple(
        replace(c, about=replace(c.about, label=f"{c.label}, {c.about.unit(c.key)}")) if count[c.label] > 1 else c
        for c in cells
    )


def _cell(form: _Form, path: str, key: str, value: Any, said: tuple[str, ...], of: str = "") -> Cell:
    name = f"{path}/{key}" if of else f"{path}:{key}"
    written = key if of else form.shown(f"unit:{name}", key)
    return Cell(name, written, about(of or path, key), form.shown(name, shown_text(value)), said)


def shown_text(value: Any) -> str:
    """A value as it stands in its field; what is still to be filled in is empty."""
    if value is None or value == FILL_IN:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, list) and not value:
        return NONE
    if isinstance(value, list):
        return BETWEEN.join(shown_text(v) for v in value)
    return str(value)
