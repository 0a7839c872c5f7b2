"""The file as the book prints it: keys in the book's units, one unit a column, converted once on the way in.

Every key of the models that carries a unit may be written in another one: `weight_kg` for `weight_lb`. A table's
units may stand once, over its columns: `columns = ["weight_kg", ...]` and `rows = [[750, ...], ...]`, "-" where the
book prints nothing. What is the same in every row may stand once over
them. What was converted is kept by table, so that it can be shown as printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, get_args

from pydantic import BaseModel

from airwork import units
from airwork.errors import InputError, Where

EMPTY = {"-", "–", ""}  # a cell the book leaves empty

# By the end of a model's key: its unit, and how else a book may print it: (end of the key, unit).
# A difference of temperature is told from a temperature by its key.
_ENDS: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "lb": ("lb", (("kg", "kg"),)),
    "in": ("in", (("mm", "mm"), ("cm", "cm"), ("m", "m"))),
    "ft": ("ft", (("m", "m"),)),
    "ft2": ("ft²", (("m2", "m²"),)),
    "us_gal": ("gal", (("l", "L"), ("imp_gal", "impgal"))),
    "gph": ("gph", (("lph", "L/h"), ("imp_gph", "impgal/h"))),
    "inhg": ("inHg", (("hpa", "hPa"), ("kpa", "kPa"), ("mmhg", "mmHg"))),
    "psi": ("psi", (("bar", "bar"),)),
    "hp": ("hp", (("ps", "PS"), ("kw", "kW"))),
    "fpm": ("fpm", (("mps", "m/s"),)),
    "nm": ("NM", (("km", "km"), ("sm", "SM"))),
    "kt": ("kt", (("kmh", "km/h"), ("mph", "mph"), ("mps", "m/s"))),
    "kias": ("kt", (("indicated_kmh", "km/h"), ("indicated_mph", "mph"))),
    "kcas": ("kt", (("calibrated_kmh", "km/h"), ("calibrated_mph", "mph"))),
    "ktas": ("kt", (("true_kmh", "km/h"), ("true_mph", "mph"))),
    "c": ("°C", (("f", "°F"),)),
    "f": ("°F", (("c", "°C"),)),
}
# Keys with further spellings of their own: the book's obstacle of 15 m is the 50 ft one.
_OWN: dict[str, tuple[tuple[str, str], ...]] = {
    "total_over_50_ft": (("total_over_15_m", "m"), ("total_over_50_ft_m", "m")),
    "fuel_density_lb_per_us_gal": (("fuel_density_kg_per_l", "kg/L"),),
}
ROUNDED_APART_KT = 1.1  # knots and mph of one speed, each rounded to 1
_NO_UNIT = {"nm_per_1000_ft", "permitted_in"}
_DENSITY = units.LB_KG / units.USGAL_M3 * units.LITRE_M3  # kg/L of 1 lb/gal


def unit_of(key: str) -> str:
    """The unit a model's key carries, as airwork writes it; "" for a key without one."""
    end = _end(key)
    return _ENDS[end][0] if end else ""


@lru_cache(maxsize=512)
def _end(key: str) -> str:
    if key in _NO_UNIT or key in _OWN:
        return "ft" if key == "total_over_50_ft" else ""
    if key.startswith("gph_"):
        return "gph"
    return next((e for e in sorted(_ENDS, key=len, reverse=True) if key == e or key.endswith(f"_{e}")), "")


@lru_cache(maxsize=512)
def spellings(key: str) -> tuple[tuple[str, str], ...]:
    """(key, unit) of every other way a model's key may be written.

    >>> spellings("weight_lb")
    (('weight_kg', 'kg'),)
    """
    if key in _OWN:
        return _OWN[key]
    end = _end(key)
    if not end:
        return ()
    if key.startswith("gph_"):
        return tuple((f"{other}_{key[4:]}", unit) for other, unit in _ENDS["gph"][1])
    stem = key[: len(key) - len(end)]
    return tuple((stem + other, unit) for other, unit in _ENDS[end][1])


