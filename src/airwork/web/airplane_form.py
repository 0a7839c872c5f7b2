"""An airplane file as a form: a part at a time, a field for each value, a grid for each table of rows.

Complaints find their field by the place they name. What is typed goes back into the text by `airplane_write`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from airwork.airplane.check import Complaint
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import models_in, spellings
from airwork.errors import InputError, Where
from airwork.typed_file import tables
from airwork.web.form_rows import order

MOST_ROWS = 400
ALONE = ("performance",)  # its tables are parts of their own
BETWEEN = " | "  # of the entries of a list
UNITS = {
    "lb": "lb", "in": "in", "ft": "ft", "ft2": "ft²", "mph": "mph", "kt": "kt", "kias": "kt", "kcas": "kt",
    "rpm": "RPM",
    "hp": "hp", "psi": "psi", "f": "°F", "c": "°C", "gal": "gal", "gph": "gph", "fpm": "fpm", "deg": "°", "pct": "%",
    "percent": "%", "inhg": "inHg", "nm": "NM", "min": "min", "g": "g",
    "kg": "kg", "mm": "mm", "cm": "cm", "m": "m", "m2": "m²", "l": "L", "lph": "L/h", "hpa": "hPa", "kpa": "kPa",
    "mmhg": "mmHg", "ps": "PS", "kw": "kW", "kmh": "km/h", "mps": "m/s", "bar": "bar", "km": "km",
    "sm": "SM", "ktas": "kt",
}  # fmt: skip
SPEEDS = {"kias": "indicated", "kcas": "calibrated", "ktas": "true"}
TRUE, FLOWS = ("ktas", "true_mph", "true_kmh"), ("gph_", "lph_", "imp_gph_")
EMPTY_CELL = "-"  # of a table of bare rows: the book prints nothing


@dataclass(frozen=True, slots=True)
class Cell:
    """One value. name : in the form. said : complaints about it."""

    name: str
    label: str
    unit: str
    shown: str
    hint: str = ""
    choices: tuple[str, ...] = ()
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of rows. rows : (the row's own number, cells, complaints about the row). count : rows of the file."""

    path: str
    title: str
    count: int
    columns: tuple[tuple[str, str], ...]  # label, unit
    keys: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...], tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A table of the file. missing : values the file may give and doesn't."""

    path: str
    title: str
    cells: tuple[Cell, ...]
    missing: tuple[Cell, ...]
    grids: tuple[Grid, ...]
    said: tuple[str, ...]


class Said:
    """Complaints and what stops the file from being read, found by their places."""

    def __init__(self, errors: Sequence[InputError] = (), complaints: Sequence[Complaint] = ()) -> None:
        found = [(e.where, e.problem) for e in errors] + [(c.where, f"{c.what}. {c.why}") for c in complaints]
        self.lines = tuple(dict.fromkeys(found))
        self.used: set[tuple[Where, str]] = set()

    def at(self, table: str, rows: str = "", row: int | None = None, key: str = "") -> tuple[str, ...]:
        """Those about a value, a row or a table."""
        here = [
            (place, words) for place, words in self.lines
            if (place.table, place.rows, place.row, place.field) == (table, rows, row, key)
            or (row is None and key and (place.table, place.rows, place.field) == (table, key, ""))  # one of a list
        ]  # fmt: skip
        self.used.update(here)
        return tuple(words for _, words in here)

    def counts(self, part: str) -> int:
        """How many are about a part."""
        return sum(1 for place, _ in self.lines if f"{place.table}.".startswith(f"{part}."))

    @property
    def left(self) -> tuple[str, ...]:
        """Those that found no field."""
        return tuple(
            ": ".join(filter(None, [p.within, words])) for p, words in self.lines if (p, words) not in self.used
        )


def parts_of(text: str) -> list[str]:
    """The file's parts, in its order.

    Raises
    ------
    InputError : the text is no TOML.
    """
    data = parsed(text)
    found: list[str] = []
    for key, value in data.items():
        if key in ALONE and isinstance(value, dict):
            found += [f"{key}.{inner}" for inner, table in value.items() if isinstance(table, dict)]
        else:
            found.append(key)
    return found


