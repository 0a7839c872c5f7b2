"""Taking a debriefed flight into the logbook: all of it in one transaction, once, however often it is asked."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.airdata.geodesy import leg
from airwork.errors import InputError
from airwork.logbook.debrief_json import DebriefFacts, limit_ratio
from airwork.logbook.entering import FlightEntry
from airwork.logbook.fleet import HERE_M, nearest_place
from airwork.logbook.flights import add_flight, newest_of, refuse_signed
from airwork.logbook.recordings import Packed, keep
from airwork.logbook.records import Movement, Place
from airwork.logbook.schema import criterion, debrief, episode, flight, mark, person
from airwork.logbook.store import Store
from airwork.recording.flight import Flight

_MOVES_MPS = 1.5  # slower is a receiver's unrest, not taxiing


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did. changed : False when the flight was there already and nothing was written.

    registration : of the airplane it was entered with, "" for none.
    """

    flight_id: str
    changed: bool
    said: tuple[str, ...]
    registration: str = ""


def import_debrief(
    store: Store,
    facts: DebriefFacts,
    about: FlightEntry,
    *,
    now_utc_s: float,
    recording: Packed | None = None,
    renew: bool = False,
) -> Imported:
    """Take a debriefed flight in.

    Parameters
    ----------
    about : what the debrief doesn't know of its flight; a start and times in it put right what the recording says.
    recording : the packed recording, to keep with it; its hash must be the one the debrief names.
    renew : when the flight is there with another debrief (an older airwork's, another standard's), take this one in
        its place; marks and remarks stay.
    """
    if recording is not None and facts.recording_sha256 and recording.sha256 != facts.recording_sha256:
        raise InputError(
            "is not the recording this debrief was made from (its bytes have another hash).", where=recording.file_name
        )
    sha256 = recording.sha256 if recording is not None else facts.recording_sha256
    with store.change() as connection:
        found = _find(connection, about.pilot.id, sha256, facts.content_sha256)
        if found is not None:
            return _again(connection, found, facts, recording, renew=renew, now_utc_s=now_utc_s)
        entry = _entry(facts, about, sha256)
        _refuse_anothers(connection, entry)
        said: list[str] = []
        if recording is not None and not keep(connection, recording, now_utc_s=now_utc_s):
            said.append("the recording was kept already")
        if facts.zone_open and about.start_utc_s is None:
            said.append("its clock names no time zone and is entered as UTC; if it was local time, say --start")
        done = add_flight(connection, entry, now_utc_s=now_utc_s)
        _write(connection, done.row.id, facts, now_utc_s)
        said += done.notes
    return Imported(done.row.id, True, tuple(said))


def moving_s(clean: Flight | None) -> float | None:
    """Time from first to last movement, as flight time is logged (14 CFR 1.1 [M]); None: not known. [s]"""
    speed = None if clean is None else clean.get("groundspeed_mps")
    if clean is None or speed is None:
        return None
    moving = np.flatnonzero(np.nan_to_num(speed) > _MOVES_MPS)
    return float(clean.time_s[moving[-1]] - clean.time_s[moving[0]]) if moving.size else None


def place_of(connection: Connection, clean: Flight | None) -> tuple[tuple[float, float] | None, tuple[Place, ...]]:
    """Where a recording starts, and the entered places at its start and end; empty when one of them is not entered."""
    if clean is None or not clean.has("latitude_rad", "longitude_rad"):
        return None, ()
    known = np.isfinite(clean["latitude_rad"]) & np.isfinite(clean["longitude_rad"])
    if not known.any():
        return None, ()
    seen = np.flatnonzero(known)[[0, -1]]
    ends = [(float(clean["latitude_rad"][i]), float(clean["longitude_rad"][i])) for i in seen]
    found = [nearest_place(connection, end) for end in ends]
    return ends[0], tuple(p for p in found if p) if all(found) else ()


