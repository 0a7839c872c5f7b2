"""What the airplane file's model says of a value: its label, units, choices, limits, and whether it is needed.

The form is made of this alone: a field added to the model stands in the form.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import models_in, spellings, unit_of, written_in

# Made by the reader or by a fit, or the same in every file: nobody types them.
NOT_TYPED = frozenset({"schema_version", "wind_rows", "fitted", "printed", "printed_so"})
SPEEDS = {"kias": "indicated", "kcas": "calibrated", "ktas": "true"}
FLOWS = "gph_"
FLOWS_OF = {"us_gal": "gph", "imp_gal": "imp_gph", "l": "lph"}  # of a volume
# Ends of keys that have one unit only, as the form writes it
ONE_UNIT = {"rpm": "RPM", "deg": "°", "percent": "%", "min": "min", "g": "g", "psi": "psi"}
# What stands at the left of a printed table: where a row is, not what the book says there
STANDS = (
    "weight", "pressure_altitude", "density_altitude", "oat", "isa_deviation", "rpm", "manifold_pressure", "flap_notch",
    "bank", "headwind",
)  # fmt: skip
ALIKE = ("weight", "oat", "isa_deviation", "pressure_altitude")  # often the same in every row
DEGREES = {"c", "f"}
METRIC = {"kg", "mm", "m", "m²", "cm"}


@dataclass(frozen=True, slots=True)
class About:
    """A value of the file.

    key : the model's. units : (key as written, unit) of every way to write it, the model's first; one with an empty
    key's unit where it has none. choices : the words it is one of. suggested : words it often is. several : a list.
    needed : the file can't be read without it. number, yes_no : what it is; else text. low, high : in the model's unit.
    """

    key: str
    label: str
    hint: str = ""
    units: tuple[tuple[str, str], ...] = ()
    choices: tuple[str, ...] = ()
    suggested: tuple[str, ...] = ()
    several: bool = False
    needed: bool = False
    number: bool = False
    yes_no: bool = False
    known: bool = True
    low: float = -math.inf
    high: float = math.inf

    @property
    def stands(self) -> bool:
        """Does it say where a row of a table is?"""
        return self.key.startswith(STANDS)

    def unit(self, written: str) -> str:
        """The unit of a way to write it."""
        return dict(self.units).get(written, "")


def about(path: str, written: str) -> About:
    """What the model says of a key of a table or row, however the book's unit makes it written."""
    found = _about(model_at(path), written)
    if found.known or not (row := _about(model_at(f"{path}.rows"), written)).known:
        return found
    return replace(row, label=f"{row.label}, of every row", needed=False)


@lru_cache(maxsize=1024)
def _about(model: type[BaseModel] | None, written: str) -> About:
    fields = {} if model is None else model.model_fields
    key = written if written in fields else next((k for k in fields if written in dict(spellings(k))), "")
    if not key:
        return About(written, words(written), known=False, units=((written, _unit_of(written)),))
    field = fields[key]
    parts = set(_leaves(field.annotation))
    low, high = _limits(field)
    label = field.title or words(key)
    hint = str(field.description or "")
    return About(
        key, label, "" if hint.casefold() == label.casefold() else hint,
        units=((key, _unit_of(key)), *((name, unit) for name, unit in spellings(key) if name not in fields)),
        choices=_choices(field.annotation), suggested=tuple(str(e) for e in field.examples or ()),
        several=_is_list(field.annotation), needed=field.is_required(), number=bool(parts & {int, float}),
        yes_no=bool in parts, low=low, high=high,
    )  # fmt: skip


def words(key: str) -> str:
    """A key in words, its unit left off."""
    stem, _, end = key.rpartition("_")
    if end in SPEEDS:
        return f"{stem} {SPEEDS[end]}".replace("_", " ").strip()
    if key.startswith(FLOWS):
        return f"flow, {key.removeprefix(FLOWS)}".replace("_", " ")
    if stem and (end in ONE_UNIT or unit_of(key)):
        key = stem.removesuffix("_us") if end == "gal" else stem
    return key.replace("_", " ")


def title(path: str) -> str:
    """A table of the file in words."""
    *above, last = path.split(".")
    model = model_at(".".join(above))
    field = model.model_fields.get(last) if model is not None else None
    found = (field and field.title) or last.replace("_", " ")
    return found[:1].upper() + found[1:]


@lru_cache(maxsize=256)
def model_at(path: str) -> type[BaseModel] | None:
    """The model of a table or of the rows of a list; None where the file may have none."""
    models: list[type[BaseModel]] = [AirplaneFile]
    for part in path.split(".") if path else ():
        models = [m for one in models if part in one.model_fields for m in models_in(one.model_fields[part].annotation)]
    return models[0] if len(models) == 1 else None