@lru_cache(maxsize=4)
def parsed(text: str) -> Mapping[str, Any]:
    """The file as plain data, to look at: a page asks seven times for the same text.

    Raises
    ------
    InputError : the text is no TOML.
    """
    return tables(text, "airplane")


def sections(text: str, part: str, said: Said, typed: Mapping[str, str] | None = None) -> list[Section]:
    """The tables of a part with their fields.

    typed : what stands in a form that was sent, by the fields' names; else the file's values.
    """
    data = parsed(text)
    here = _look(data, part.split("."))
    found: list[Section] = []
    if isinstance(here, list):  # [[maneuvers]]
        grid = _grid(part, "", here, said, typed)
        return [Section(part, words(part), (), (), (grid,), said.at(part))]
    if isinstance(here, dict):
        _walk(part, here, said, typed, found, _keys_of(data))
    return found


def _keys_of(node: Any) -> list[str]:
    """Every key of the tables, and every column."""
    if isinstance(node, list):
        return [k for item in node for k in _keys_of(item)]
    if not isinstance(node, dict):
        return []
    columns = (
        [c for c in node.get("columns", []) if isinstance(c, str)] if isinstance(node.get("columns"), list) else []
    )
    return [*node, *columns, *(k for value in node.values() for k in _keys_of(value))]


def _in_the_book(key: str, used: Sequence[str]) -> str:
    """A key in the unit the file writes its like in: maximum_kg in a book of kilograms."""
    ways = (key, *(name for name, _ in spellings(key)))
    return next((name for name in ways if any(k.endswith(f"_{_unit(name)}") for k in used)), key)


def _walk(
    path: str, table: dict[str, Any], said: Said, typed: Mapping[str, str] | None, found: list[Section],
    used: Sequence[str],
) -> None:  # fmt: skip
    cells, grids, inner = [], [], []
    bare = bare_columns(table)
    for key, value in table.items():
        if bare is not None and key in {"columns", "rows"}:
            if key == "rows":
                grids.append(_grid(path, key, named_rows(bare, value), said, typed, bare))
        elif isinstance(value, dict):
            inner.append((f"{path}.{key}", value))
        elif _is_rows(value):
            grids.append(_grid(path, key, value, said, typed))
        else:
            cells.append(_cell(path, key, shown_text(value), said.at(path, key=key), typed))
    model = _model(path)
    missing = []
    if model is not None:
        for key, about in model.model_fields.items():
            if not {key, *(name for name, _ in spellings(key))} & set(table) and _plain(about.annotation):
                missing.append(_cell(path, _in_the_book(key, used), "", said.at(path, key=key), typed))
    if cells or grids or missing:
        found.append(Section(path, words(path), tuple(cells), tuple(missing), tuple(grids), said.at(path)))
    for deeper, value in inner:
        _walk(deeper, value, said, typed, found, used)


def bare_columns(table: Any) -> list[str] | None:
    """The columns over a table of bare rows; None for a table whose rows name their own."""
    columns = table.get("columns") if isinstance(table, Mapping) else None
    rows = table.get("rows") if isinstance(table, Mapping) else None
    if not isinstance(columns, list) or not isinstance(rows, list) or not all(isinstance(c, str) for c in columns):
        return None
    return [str(c) for c in columns] if all(isinstance(row, list) for row in rows) else None


def named_rows(columns: list[str], rows: Any) -> list[dict[str, Any]]:
    """Bare rows with the names of their columns; a cell the book leaves empty is left out."""
    return [{c: v for c, v in zip(columns, row, strict=False) if v != EMPTY_CELL} for row in rows]


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, dict) for row in value)