@lru_cache(maxsize=512)
def written_in(key: str) -> str:
    """How a key as it is written names its unit: the end of it, of a flow "gph", "lph" or "imp_gph"; "" without one.

    >>> written_in("capacity_us_gal"), written_in("imp_gph_best_power"), written_in("power_percent")
    ('us_gal', 'imp_gph', '')
    """
    flow = next((f for f in ("gph", *(other for other, _ in _ENDS["gph"][1])) if key.startswith(f"{f}_")), "")
    ends = {*_ENDS, *(other for _, others in _ENDS.values() for other, _ in others)}
    ends = {e.removeprefix("indicated_").removeprefix("calibrated_").removeprefix("true_") for e in ends}
    return flow or next((e for e in sorted(ends, key=len, reverse=True) if key == e or key.endswith(f"_{e}")), "")


def key_in(key: str, unit: str) -> str:
    """How a model's key is written for a unit; the key itself for its own."""
    return next((name for name, u in spellings(key) if u == unit), key)


@lru_cache(maxsize=256)
def _others(model: type[BaseModel]) -> dict[str, tuple[str, str]]:
    """The other ways to write a model's keys: printed key -> (the model's key, unit)."""
    return {
        name: (key, unit)
        for key in model.model_fields
        for name, unit in spellings(key)
        if name not in model.model_fields
    }


def converted(number: float, key: str, unit: str) -> float:
    """A printed number in the unit of the model's key."""
    if key == "fuel_density_lb_per_us_gal":
        return number / _DENSITY
    if is_difference(key):
        return number * (5.0 / 9.0 if unit == "°F" else 1.8)
    return units.to_unit(units.from_unit(float(number), unit), unit_of(key))


def as_printed(number: float, key: str, unit: str) -> float:
    """Inverse of `converted`, without the dust of the conversion."""
    if key == "fuel_density_lb_per_us_gal":
        found = number * _DENSITY
    elif is_difference(key):
        found = number * (1.8 if unit == "°F" else 5.0 / 9.0)
    else:
        found = units.to_unit(units.from_unit(float(number), unit_of(key)), unit)
    return float(f"{found:.9g}")


def is_difference(key: str) -> bool:
    """Is a key's temperature a difference?"""
    return key.endswith(("deviation_c", "per_c"))


def printed_unit(printed: Mapping[str, Mapping[str, str]], table: str, key: str) -> str:
    """The unit a table prints a key in: "kg" for weight_lb in a metric book.

    printed : the file's own (`AirplaneFile.printed`).
    """
    name = printed.get(table, {}).get(key)
    return unit_of(key) if name is None else dict(spellings(key))[name]


def read_printed(data: dict[str, Any], root: type[BaseModel]) -> tuple[dict[str, Any], dict[str, dict[str, str]]]:
    """The file's data with the models' keys, and by table what the book prints: model's key -> printed key.

    Raises
    ------
    InputError : a key given in two units, but for a speed in knots and mph that are one; a row with too few or too
        many columns.
    """
    printed: dict[str, dict[str, str]] = {}
    airplane = data.get("airplane")
    dial = airplane.get("airspeed_indicator_unit") if isinstance(airplane, dict) else None
    return _table(data, root, "", printed, dial), printed


def _table(
    data: dict[str, Any], model: type[BaseModel], path: str, printed: dict[str, dict[str, str]], dial: Any
) -> Any:
    data = _one_speed(_of_every_row(_laid_out(data, path), model), path, dial)
    others, below, out = _others(model), _below(model), {}
    for key, value in data.items():
        if key in below:
            inside = below[key]
            out[key] = _inside(value, inside, f"{path}.{key}" if path else key, printed, dial) if inside else value
        elif key in others and _is_number(value):
            real, unit = others[key]
            if real in data or real in out:
                said = next((k for k, v in others.items() if v[0] == real and k in data and k != key), real)
                raise InputError(f"{key} and {said} say the same; give one.", where=Where(table=path, field=key))
            out[real] = _converted(value, real, unit)
            printed.setdefault(path, {})[real] = key
        else:
            out[key] = value
    return out


def _inside(value: Any, model: type[BaseModel], path: str, printed: dict[str, dict[str, str]], dial: Any) -> Any:
    if isinstance(value, dict):
        return _table(value, model, path, printed, dial)
    if not isinstance(value, list):
        return value
    out = []
    for number, row in enumerate(value):
        try:
            out.append(_table(row, model, path, printed, dial) if isinstance(row, dict) else row)
        except InputError as error:
            table, _, rows = path.rpartition(".")
            if error.where.table != path or error.where.row is not None:
                raise
            where = Where(table=table, rows=rows, row=number, field=error.where.field)
            raise InputError(error.problem, where=where) from None
    return out


