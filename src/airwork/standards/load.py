"""Reading a standard's file (TOML), shipped or a school's own, and refusing what it can't mean."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Collection, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from airwork import typed_file
from airwork.errors import InputError
from airwork.fitting import first_of
from airwork.standards.model import Criterion, Judging, Standard, Task, Threshold, limit_text
from airwork.units import from_unit

Number = Annotated[float, Field(allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class CriterionFile(_Strict):
    name: str = Field(min_length=1, max_length=80)
    quantity: str
    low: Number | None = None
    high: Number | None = None
    nominal: Number | None = None
    unit: str
    about: str = Field("", max_length=200)
    text: str = Field("", max_length=120)
    source: str = ""
    label: Literal["V", "M", "P", "S", ""] = ""


class TaskFile(_Strict):
    kind: str = Field(pattern=r"^[a-z][a-z0-9_]{0,60}$")
    same_as: str = ""
    code: str = Field("", max_length=60)
    title: str = Field("", max_length=120)
    source: str = ""
    label: Literal["V", "M", "P", "S", ""] = ""
    min_agl_ft: Annotated[float, Field(ge=0, le=20000)] | None = None
    notes: tuple[str, ...] = ()
    criteria: tuple[CriterionFile, ...] | None = None


class StandardHead(_Strict):
    id: str = Field(pattern=r"^[a-z][a-z0-9_]{0,60}$")
    title: str = Field(min_length=1, max_length=120)
    authority: str = Field("", max_length=120)
    edition: str = Field("", max_length=200)
    certificate: str = Field("", max_length=60)
    notes: tuple[str, ...] = ()


class StandardFile(_Strict):
    """A standard's file as written: see docs/standards.md."""

    extends: str | tuple[str, ...] = ()
    standard: StandardHead
    documents: dict[str, str] = Field(default_factory=dict)
    task: tuple[TaskFile, ...] = ()
    judging: dict[str, Number] = Field(default_factory=dict)


_DATA = Path(__file__).parent / "data"

SHORT_NAMES = {
    "private": "us_private",
    "commercial": "us_commercial",
    "instructor": "us_instructor",
    "sport": "us_sport",
    "uk_ppl": "easa_ppl",
    "uk_lapl": "easa_lapl",
    "uk_cpl": "easa_cpl",
}
# What a criterion can be about, and the units it may be written in. The graders know these names.
QUANTITIES: dict[str, tuple[str, ...]] = {
    "altitude": ("ft", "m"), "pattern_altitude": ("ft", "m"), "level_off_altitude": ("ft", "m"),
    "turn180_altitude": ("ft", "m"), "agl": ("ft", "m"), "altitude_kept": ("ft", "m"), "pivotal_altitude": ("ft", "m"),
    "touchdown_distance": ("ft", "m"), "ias": ("kt", "mph", "km/h"), "ias_to_50_ft": ("kt", "mph", "km/h"),
    "pattern_ias": ("kt", "mph", "km/h"), "turn180_ias": ("kt", "mph", "km/h"), "entry_ias": ("kt", "mph", "km/h"),
    "bank": ("deg",), "bank_limit": ("deg",), "bank_range": ("deg",), "heading": ("deg",),
    "rollout_heading": ("deg",), "turn180_heading": ("deg",), "power": ("%",), "stall_warning": ("s",),
    "turns": ("turns",), "position": ("NM", "km"), "eta": ("min", "s"),
}  # fmt: skip


def available() -> dict[str, str]:
    """The shipped standards: id → title."""
    return {name: _shipped(name).title for name in _shipped_names()}


def load_standard(name: str | Path) -> Standard:
    """A shipped standard by name, or a school's own file.

    Parameters
    ----------
    name : "private", "commercial", "us_private", "easa_ppl" …; a Path, or text that ends in .toml, names a file.

    Raises
    ------
    InputError : unknown name, unreadable file, or a field that can't be used; the message names it.
    """
    if isinstance(name, Path) or name.endswith(".toml"):
        return _read_own(Path(name))
    return _shipped(_known_name(name, "standard"))


@lru_cache(maxsize=1)
def _shipped_names() -> tuple[str, ...]:
    return tuple(sorted(f.stem for f in _DATA.glob("*.toml") if f.name != "judging.toml"))


def _known_name(name: str, where: str) -> str:
    key = SHORT_NAMES.get(name, name)
    if key in _shipped_names():
        return key
    hint = _hint(name, sorted([*SHORT_NAMES, *_shipped_names()]), ", or a path to a .toml file")
    raise InputError(f"no standard called {name!r}; {hint}", where=where)


