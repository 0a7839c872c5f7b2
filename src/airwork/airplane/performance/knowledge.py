"""What flights have taught of one airplane, kept beside its file: NAME.learning.jsonl, added to, never rewritten. SI.

Each line is one event: a flight learned (with its windows, so that it can be fitted again to a new handbook table), a
flight removed, a weight noted later. The flights in force follow from the events in order; nothing is ever lost.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from airwork.airplane.file.beside import stem
from airwork.airplane.performance.flown import Flown, Rows, Trace, same_flight
from airwork.errors import InputError
from airwork.units import to_unit
from airwork.version import VERSION

_ENDING = ".learning.jsonl"


@dataclass(frozen=True)
class Event:
    """One line of the history. kind : "learned", "removed" or "weight". changed : in words, what it did."""

    kind: str
    key: str
    name: str
    date: str
    changed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Knowledge:
    """Flights in force, in the order they were flown, and the whole history."""

    flights: tuple[Flown, ...] = ()
    history: tuple[Event, ...] = ()

    def twin(self, flown: Flown) -> Flown | None:
        """The flight in force that is the same one, however it was recorded."""
        return next((f for f in self.flights if same_flight(f, flown)), None)

    def named(self, text: str) -> Flown:
        """The flight a person means by its recording's name or the beginning of its key.

        Raises
        ------
        InputError : none, or several.
        """
        found = [f for f in self.flights if f.name == text or (len(text) >= 4 and f.key.startswith(text))]
        if len(found) != 1:
            known = ", ".join(f.name for f in self.flights) or "none"
            many = "several flights are" if found else "no flight learned is"
            raise InputError(f"{many} called that (learned: {known}).", where=text)
        return found[0]


def knowledge_path(typed: Path) -> Path:
    """NAME.learning.jsonl beside NAME.toml."""
    return typed.with_name(stem(typed) + _ENDING)


def read_knowledge(typed: Path) -> Knowledge:
    """What is kept for an airplane; nothing where no flight was learned yet.

    Raises
    ------
    InputError : a line that can't be read; names it.
    """
    path = knowledge_path(typed)
    if not path.is_file():
        return Knowledge()
    flights: dict[str, Flown] = {}
    history = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if not line.strip():
            continue
        try:
            data = json.loads(line)
            event = _event(data)
            if event.kind == "learned":
                flights[event.key] = _flown(data)
            elif event.kind == "removed":
                flights.pop(event.key, None)
            elif event.kind == "weight" and event.key in flights:
                flights[event.key] = replace(
                    flights[event.key], mass_kg=float(data["mass_kg"]), weight_from=data["weight_from"]
                )
        except (ValueError, KeyError, TypeError) as problem:
            raise InputError(
                f"line {number} can't be read ({problem}); take the line out, or put the file back from a copy.",
                where=str(path),
            ) from None
        history.append(event)
    ordered = sorted(flights.values(), key=lambda f: (f.date or "9999", f.key))
    return Knowledge(tuple(ordered), tuple(history))


def _event(data: dict[str, Any]) -> Event:
    return Event(data["event"], data["key"], data["name"], data["on"], tuple(data.get("changed", ())))


def note_learned(typed: Path, flown: Flown, changed: Sequence[str] = ()) -> None:
    """Add a flight. The caller has made sure it is not there yet (`Knowledge.twin`)."""
    trace = {
        "start_utc_s": flown.trace.start_utc_s if np.isfinite(flown.trace.start_utc_s) else None,
        "altitude_m": _plain(flown.trace.altitude_m), "speed_mps": _plain(flown.trace.speed_mps),
    }  # fmt: skip
    data = {
        **_head("learned", flown), "flown_on": flown.date, "mass_kg": round(flown.mass_kg, 2),
        "weight_from": flown.weight_from, "changed": list(changed),
        "trace": trace, "rows": flown.rows.as_lists(),
    }  # fmt: skip
    _append(typed, data)


def note_removed(typed: Path, flown: Flown, changed: Sequence[str] = ()) -> None:
    """Take a flight out of force; its windows stay in the file."""
    _append(typed, {**_head("removed", flown), "changed": list(changed)})


def note_weight(typed: Path, flown: Flown, changed: Sequence[str] = ()) -> None:
    """A weight noted after the flight was learned."""
    weight = {"mass_kg": round(flown.mass_kg, 2), "weight_from": flown.weight_from}
    _append(typed, {**_head("weight", flown), **weight, "changed": list(changed)})


def weight_words(flown: Flown) -> str:
    """The weight and where it came from."""
    how = {"lesson": "from the lesson", "typed": "as given", "unknown": "not noted, assumed"}[flown.weight_from]
    return f"{to_unit(flown.mass_kg, 'lb'):,.0f} lb {how}"


def _head(kind: str, flown: Flown) -> dict[str, Any]:
    now = datetime.now(UTC).replace(microsecond=0).isoformat()
    return {"event": kind, "key": flown.key, "name": flown.name, "on": now, "airwork": VERSION}


def _append(typed: Path, data: dict[str, Any]) -> None:
    """One line, in one write to a file opened for appending: two programs at once both get their line in."""
    line = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n"
    path = knowledge_path(typed)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    except OSError as problem:
        raise InputError(f"can't be written ({problem.strerror}).", where=str(path)) from None
    with os.fdopen(handle, "ab", buffering=0) as out:
        if out.tell() and not _ends_line(path):
            line = "\n" + line  # a line cut short by a crash stays one bad line, not two
        out.write(line.encode())
        os.fsync(out.fileno())


def _ends_line(path: Path) -> bool:
    with path.open("rb") as there:
        there.seek(-1, os.SEEK_END)
        return there.read(1) == b"\n"


def _plain(values: Any) -> list[float | None]:
    return [None if v != v else round(float(v), 2) for v in values]


def _array(values: list[float | None]) -> Any:
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def _flown(data: dict[str, Any]) -> Flown:
    trace, start = data["trace"], data["trace"]["start_utc_s"]
    return Flown(
        data["key"], data["name"], data["flown_on"], float(data["mass_kg"]), data["weight_from"],
        Rows.from_lists(data["rows"]),
        Trace(np.nan if start is None else start, _array(trace["altitude_m"]), _array(trace["speed_mps"])),
    )  # fmt: skip