def holds_rows(path: str) -> bool:
    """Is what stands at a path a list of rows?"""
    *above, last = path.split(".")
    model = model_at(".".join(above))
    field = model.model_fields.get(last) if model is not None else None
    return field is not None and _is_list(field.annotation)


def absent(path: str, there: Iterable[str]) -> Iterator[tuple[str, Literal["value", "rows", "table"]]]:
    """(key, what it is) of what a table may hold and doesn't."""
    model, written = model_at(path), set(there)
    for key, field in model.model_fields.items() if model is not None else ():
        if key in NOT_TYPED or written & {key, *(name for name, _ in spellings(key))}:
            continue
        if models_in(field.annotation):
            yield key, "rows" if _is_list(field.annotation) else "table"
        elif dict not in set(_leaves(field.annotation)):
            yield key, "value"


def of_every_row(path: str, there: Iterable[str]) -> Iterator[str]:
    """What may stand once over a table's rows where no column says it, and doesn't: the book's one weight."""
    keys = {about(path, written).key for written in there}
    own = model_at(path)
    fields = own.model_fields if own is not None and path.startswith("performance.") else {}
    for key in columns(f"{path}.rows") if fields else ():
        if key.startswith(ALIKE) and key not in keys and key not in fields:
            yield key


def columns(path: str) -> list[str]:
    """Every column rows may have, what a speed stands for before the speed."""
    model = model_at(path)
    if model is None:
        return []
    plain = [k for k, f in model.model_fields.items() if k not in NOT_TYPED and not models_in(f.annotation)]
    return sorted(plain, key=lambda key: key not in model.__annotations__)  # the speed is its base's


def in_the_book(key: str, used: Iterable[str], dial: str) -> str:
    """A key in the unit the file writes its like in: maximum_kg in a book of kilograms, a speed as on the dial, a flow
    by the tanks' gallons; the model's own where both gallons are used. Altitudes follow altitudes alone."""
    used = [k for k in used if "altitude" in k] if "altitude" in key else used
    ways = {unit: name for name, unit in reversed(spellings(key))} | {unit_of(key): key}
    if key.rpartition("_")[2] in SPEEDS and dial in ways:
        return ways[dial]
    # the oil's °F says nothing of the air's
    last = {written_in(k) for k in used if written_in(k) not in DEGREES or ("oil" in k) == ("oil" in key)}
    last |= {flow for volume, flow in FLOWS_OF.items() if volume in last and not last & set(FLOWS_OF.values())}
    found = [name for name in ways.values() if written_in(name) in last]
    if key in found and written_in(key) in {*FLOWS_OF, *FLOWS_OF.values()}:
        return key
    metric = "kg" in last and "lb" not in last
    if metric and len(found) != 1:
        found = [name for unit, name in ways.items() if unit in METRIC] or found
    return found[0] if found else key


def _unit_of(key: str) -> str:
    stem, _, end = key.rpartition("_")
    own = unit_of(key)
    return own or (ONE_UNIT.get(end, "") if stem else "")


def _leaves(annotation: Any) -> Iterator[Any]:
    """The plain types in a type."""
    origin = get_origin(annotation)
    if origin is dict:
        yield dict
    elif origin is Literal:
        yield from (type(word) for word in get_args(annotation))
    elif args := get_args(annotation):
        for part in args[:1] if hasattr(annotation, "__metadata__") else args:
            yield from _leaves(part)
    else:
        yield annotation


def _is_list(annotation: Any) -> bool:
    return get_origin(annotation) is list or any(_is_list(part) for part in get_args(annotation))


def _choices(annotation: Any) -> tuple[str, ...]:
    """The words a value is one of; none for a list of them."""
    if _is_list(annotation):
        return ()
    if annotation is bool or bool in get_args(annotation):
        return ("true", "false")
    kinds = [a for a in (annotation, *get_args(annotation)) if get_origin(a) is Literal]
    known = tuple(str(w) for kind in kinds[:1] for w in get_args(kind))
    return ("", *known) if known and type(None) in get_args(annotation) else known


def _limits(field: FieldInfo) -> tuple[float, float]:
    """The believable range of a number."""
    found = [*field.metadata]
    nodes = [field.annotation]
    while nodes:
        node = nodes.pop()
        found += [m for each in getattr(node, "__metadata__", ()) for m in getattr(each, "metadata", [each])]
        nodes += [a for a in get_args(node) if not isinstance(a, str | int)]
    lows = [getattr(m, name) for m in found for name in ("gt", "ge") if getattr(m, name, None) is not None]
    highs = [getattr(m, name) for m in found for name in ("lt", "le") if getattr(m, name, None) is not None]
    return (min(lows) if lows else -math.inf), (max(highs) if highs else math.inf)
