"""The thresholds by which a task is called ready, slipped or not to be told: our own; a school may change them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from importlib import resources
from pathlib import Path

from airwork import typed_file
from airwork.errors import InputError


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Airwork's own limits for its words; see `progress.toml` for the reason of each."""

    ready_chance: float
    ready_attempts: int
    ready_flights: int
    slipped_chance: float
    slipped_sure: float
    change_flights: int
    forecast_flights: int
    forecast_longest: int
    forecast_low: float
    forecast_high: float
    stale_days: int


@lru_cache(maxsize=4)
def thresholds(path: Path | None = None) -> Thresholds:
    """Airwork's thresholds, or a school's from its file."""
    if path is None:
        where, text = "progress.toml", resources.files("airwork.logbook").joinpath("progress.toml").read_text("utf-8")
    else:
        where, text = path.name, typed_file.read_text(path, "file of thresholds")
    values = typed_file.tables(text, where)
    known = {f.name: f.type for f in fields(Thresholds)}
    if path is not None:
        values = {f: getattr(thresholds(), f) for f in known} | values
    for name, value in values.items():
        if name not in known:
            raise InputError(f"no threshold {name!r}; there are {', '.join(known)}.", where=where)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 10_000:
            raise InputError(f"{name} = {value!r} can't be; write a number above 0.", where=where)
        if known[name] == "float" and value >= 1:
            raise InputError(f"{name} = {value} can't be; it is a share below 1.", where=where)
    whole = {n: (float(v) if known[n] == "float" else int(v)) for n, v in values.items()}
    return Thresholds(**whole)  # type: ignore[arg-type]