def stood_at(clean: Flight | None, landings_s: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Where a recording begins and ends, and where it was at each landing; () without positions. [rad]"""
    if clean is None or not clean.has("latitude_rad", "longitude_rad"):
        return ()
    lat, lon = clean["latitude_rad"], clean["longitude_rad"]
    known = np.flatnonzero(np.isfinite(lat) & np.isfinite(lon))
    if not known.size:
        return ()
    at = [0, -1, *(int(np.argmin(np.abs(clean.time_s[known] - t))) for t in landings_s)]
    return tuple((float(lat[known[i]]), float(lon[known[i]])) for i in at)


def not_stood_at(route: Sequence[Place], positions_rad: Sequence[tuple[float, float]]) -> tuple[Place, ...]:
    """The places of a route that a recording never stood at; none where either has no positions."""
    if not positions_rad:
        return ()
    return tuple(
        place for place in route
        if place.position_rad is not None
        and all(leg(*place.position_rad, *here).distance_m > HERE_M for here in positions_rad)
    )  # fmt: skip


def _find(connection: Connection, pilot_id: str, sha256: str, content_sha256: str) -> tuple[str, str] | None:
    """The flight's identity and its debrief's hash, when it is there already: of what was put right the newest."""
    f, d = flight.c, debrief.c
    same = d.content_sha256 == content_sha256
    if sha256:
        same = sa.or_(same, f.recording_sha256 == sha256)
    there = (
        sa.select(f.id).select_from(flight.outerjoin(debrief, d.flight_id == f.id)).where(f.pilot_id == pilot_id, same)
    )
    known = connection.execute(there).scalar()
    if known is None:
        return None
    newest = newest_of(connection, known)
    content = connection.execute(sa.select(d.content_sha256).where(d.flight_id == newest)).scalar()
    return newest, str(content or "")


def _refuse_anothers(connection: Connection, entry: FlightEntry) -> None:
    """One recording is one flight: of its pilot, and in the log of who sat beside them."""
    f, p = flight.c, person.c
    if not entry.recording_sha256:
        return
    aboard = {entry.pilot.id, entry.instructor.id if entry.instructor else None}
    for row in connection.execute(
        sa.select(f.id, f.pilot_id, f.instructor_id, p.name)
        .join(person, p.id == f.pilot_id)
        .where(f.recording_sha256 == entry.recording_sha256)
    ):
        if entry.pilot.id != row.instructor_id and row.pilot_id not in aboard:
            raise InputError(f"is that of flight {row.id[:8]}, of {row.name}; it is one flight.", where="recording")


def _again(
    connection: Connection,
    found: tuple[str, str],
    facts: DebriefFacts,
    recording: Packed | None,
    *,
    renew: bool,
    now_utc_s: float,
) -> Imported:
    flight_id, content = found
    added = recording is not None and keep(connection, recording, now_utc_s=now_utc_s)
    said = ["the recording was not kept before and is now"] if added else []
    if content == facts.content_sha256:
        return Imported(flight_id, added, ("this flight is in the logbook already; nothing was changed", *said)[added:])
    if not renew:
        return Imported(
            flight_id,
            added,
            ("this flight is in the logbook already, with another debrief; --renew takes this one", *said),
        )
    refuse_signed(connection, flight_id)
    kinds = _kinds(connection, flight_id)
    connection.execute(sa.delete(debrief).where(debrief.c.flight_id == flight_id))
    connection.execute(sa.delete(episode).where(episode.c.flight_id == flight_id))
    _write(connection, flight_id, facts, now_utc_s)
    _rehang_marks(connection, flight_id, kinds, _kinds(connection, flight_id))
    return Imported(flight_id, True, ("the debrief was replaced; marks and remarks stay", *said))


def _kinds(connection: Connection, flight_id: str) -> dict[int, str]:
    rows = connection.execute(sa.select(episode.c.position, episode.c.kind).where(episode.c.flight_id == flight_id))
    return {int(row.position): str(row.kind) for row in rows}


def _rehang_marks(connection: Connection, flight_id: str, before: Mapping[int, str], after: Mapping[int, str]) -> None:
    """A mark given to the second steep turn stays with the second steep turn; where there is none, with the task."""

    def ordinal(kinds: Mapping[int, str], position: int) -> int:
        return sum(1 for p in kinds if p < position and kinds[p] == kinds[position])

    for position, kind in before.items():
        same = [p for p in sorted(after) if after[p] == kind]
        nth = ordinal(before, position)
        new = same[nth] if nth < len(same) else None
        if new != position:
            # Through −1−p, so that two positions that change places don't meet.
            connection.execute(
                sa.update(mark)
                .where(mark.c.flight_id == flight_id, mark.c.episode_position == position)
                .values(episode_position=None if new is None else -1 - new)
            )
    connection.execute(
        sa.update(mark)
        .where(mark.c.flight_id == flight_id, mark.c.episode_position < 0)
        .values(episode_position=-1 - mark.c.episode_position)
    )


def _entry(facts: DebriefFacts, about: FlightEntry, sha256: str) -> FlightEntry:
    start = about.start_utc_s if about.start_utc_s is not None else facts.start_utc_s
    if start is None:
        raise InputError("the recording names no date; give --start (2026-03-08 14:30).", where="import")
    end, times = None, dict(about.times_s)
    if facts.duration_s > 0:
        end = start + facts.duration_s
        tenths = round((facts.duration_s - facts.unseen_s) / 360.0)  # of an hour, as is logged
        times.setdefault("total", tenths * 360.0)
    if not times.get("total", 1.0) and not facts.episodes and not facts.contacts:
        raise InputError("nothing was flown in it; give its --hours if something was.", where="recording")
    return replace(
        about, start_utc_s=start, end_utc_s=end, times_s=times, movements=_movements(facts.contacts, start),
        recording_sha256=sha256, source="debrief",
    )  # fmt: skip


def _movements(contacts: Sequence[tuple[str, float]], start_utc_s: float) -> tuple[Movement, ...]:
    """Each contact as a movement: a landing is to a full stop, a touch-and-go a landing and a take-off."""
    out = []
    for kind, at in contacts:
        when = start_utc_s + at
        if kind in {"landing", "touch_and_go"}:
            out.append(Movement("landing", 1, when, full_stop=kind == "landing"))
        if kind in {"takeoff", "touch_and_go"}:
            out.append(Movement("takeoff", 1, when))
    return tuple(out)


def _write(connection: Connection, flight_id: str, facts: DebriefFacts, now_utc_s: float) -> None:
    connection.execute(
        sa.insert(debrief),
        {
            "flight_id": flight_id,
            "content_sha256": facts.content_sha256,
            "debrief_json": facts.content,
            "standard_name": facts.standard_name,
            "standard_edition": facts.standard_edition,
            "program_version": facts.program_version,
            "imported_utc_s": now_utc_s,
        },
    )
    episodes, criteria = [], []
    for position, e in enumerate(facts.episodes):
        episodes.append(
            {
                "flight_id": flight_id, "position": position, "kind": e.kind, "start_s": e.start_s, "end_s": e.end_s,
                "confidence": e.confidence, "wind_mps": facts.wind_mps(e), "target_json": _json(e.target),
                "measured_json": _json(e.measured), "causes_json": _json(e.causes),
            }
        )  # fmt: skip
        criteria += [
            {
                "flight_id": flight_id, "position": position, "number": number, "name": c.name, "limit_text": c.limit,
                "worst": c.worst, "unit": c.unit, "limit_ratio": limit_ratio(c), "within_fraction": c.within_fraction,
                "verdict": c.verdict, "why": c.why,
            }
            for number, c in enumerate(e.criteria)
        ]  # fmt: skip
    if episodes:
        connection.execute(sa.insert(episode), episodes)
    if criteria:
        connection.execute(sa.insert(criterion), criteria)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))