def _converted(value: Any, key: str, unit: str) -> Any:
    if isinstance(value, list):
        return [converted(v, key, unit) for v in value]
    if isinstance(value, dict):  # the user's own names
        return {name: converted(v, key, unit) for name, v in value.items()}
    return converted(value, key, unit)


def _is_number(value: Any) -> bool:
    values = value if isinstance(value, list) else list(value.values()) if isinstance(value, dict) else [value]
    return bool(values) and all(isinstance(v, int | float) and not isinstance(v, bool) for v in values)


def _one_speed(data: dict[str, Any], path: str, dial: Any) -> dict[str, Any]:
    """Of a speed printed in knots and in mph the dial's own; both must say the same."""
    for knots in [k for k in data if k.endswith(("kias", "kcas", "ktas"))]:
        in_mph = key_in(knots, "mph")
        if in_mph not in data or not (_is_number(data[knots]) and _is_number(data[in_mph])):
            continue
        pairs = zip(*(v if isinstance(v, list) else [v] for v in (data[knots], data[in_mph])), strict=False)
        for kt, mph in pairs:
            if abs((expected := converted(mph, knots, "mph")) - kt) > ROUNDED_APART_KT:
                same = "the same number in both: one is in the wrong unit" if kt == mph else "a digit of one is wrong"
                said = f"{in_mph} {mph:g} is {expected:.0f} kt, {knots} has {kt:g}; {same}."
                raise InputError(said, where=Where(table=path, field=knots))
        data = {k: v for k, v in data.items() if k != (knots if dial == "mph" else in_mph)}
    return data


def _laid_out(data: dict[str, Any], path: str) -> dict[str, Any]:
    """`columns` over bare rows, as rows that name their columns."""
    columns, rows = data.get("columns"), data.get("rows")
    if not isinstance(columns, list):
        return data
    if not isinstance(rows, list) or not all(isinstance(c, str) for c in columns) or len(set(columns)) < len(columns):
        raise InputError("`columns` names each column of `rows` once.", where=Where(table=path))
    out = []
    for number, row in enumerate(rows):
        if isinstance(row, list) and len(row) != len(columns):
            raise InputError(
                f'{len(row)} values, the table has {len(columns)} columns; write "-" where the book prints nothing.',
                where=Where(table=path, rows="rows", row=number),
            )
        if isinstance(row, list):
            cells = zip(columns, row, strict=True)
            row = {c: v for c, v in cells if not (isinstance(v, str) and v.strip() in EMPTY)}
        out.append(row)
    return {**{k: v for k, v in data.items() if k != "columns"}, "rows": out}


def _of_every_row(data: dict[str, Any], model: type[BaseModel]) -> dict[str, Any]:
    """What a column would say that is the same in every row (the book's one weight) may stand once over the rows."""
    rows, inside = data.get("rows"), _below(model).get("rows")
    if inside is None or not isinstance(rows, list):
        return data
    names = {**{key: key for key in inside.model_fields}, **{name: key for name, (key, _) in _others(inside).items()}}
    own = {*model.model_fields, *_others(model)}
    shared = {key: value for key, value in data.items() if key in names and key not in own}
    if not shared:
        return data
    whole = [
        {**{k: v for k, v in shared.items() if names[k] not in {names.get(c) for c in row}}, **row}
        if isinstance(row, dict)
        else row
        for row in rows
    ]
    return {**{k: v for k, v in data.items() if k not in shared}, "rows": whole}


@lru_cache(maxsize=256)
def _below(model: type[BaseModel]) -> dict[str, type[BaseModel] | None]:
    """The model's keys, each with the model of what stands below it; None for a plain value."""
    return {key: next(iter(models_in(field.annotation)), None) for key, field in model.model_fields.items()}


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """The models a field's type names: itself, or in a list, a dict, a choice."""
    from pydantic import BaseModel  # late: readers of printed units needn't load it

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in models_in(part)]