def _grid(
    path: str, key: str, rows: list[Any], said: Said, typed: Mapping[str, str] | None, printed: list[str] | None = None
) -> Grid:
    full = f"{path}.{key}" if key else path
    columns = printed or list(
        dict.fromkeys(k for row in rows for k, v in row.items() if not isinstance(v, dict) and not _is_rows(v))
    )
    numbers = order(len(rows), (typed or {}).get(f"order:{full}"), MOST_ROWS)
    made: list[tuple[int, tuple[Cell, ...], tuple[str, ...]]] = []
    for at, number in enumerate(numbers):
        row = rows[number] if number < len(rows) else {}
        cells = tuple(
            _cell(f"{full}/{number}", c, shown_text(row.get(c)), said.at(path, key, at, c), typed, of=full)
            for c in columns
        )
        made.append((number, cells, said.at(path, key, at)))
    heads = tuple((words(c, unit=True), UNITS.get(_unit(c), "")) for c in columns)
    return Grid(full, words(key or path), len(rows), heads, tuple(columns), tuple(made))


def _cell(
    path: str, key: str, stands: str, said: tuple[str, ...], typed: Mapping[str, str] | None, of: str = ""
) -> Cell:
    name = f"{path}/{key}" if "/" in path else f"{path}:{key}"
    shown = stands if typed is None else typed.get(name, stands)
    about = _about(of or path, key)
    choices: tuple[str, ...] = ()
    if about is not None:
        options = _options(about.annotation)
        choices = () if not options or (shown and shown not in options) else options
        choices = ("", *choices) if choices and not shown and "" not in choices else choices  # not given stays so
    hint = "" if about is None else str(about.description or "")
    hint = "" if hint.casefold() == words(key, unit=True).casefold() else hint
    if about is not None and _is_list(about.annotation):
        hint = f"{hint}; several with {BETWEEN.strip()} between".removeprefix("; ")
    return Cell(name, words(key, unit=True), UNITS.get(_unit(key), ""), shown, hint, choices, said)


def shown_text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, list):
        return BETWEEN.join(shown_text(v) for v in value)
    return str(value)


def _unit(key: str) -> str:
    return key.rpartition("_")[2]


def words(key: str, *, unit: bool = False) -> str:
    """A key in words, its unit left off where it is shown beside it."""
    if unit and key in TRUE:
        return "true airspeed"
    if unit and key.startswith(FLOWS):
        return f"flow {key.partition('_')[2].removeprefix('gph_')}".replace("_", " ")
    if unit and (kind := SPEEDS.get(_unit(key))):
        return f"{key.rpartition('_')[0]} {kind}".replace("_", " ").strip()
    if unit and _unit(key) in UNITS and "_" in key:
        key = key.replace("_us_gal", "_gal").replace("_over_15_m", "_over_15 m_m").rpartition("_")[0]
    return key.replace(".", ", ").replace("_", " ")


# --- what the schema says of a place ---


def _model(path: str) -> type[BaseModel] | None:
    models: list[type[BaseModel]] = [AirplaneFile]
    for part in path.split("."):
        models = [
            m for model in models if part in model.model_fields for m in models_in(model.model_fields[part].annotation)
        ]
    return models[0] if len(models) == 1 else None


def _about(path: str, key: str) -> Any:
    model = _model(path)
    fields = {} if model is None else model.model_fields
    return fields.get(key) or next((f for k, f in fields.items() if key in dict(spellings(k))), None)


def _plain(annotation: Any) -> bool:
    return not models_in(annotation)


def takes_several(path: str, key: str) -> bool:
    """Is a value a list, its entries with BETWEEN between them?"""
    about = _about(path, key)
    return about is not None and _is_list(about.annotation)


def _is_list(annotation: Any) -> bool:
    return get_origin(annotation) is list or any(_is_list(part) for part in get_args(annotation))


def _options(annotation: Any) -> tuple[str, ...]:
    """The words a value is one of; none for a list of them."""
    if _is_list(annotation):
        return ()
    if annotation is bool:
        return ("true", "false")
    kinds = [a for a in (annotation, *get_args(annotation)) if str(a).startswith("typing.Literal")]
    known = tuple(str(w) for kind in kinds[:1] for w in get_args(kind))
    optional = type(None) in get_args(annotation)
    return ("", *known) if known and optional else known


def _look(data: Any, path: list[str]) -> Any:
    for part in path:
        data = data.get(part) if isinstance(data, dict) else None
    return data
