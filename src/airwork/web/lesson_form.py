"""A lesson file as a form: one field for each value a person changes on the day; the text with the changes in it.

The address of the page carries what was changed, the file stays as it is until it is saved.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from airwork.errors import InputError

Path = tuple[str | int, ...]
Row = tuple[Path, str, str, tuple[str, ...]]  # path, label, hint, choices
LONGEST = 400  # letters of a value


@dataclass(frozen=True, slots=True)
class Field:
    """One value. name : in addresses. shown : as it stands, changes in it."""

    name: str
    path: Path
    label: str
    shown: str
    changed: bool
    hint: str = ""
    choices: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """The field's name in the core's complaints: "people 1.weight"."""
        return "".join(f" {p + 1}" if isinstance(p, int) else f".{p}" for p in self.path).lstrip(".")


@dataclass(frozen=True, slots=True)
class Group:
    """Fields under one heading."""

    title: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class LessonForm:
    """The form, and the lesson's tables with the changes in them."""

    groups: tuple[Group, ...]
    data: dict[str, Any]

    @property
    def fields(self) -> list[Field]:
        """Every field."""
        return [f for group in self.groups for f in group.fields]

    @property
    def changes(self) -> dict[str, str]:
        """What differs from the file, as it stands in the address."""
        return {f.name: f.shown for f in self.fields if f.changed}

    @property
    def text(self) -> str:
        """The changed lesson as text for the core, without the file's comments: written in a millisecond."""
        import tomli_w

        return tomli_w.dumps(self.data)

    def write_into(self, text: str) -> str:
        """The file's text with the changes in it; comments and order stay."""
        import tomlkit

        document: Any = tomlkit.parse(text)
        for f in self.fields:
            if f.changed:
                _put(document, f.path, _typed(f.shown, f.path) if f.shown else None, tomlkit.table)
        return tomlkit.dumps(document)


WEATHER = (
    ("wind", "wind", "240/12G18 kt"), ("temperature", "temperature", "24 °C"), ("dewpoint", "dew point", "12 °C"),
    ("altimeter", "altimeter", "30.05 inHg"), ("visibility", "visibility", "10 SM"),
    ("ceiling", "ceiling above the field", "5,000 ft, or none"),
)  # fmt: skip


def read_form(text: str, asked: Mapping[str, str]) -> LessonForm:
    """The form of a lesson's text with the values asked for.

    Raises
    ------
    InputError : the text is no TOML, or a number is none.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as problem:
        raise InputError(f"not valid TOML: {problem}.", where="lesson") from None
    groups = []
    for title, rows in _rows(data):
        fields = tuple(_field(data, asked, *row) for row in rows)
        if fields:
            groups.append(Group(title, fields))
    return LessonForm(tuple(groups), data)


def _rows(data: Mapping[str, Any]) -> list[tuple[str, list[Row]]]:
    """(path, label, hint, choices) of every field, in groups."""
    none: tuple[str, ...] = ()
    loads: list[Row] = []
    for table in ("people", "bags"):
        for k, one in enumerate(_list(data, table)):
            loads.append(((table, k, "weight"), str(one.get("name", "bags")), "148 lb", none))
    fuel = data.get("fuel")
    tanks = [(("fuel", str(t)), str(t), "18 gal", none) for t in fuel] if isinstance(fuel, dict) else []
    exercises: list[tuple[str, list[Row]]] = []
    for k, one in enumerate(_list(data, "exercises")):
        rows: list[Row] = [
            (("exercises", k, "altitude"), "altitude", "6,500 ft", none),
            (("exercises", k, "times"), "times", "1", none),
        ]
        target = one.get("target")
        words = [str(w) for w in target] if isinstance(target, dict) else []
        for word in dict.fromkeys([*words, "flaps"]):
            hint = "notch: 0, 1, 2" if word == "flaps" else ""
            rows.append((("exercises", k, "target", word), word.replace("_", " "), hint, none))
        exercises.append((f"{k + 1} {str(one.get('kind', 'exercise')).replace('_', ' ')}", rows))
    return [
        ("Day", [(("date",), "date", "2025-09-20", none), (("time",), "engine start, local", "09:30", none),
                 (("place", "runway"), "runway", "the one most into the wind", none)]),
        ("Weather", [(("weather", key), label, hint, none) for key, label, hint in WEATHER]),
        ("Aboard", loads),
        ("Fuel", list(tanks)),
        *exercises,
    ]  # fmt: skip


def _list(data: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    rows = data.get(key)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def _field(
    data: dict[str, Any], asked: Mapping[str, str], path: Path, label: str, hint: str, choices: tuple[str, ...]
) -> Field:
    name = "/".join(str(p) for p in path)
    stands = _look(data, path)
    before = "" if stands is None else str(stands)
    wanted = asked.get(name)
    if wanted is None or wanted.strip() == before:
        return Field(name, path, label, before, False, hint, choices)
    wanted = wanted.strip()[:LONGEST]
    _put(data, path, _typed(wanted, path) if wanted else None, dict)
    return Field(name, path, label, wanted, True, hint, choices)


def _typed(text: str, path: Path) -> str | int | float:
    """Numbers where the file has bare numbers, text elsewhere."""
    if path[-1] not in {"times", "minutes", "flaps", "rpm", "turns"}:
        return text
    try:
        number = float(text.replace(",", ""))
    except ValueError:
        where = "".join(f" {p + 1}" if isinstance(p, int) else f".{p}" for p in path).lstrip(".")
        raise InputError(f"found {text!r}, expected a number.", where=where) from None
    return int(number) if number.is_integer() else number


def _look(data: Any, path: Path) -> Any:
    here = data
    for part in path:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def _put(data: Any, path: Path, value: Any, make: Callable[[], Any]) -> None:
    """Set a value, making the tables on the way; None takes it out."""
    here = data
    for part in path[:-1]:
        if isinstance(part, str) and part not in here:
            if value is None:
                return
            here[part] = make()
        here = here[part]
    if value is None:
        here.pop(path[-1], None)
    else:
        here[path[-1]] = value
