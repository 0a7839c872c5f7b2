"""A lesson file as a form: one field for each value a person changes on the day; the text with the changes in it.

The address of the page carries what was changed, the file stays as it is until it is saved.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from airwork.errors import InputError, Where
from airwork.fitting import fields_of
from airwork.lesson.again import OWN_OF_A_PERSON, same_person
from airwork.lesson.lesson import Limits
from airwork.lesson.target import WORDS
from airwork.typed_file import FILL_IN, tables
from airwork.units import halves_as_decimals
from airwork.web import area_text
from airwork.web.form_rows import order
from airwork.web.lesson_rows import MOST_ROWS, rows_of

Path = tuple[str | int, ...]
AIRPLANE, FUEL_OF, LIMITS_OF = "airplane/file", "fuel-of", "limits-of/"  # names in addresses
LONGEST = 400  # letters of a value
TABLES = ("people", "bags", "exercises")
NUMBERS = {"times", "minutes", "flaps", "rpm", "turns", "runway_factor"}  # bare in the file


@dataclass(frozen=True, slots=True)
class Field:
    """One value. name : in addresses. path : in the lesson. shown : as it stands, changes in it."""

    name: str
    path: Path
    label: str
    shown: str
    changed: bool
    hint: str = ""
    choices: tuple[str, ...] = ()
    problem: InputError | None = None

    @property
    def long(self) -> bool:
        """Pasted whole: a report, a forecast."""
        return self.path[-1] in LONG or self.path in AREA_TEXT

    @property
    def example(self) -> str:
        """The hint, told apart from a value: what stands gray in a field may be a report's."""
        return f"e.g. {self.hint}" if self.hint[:1].isdigit() or self.hint.startswith(("METAR", "TAF")) else self.hint

    @property
    def is_airplane(self) -> bool:
        """Which airplane: chosen from a list."""
        return self.name == AIRPLANE

    @property
    def lines(self) -> int:
        return min(6, max(2, len(self.shown) // 44 + 1, self.shown.count("\n") + 1))


@dataclass(frozen=True, slots=True)
class Row:
    """A person, a bag or an exercise. number : its own, for addresses. new : not in the file."""

    table: str
    number: int
    title: str
    fields: tuple[Field, ...]
    new: bool
    wishes: tuple[str, ...] = ()  # targets that can be given to it beside those shown


@dataclass(frozen=True, slots=True)
class Group:
    """Fields under one heading."""

    title: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class LessonForm:
    """The form, and the lesson's tables with the changes in them.

    orders : for each table whose rows differ from the file's, the numbers of the rows there are.
    """

    groups: tuple[Group, ...]
    rows: dict[str, tuple[Row, ...]]
    data: dict[str, Any]
    orders: dict[str, list[int]]
    taken_out: dict[str, tuple[tuple[int, str], ...]]  # rows of the file that are not in the form: number, what it is
    other_airplane: bool = False  # than the file's: its fuel is asked anew
    exchanged: tuple[str, ...] = ()  # roles somebody else has taken: what was the one's before is not theirs

    @property
    def fields(self) -> list[Field]:
        inside = [f for rows in self.rows.values() for row in rows for f in row.fields]
        return [*(f for group in self.groups for f in group.fields), *inside]

    def require_read(self) -> None:
        """InputError with one error for each value that can't be read."""
        wrong = [f.problem for f in self.fields if f.problem is not None]
        if wrong:
            raise InputError(wrong[0].problem, where=wrong[0].where, each=wrong)

    @property
    def changes(self) -> dict[str, str]:
        """What differs from the file, as it stands in the address."""
        moved = {table: ",".join(str(n) for n in rows) for table, rows in self.orders.items()}
        return {**moved, **{f.name: f.shown for f in self.fields if f.changed}}

    @property
    def text(self) -> str:
        """The changed lesson as text for the core, without the file's comments: written in a millisecond."""
        import tomli_w

        return tomli_w.dumps(self.data)

    def write_into(self, text: str) -> str:
        """The file's text with the changes in it; comments and order stay."""
        import tomlkit

        document: Any = tomlkit.parse(text)
        if self.other_airplane:
            document["fuel"] = tomlkit.table()
        for role in self.exchanged:
            for own in OWN_OF_A_PERSON:
                document[role].pop(own, None)
        for table, rows in self.orders.items():
            _rearrange(document, table, rows)
        for f in self.fields:
            if f.changed:
                if f.path in AREA_TEXT:
                    document.get("area", {}).pop(
                        f.path[-1], None
                    )  # written anew: lists of tables don't take each other's place
                _put(document, f.path, _typed(f.shown, f.path) if f.shown else None, tomlkit.table)
        return tomlkit.dumps(document)


def _rearrange(document: Any, table: str, rows: list[int]) -> None:
    """The table's rows in their new order, new ones empty."""
    import tomlkit

    old = list(document[table]) if table in document else []
    document.pop(table, None)
    if rows:
        made = tomlkit.aot()
        for number in rows:
            made.append(old[number] if number < len(old) else tomlkit.table())
        document.append(table, made)


LONG = {"metar", "taf", "winds_aloft"}  # pasted whole
PASTED = (
    ("metar", "METAR, as received", "METAR KOGA 201415Z 24011G17KT 10SM CLR 17/06 A3006"),
    ("taf", "TAF, as received", "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"),
    ("winds_aloft", "winds aloft", "6,000 ft 250/18 kt 11 °C; 9,000 ft 260/24 kt"),
)
# A bare number in a field whose unit stands beside it: (US, metric), by the field's last name.
BARE = {
    "weight": ("lb", "kg"), "fuel": ("gal", "L"), "altitude": ("ft", "ft"), "ceiling": ("ft", "ft"),
    "visibility": ("SM", "km"), "temperature": ("°C", "°C"), "dewpoint": ("°C", "°C"), "height": ("ft", "ft"),
    "floor": ("ft", "ft"), "ground": ("ft", "ft"), "bank": ("deg", "deg"), "heading": ("deg", "deg"),
    "turn": ("deg", "deg"), "radius": ("ft", "ft"), "crosswind": ("kt", "kt"), "gust_spread": ("kt", "kt"),
    "density_altitude": ("ft", "ft"),
}  # fmt: skip
# What may be meant otherwise: a gauge's share of a tank, hundreds of feet, a report's meters.
MAY_BE_OTHER = {
    "fuel": re.compile(r"\d/\d|[¼½¾]"), "ceiling": re.compile(r"\d{1,3}"), "visibility": re.compile(r"\d{4}"),
}  # fmt: skip
AREA_TEXT = {
    ("area", "polygon"): (area_text.corners_text, area_text.read_corners),
    ("area", "landing_places"): (area_text.places_text, area_text.read_places),
}  # pointed on the map, and text all the same
AREA = (
    ("name", "name", "north of the lake"), ("ground", "highest ground", "3,700 ft"), ("floor", "floor", "4,300 ft"),
    ("ceiling", "ceiling", "8,500 ft"),
    ("polygon", "corners, or point them on the map", "41.26 -101.95; 41.46 -101.93; …"),
    ("landing_places", "landing places, one to a line", "hay meadow: 41.395 -101.86, 3,680 ft"),
)  # fmt: skip
CIRCLE = ("center", "radius")  # corners take its place
_HALF_DAY = re.compile(r"(1[0-2]|0?[1-9])(?:[:.]([0-5]\d))?\s*([ap])\.?m\.?")
_BARE_NUMBER = re.compile(r"[+-]?\d[\d,]*(?:\.\d+)?")

WEATHER = (
    ("wind", "wind", "240/12G18 kt"), ("temperature", "temperature", "24 °C"), ("dewpoint", "dew point", "12 °C"),
    ("altimeter", "altimeter", "30.05 inHg"), ("visibility", "visibility", "10 SM"),
    ("ceiling", "ceiling above the field", "5,000 ft, or none"),
    ("outlook", "without a TAF: your own outlook", "clear, wind as now until noon"),
)  # fmt: skip


def read_form(text: str, asked: Mapping[str, str], tanks: Callable[[str], tuple[str, ...]] | None = None) -> LessonForm:
    """The form of a lesson's text with the values asked for.

    tanks : names the tanks of another airplane than the file's. What was dipped is one airplane's: the other's tanks
    are FILL IN, but for those typed for it (the address says so with `fuel-of`).

    Raises
    ------
    InputError : the text is no TOML, or rows are asked for that can't be.
    """
    data = tables(text, "lesson")
    asked = _by_role_and_seat(data, asked)
    asked, other = _in_airplane(data, asked, tanks)
    limits, exchanged, asked = _limits(data, asked)
    groups = []
    for title, rows in [*_rows(data), *limits]:
        fields = tuple(_field(data, asked, path, path, label, hint) for path, label, hint in rows)
        if fields:
            groups.append(Group(title, fields))
    found: dict[str, tuple[Row, ...]] = {}
    orders: dict[str, list[int]] = {}
    taken_out: dict[str, tuple[tuple[int, str], ...]] = {}
    for table in TABLES:
        old = rows_of(data, table)
        if table in data and old != data[table]:  # nothing a form can show: the core says what is wrong
            found[table] = ()
            continue
        numbers = order(len(old), asked.get(table), MOST_ROWS[table], table)
        if numbers != list(range(len(old))):
            orders[table] = numbers
            word = "kind" if table == "exercises" else "name"
            taken_out[table] = tuple((n, str(old[n].get(word, table))) for n in range(len(old)) if n not in numbers)
        data[table] = [old[n] if n < len(old) else {} for n in numbers]
        found[table] = tuple(_row(data, asked, table, at, n, n >= len(old)) for at, n in enumerate(numbers))
        if not numbers:
            data.pop(table)
    return LessonForm(tuple(groups), found, data, orders, taken_out, other, exchanged)


ROLES = ("student", "instructor")


def _by_role_and_seat(data: Mapping[str, Any], asked: Mapping[str, str]) -> Mapping[str, str]:
    """Who learns and who teaches stand twice in a lesson, by role and by seat: one changed changes the other."""
    out = dict(asked)
    for n, person in enumerate(rows_of(data, "people")):
        role = person.get("role")
        if role in ROLES and isinstance(data.get(role), dict) and data[role].get("name") == person.get("name"):
            given = asked.get(f"people/{n}/name", "").strip()
            if given and given != person.get("name"):
                out[f"{role}/name"] = given
    return out


def _limits(
    data: dict[str, Any], asked: Mapping[str, str]
) -> tuple[list[tuple[str, list[tuple[Path, str, str]]]], tuple[str, ...], Mapping[str, str]]:
    """The fields of each pilot's own limits; the roles somebody else has taken, whose limits before are taken out;
    the values asked for without those that stood in the form for somebody before (the address says so: `limits-of`).
    """
    groups, exchanged = [], []
    for role in ROLES:
        one = data.get(role)
        if not isinstance(one, dict) or not isinstance(one.get("limits", {}), dict):
            continue
        before, name = str(one.get("name", role)), asked.get(f"{role}/name", "").strip()
        names = [k for k in dict.fromkeys(["crosswind", *one.get("limits", {})]) if k in fields_of(Limits)]
        taken = bool(name) and not same_person(before, name)
        if asked.get(f"{LIMITS_OF}{role}", before) != (name if taken else before):
            asked = {k: v for k, v in asked.items() if not k.startswith(f"{role}/limits/")}
        if taken:
            exchanged.append(role)
            for own in OWN_OF_A_PERSON:
                one.pop(own, None)
        rows: list[tuple[Path, str, str]] = [((role, "limits", k), k.replace("_", " "), "none known") for k in names]
        groups.append((f"Limits of {name or before}", rows))
    return groups, tuple(exchanged), asked


def _in_airplane(
    data: dict[str, Any], asked: Mapping[str, str], tanks: Callable[[str], tuple[str, ...]] | None
) -> tuple[Mapping[str, str], bool]:
    """The values asked for without fuel of another airplane; whether it is another than the file's."""
    named = data.get("airplane")
    stands = str(named.get("file", "")) if isinstance(named, dict) else ""
    wanted = asked.get(AIRPLANE, "").strip() or stands
    if asked.get(FUEL_OF, stands) != wanted:
        asked = {k: v for k, v in asked.items() if not k.startswith("fuel/")}
    if wanted == stands or tanks is None:
        return asked, False
    data["fuel"] = dict.fromkeys(tanks(wanted), FILL_IN)
    return asked, True


def _rows(data: Mapping[str, Any]) -> list[tuple[str, list[tuple[Path, str, str]]]]:
    """(path, label, hint) of the fields that always stand in the form, in groups."""
    fuel = data.get("fuel")
    airplane = [(("airplane", "file"), "airplane", "")] if isinstance(data.get("airplane"), dict) else []
    tanks = [(("fuel", str(t)), str(t), "18 gal") for t in fuel] if isinstance(fuel, dict) else []
    return [
        ("Day", [(("title",), "title", "Slow flight and stalls"), *airplane, (("date",), "date", "2025-09-20"),
                 (("time",), "engine start, local", "09:30"),
                 (("place", "airport"), "airport", "identifier"),
                 (("place", "runway"), "runway", "the one most into the wind")]),
        ("", [((role, "name"), role, "") for role in ROLES if isinstance(data.get(role), dict)]),  # with their seat
        ("Weather", [(("weather", key), label, hint) for key, label, hint in (*WEATHER, *PASTED)]),
        ("Fuel", list(tanks)),
        ("Practice area", [(("area", key), label, hint) for key, label, hint in AREA]
         if isinstance(data.get("area", {}), dict) else []),
    ]  # fmt: skip


def _row(data: dict[str, Any], asked: Mapping[str, str], table: str, at: int, number: int, new: bool) -> Row:
    one = data[table][at]

    def field(label: str, hint: str, *keys: str) -> Field:
        return _field(data, asked, (table, at, *keys), (table, number, *keys), label, hint)

    if table != "exercises":
        first = field("name", "name", "name")
        fields = (first, field("seat" if table == "people" else "place", "", "station"),
                  field(f"weight of {first.shown or 'the bags'}", "148 lb", "weight"))  # fmt: skip
        return Row(table, number, first.shown or "bags", fields, new)
    kind = asked.get(f"exercises/{number}/kind", "") if new else ""
    one.setdefault("kind", kind.strip()[:LONGEST])
    fields_list = [
        Field(f"exercises/{number}/kind", (table, at, "kind"), "maneuver", str(one["kind"]), new),
        field("altitude", "6,500 ft", "altitude"), field("times", "1", "times"),
    ]  # fmt: skip
    if "minutes" in one or new:
        fields_list.append(field("minutes", "as the maneuver takes", "minutes"))
    target = one.get("target")
    inside = [str(w) for w in target] if isinstance(target, dict) else []
    prefix = f"exercises/{number}/target/"
    wished = [k.removeprefix(prefix) for k in asked if k.startswith(prefix)]
    words = list(dict.fromkeys([*inside, *(w for w in wished if w in WORDS), "flaps"]))
    for word in words:
        hint = "notch: 0, 1, 2" if word == "flaps" else WORDS[word][2].replace('"', "") if word in WORDS else ""
        fields_list.append(field(word.replace("_", " "), hint, "target", word))
    wishes = tuple(w for w in WORDS if w not in words and w != "altitude")
    return Row(table, number, str(one["kind"]), tuple(fields_list), new, wishes)


def _field(data: dict[str, Any], asked: Mapping[str, str], path: Path, named: Path, label: str, hint: str) -> Field:
    """A value at a path of the lesson; `named` : its path with the row's own number, for the address."""
    name = "/".join(str(p) for p in named)
    stands = _look(data, path)
    if path in AREA_TEXT:
        before = AREA_TEXT[path][0](stands)
    else:
        before = (
            ""
            if stands in (None, FILL_IN)
            else "; ".join(map(str, stands))
            if isinstance(stands, list)
            else str(stands)
        )
    wanted = asked.get(name)
    wanted = None if wanted is None else wanted.replace("\r\n", "\n")
    if wanted is None or wanted.strip() == before:
        return Field(name, path, label, before, False, hint)
    wanted = _with_unit(wanted.strip()[: LONGEST * (10 if path[-1] in LONG or path in AREA_TEXT else 1)], path, data)
    try:
        value = _typed(wanted, path) if wanted else None
    except InputError as found:  # kept as typed, and said beside its field
        return Field(name, path, label, wanted, True, hint, problem=found)
    _put(data, path, value, dict)
    return Field(name, path, label, wanted, True, hint)


def _with_unit(text: str, path: Path, data: Mapping[str, Any]) -> str:
    """A bare number with the unit its field shows, a time of 12 hours (2pm, 2:30 p.m.) as one of 24; else as it is."""
    if path == ("time",) and (said := _HALF_DAY.fullmatch(text.strip().lower())):
        return f"{int(said[1]) % 12 + (12 if said[3] == 'p' else 0):02d}:{said[2] or '00'}"
    name = "fuel" if path[0] == "fuel" else str(path[-1])
    unit = BARE.get(name)
    if unit is None or not _BARE_NUMBER.fullmatch(halves_as_decimals(text)):
        return text
    if name in MAY_BE_OTHER and MAY_BE_OTHER[name].fullmatch(text.strip()):
        return text  # the reader of a lesson asks, or knows what reports mean by it
    return f"{text} {unit[data.get('units') == 'metric']}"


def _typed(text: str, path: Path) -> Any:
    """Numbers where the file has bare numbers, lists for the area's corners and places, text elsewhere."""
    if path in AREA_TEXT:
        return AREA_TEXT[path][1](text, Where.of("", path, dotted=True))
    if path[-1] not in NUMBERS:
        return text
    try:
        number = float(text.replace(",", ""))
    except ValueError:
        where = Where.of("", path, dotted=True)
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
    if path == ("area", "polygon") and value is not None:
        for name in CIRCLE:
            data.get("area", {}).pop(name, None)
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