def _hint(name: str, known: Collection[str], more: str = "") -> str:
    """The known name that one resembles, else all that are known."""
    close = difflib.get_close_matches(name, known, n=1)
    return f"did you mean {close[0]!r}?" if close else f"known: {', '.join(known)}{more}."


@lru_cache(maxsize=16)
def _shipped(name: str) -> Standard:
    text = (_DATA / f"{name}.toml").read_text("utf-8")
    return _build(_validate(tomllib.loads(text), f"{name}.toml"), f"{name}.toml", own=False)


def _read_own(path: Path) -> Standard:
    data = typed_file.tables(typed_file.read_text(path, "standard"), path.name)
    return _build(_validate(data, path.name), path.name, own=True)


def _validate(data: Mapping[str, Any], where: str) -> StandardFile:
    try:
        return StandardFile.model_validate(data)
    except ValidationError as problem:
        raise first_of(problem, StandardFile, where=where) from None


@lru_cache(maxsize=1)
def _default_thresholds() -> dict[str, Threshold]:
    rows = tomllib.loads((_DATA / "judging.toml").read_text("utf-8"))["threshold"]
    return {k: Threshold(k, float(v["value"]), v["unit"], v["why"], "airwork") for k, v in rows.items()}


def _build(file: StandardFile, where: str, *, own: bool) -> Standard:
    bases = [
        _shipped(_known_name(base, f"{where}, extends"))
        for base in ((file.extends,) if isinstance(file.extends, str) else file.extends)
    ]
    tasks: dict[str, Task] = {}
    documents: dict[str, str] = {}
    thresholds = dict(_default_thresholds())
    for base in bases:
        tasks.update(base.tasks)
        documents.update(base.documents)
    documents.update(file.documents)
    for row in file.task:
        tasks[row.kind] = _task(row, tasks, where, own=own)
    for name, value in file.judging.items():
        if name not in thresholds:
            raise InputError(f"judging.{name}: no such threshold; {_hint(name, thresholds)}", where=where)
        old = thresholds[name]
        if value < 0 or (old.unit == "fraction" and value > 1):
            raise InputError(f"judging.{name} = {value:g} can't be; {old.unit}, not negative.", where=where)
        thresholds[name] = Threshold(name, value, old.unit, old.why, file.standard.title)
    head = file.standard
    return Standard(
        head.id, head.title, head.authority, head.edition, head.certificate, tasks, Judging(thresholds), documents,
        head.notes,
    )  # fmt: skip


def _task(row: TaskFile, known: Mapping[str, Task], where: str, *, own: bool) -> Task:
    place = f"{where}, task {row.kind}"
    if row.same_as and row.same_as not in known:
        raise InputError(f"same_as = {row.same_as!r} names no task above it.", where=place)
    label = row.label or ("S" if own else "")
    like = (
        known[row.same_as] if row.same_as else Task(row.kind, "", row.kind.replace("_", " "), "", None, (), (), label)
    )
    return Task(
        row.kind, row.code or like.code, row.title or like.title, row.source or like.source,
        like.min_agl_m if row.min_agl_ft is None else from_unit(row.min_agl_ft, "ft"),
        like.criteria if row.criteria is None else _criteria(row, place, own=own), row.notes or like.notes,
        row.label or like.label,
    )  # fmt: skip


def _criteria(row: TaskFile, where: str, *, own: bool) -> tuple[Criterion, ...]:
    return tuple(_criterion(c, row, where, own=own) for c in row.criteria or ())


def _criterion(c: CriterionFile, row: TaskFile, where: str, *, own: bool) -> Criterion:
    units = QUANTITIES.get(c.quantity)
    if units is None:
        hint = _hint(c.quantity, QUANTITIES)
        raise InputError(f"criterion {c.name!r}: no quantity {c.quantity!r}; {hint}", where=where)
    if c.unit not in units:
        raise InputError(
            f"criterion {c.name!r}: unit {c.unit!r} is not one of {', '.join(units)} for {c.quantity}.", where=where
        )
    if c.low is not None and c.high is not None and c.low > c.high:
        raise InputError(f"criterion {c.name!r}: low {c.low:g} is above high {c.high:g}.", where=where)

    def si(value: float | None) -> float | None:
        return value if value is None or c.unit == "turns" else from_unit(value, c.unit)

    return Criterion(
        c.name, c.quantity, si(c.low), si(c.high), c.text or limit_text(c.low, c.high, c.unit, c.nominal),
        c.source or row.source, c.label or row.label or ("S" if own else ""), c.unit, si(c.nominal), c.about,
    )  # fmt: skip
