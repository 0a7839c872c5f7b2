"""What of a lesson another airplane does not take: tanks, places to sit and load, exercises its handbook forbids."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from airwork.airplane import Airplane
from airwork.airplane.loading import station_kind
from airwork.maneuvers import rooms


def misfits(data: Mapping[str, Any], airplane: Airplane) -> tuple[str, ...]:
    """Each thing of a lesson (its tables, as read from TOML) that this airplane has no place for, in words.

    Numbers (loading, runway, fuel, speeds) are the briefing's to judge; here is what must be chosen anew first.
    """
    said = []
    balance = airplane.file.weight_and_balance
    stations = [] if balance is None else [(s.name, station_kind(s)) for s in balance.stations]
    for table in ("people", "bags"):
        places = [name for name, kind in stations if (kind == "baggage") is (table == "bags") and kind != "fuel"]
        for row in _rows(data, table):
            at = str(row.get("station", ""))
            if at.casefold() not in {one.casefold() for one, _ in stations}:
                have = ", ".join(places) or "none named"
                said.append(f"{row.get('name') or table}: it has no “{at}”; it has {have}")
    known = {one.kind: one for one in rooms()}
    for kind in dict.fromkeys(str(row.get("kind", "")) for row in _rows(data, "exercises")):
        room = known.get(kind)
        permission = None if room is None else airplane.maneuver_permission(room.facts.handbook or kind)
        if room is not None and permission is not None and not permission.permitted_in:
            said.append(f"{room.title}: its handbook prohibits it")
    most = airplane.flaps_full
    for row in _rows(data, "exercises"):
        target = row.get("target")
        notch = target.get("flaps") if isinstance(target, dict) else None
        if isinstance(notch, int) and notch > most:
            said.append(f"{row.get('kind')}: flap notch {notch}; it has {most}")
    return tuple(said)


def _rows(data: Mapping[str, Any], table: str) -> list[Mapping[str, Any]]:
    rows = data.get(table)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
