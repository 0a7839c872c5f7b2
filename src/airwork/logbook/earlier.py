"""Earlier attempts at one kind of maneuver whose recording the logbook holds: what a new one is laid beside."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook.flights import counts, in_time
from airwork.logbook.recordings import columns
from airwork.logbook.schema import criterion, episode, flight, recording_bytes
from airwork.recording.flight import Flight

MOST = 12  # newest first: older ones say little of what was learned


@dataclass(frozen=True, slots=True)
class Earlier:
    """One attempt. start_s : in its recording. judged : (name, worst, unit, share of limit, verdict)."""

    flight_id: str
    position: int
    day: date
    start_s: float
    judged: tuple[tuple[str, float | None, str, float | None, str], ...]
    turned_rad: float | None = None  # its heading change, to the right positive


def earlier_attempts(connection: Connection, pilot_id: str, kind: str, *, but: str = "") -> tuple[Earlier, ...]:
    """A pilot's attempts of a kind with a recording to show them by, newest first; not those of the flight `but`."""
    f, e, c, at = flight.c, episode.c, criterion.c, _recording()
    rows = connection.execute(
        sa.select(f.id, e.position, f.local_date, e.start_s, e.measured_json)
        .select_from(episode.join(flight, f.id == e.flight_id))
        .join(recording_bytes, recording_bytes.c.sha256 == at)
        .where(
            f.pilot_id == pilot_id,
            e.kind == kind,
            f.id != but,
            counts(),
            recording_bytes.c.columns_parquet.is_not(None),
        )
        .order_by(*(x.desc() for x in in_time()), e.position.desc())
        .limit(MOST)
    ).all()
    judged: dict[tuple[str, int], list[tuple[str, float | None, str, float | None, str]]] = {}
    for row in connection.execute(
        sa.select(c.flight_id, c.position, c.name, c.worst, c.unit, c.limit_ratio, c.verdict)
        .where(c.flight_id.in_({r.id for r in rows}))
        .order_by(c.number)
    ):
        of = judged.setdefault((row.flight_id, row.position), [])
        of.append((row.name, row.worst, row.unit, row.limit_ratio, row.verdict))
    return tuple(
        Earlier(r.id, r.position, r.local_date, r.start_s, tuple(judged.get((r.id, r.position), ())),
                _turned_rad(r.measured_json))
        for r in rows
    )  # fmt: skip


def _recording() -> sa.ColumnElement[str]:
    """A flight's recording, of one that puts another right the other's."""
    old = flight.alias("old")
    theirs = (
        sa.select(old.c.recording_sha256).where(old.c.id == flight.c.corrects_id).correlate(flight).scalar_subquery()
    )
    return sa.func.coalesce(sa.func.nullif(flight.c.recording_sha256, ""), theirs)


def _turned_rad(measured_json: str) -> float | None:
    turned = json.loads(measured_json or "{}").get("heading_change_deg")
    return math.radians(turned) if isinstance(turned, (int, float)) else None


def attempt(connection: Connection, pilot_id: str, flight_id: str, position: int) -> tuple[Flight, float, float] | None:
    """(the flight, start, end [s]) of one attempt of a pilot; None when there is none with its recording."""
    row = connection.execute(
        sa.select(_recording().label("recording_sha256"), episode.c.start_s, episode.c.end_s)
        .select_from(episode.join(flight, flight.c.id == episode.c.flight_id))
        .where(flight.c.id == flight_id, flight.c.pilot_id == pilot_id, episode.c.position == position)
    ).first()
    found = None if row is None else columns(connection, row.recording_sha256)
    return None if row is None or found is None else (found, row.start_s, row.end_s)
