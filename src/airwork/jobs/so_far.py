"""Getting better or not: this flight beside the student's earlier ones in the logbook, as one line said first.

The judgment is the trend's (`logbook/trend.py`): a criterion is better or worse where the change over the last flights
is so with 90 %; else the numbers stand there and nothing is claimed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

from sqlalchemy import Connection

from airwork.debrief import Debrief
from airwork.debrief.first import Heading, Line
from airwork.logbook.attempts import Attempt, attempts_of, is_task, named_in_a_line
from airwork.logbook.debrief_json import limit_ratio, read_debrief
from airwork.logbook.flights import flights_of_recording
from airwork.logbook.progress import CriterionProgress, progress

HEADING: Heading = "so far"
# Flights a trend takes at least, the last ones shown, criteria told at most: our own choice
LEAST_FLIGHTS, SHOWN_FLIGHTS, MOST_TOLD = 3, 4, 3
TODAY = "this flight"


def with_so_far(found: Debrief, connection: Connection, pilot_id: str) -> Debrief:
    """The debrief with what the earlier flights say of the same exercises; as it was where they say nothing."""
    line = so_far(found, connection, pilot_id)
    if line is None:
        return found
    others = [x for x in found.first if x.heading != HEADING]
    at = next((k for k, x in enumerate(others) if x.heading in ("one side", "not judged")), len(others))
    return replace(found, first=(*others[:at], line, *others[at:]))


def so_far(found: Debrief, connection: Connection, pilot_id: str) -> Line | None:
    """One line, or None: fewer than three flights with any of these exercises, or no tasks flown."""
    here = _of_this_flight(found)
    same = set(flights_of_recording(connection, str(found.flight.source.get("sha256", ""))))
    today = here[0].day if here else date.min
    earlier = [a for a in attempts_of(connection, pilot_id, found.standard)
               if a.flight_id not in same and a.day <= today]  # fmt: skip
    kinds = {a.kind for a in here}
    picture = progress([*(a for a in earlier if a.kind in kinds), *here], {}, {}, standard="", today=today)
    told: list[tuple[float, str]] = []
    for task in picture.tasks:
        for criterion in task.criteria:
            said = _said(task.kind, criterion)
            if said is not None:
                told.append(said)
    if not told:
        return None
    text = "; ".join(words for _, words in sorted(told)[:MOST_TOLD])
    return Line(HEADING, f"{text[0].upper()}{text[1:]}.")


def _of_this_flight(found: Debrief) -> list[Attempt]:
    facts = read_debrief(found.as_json())
    day = datetime.fromtimestamp(facts.start_utc_s, UTC).date() if facts.start_utc_s is not None else date.max
    return [
        Attempt(TODAY, day, k, e.kind, c.name, c.limit, c.worst, c.unit, limit_ratio(c), c.verdict,
                facts.wind_mps(e), "", same_limit=True)
        for k, e in enumerate(facts.episodes) if is_task(e.kind) for c in e.criteria
    ]  # fmt: skip


def _said(kind: str, criterion: CriterionProgress) -> tuple[float, str] | None:
    """(how sure and large, the clearest change first; "steep turn altitude 2.1, 1.4, 0.8 of its limit: better")."""
    worst = _by_flight(criterion.attempts)
    if len(worst) < LEAST_FLIGHTS or TODAY not in worst:
        return None
    low, middle, high = criterion.change
    verdict = "better" if high < 0.0 else "worse" if low > 0.0 else "no sure change"
    row = ", ".join(f"{x:.1f}" for x in list(worst.values())[-SHOWN_FLIGHTS:])
    rank = -abs(middle) if verdict != "no sure change" else 1.0 - list(worst.values())[-1]
    return rank, f"{named_in_a_line(kind)}, {criterion.name}: {row} of its limit, flight by flight: {verdict}"


def _by_flight(attempts: Sequence[Attempt]) -> dict[str, float]:
    """Flight → mean share of the limit used, in order."""
    rows: dict[str, list[float]] = {}
    for one in attempts:
        if one.ratio is not None:
            rows.setdefault(one.flight_id, []).append(one.ratio)
    return {flight: sum(x) / len(x) for flight, x in rows.items()}
