"""What a report says beside its main groups: runway visual range, a poorer sector, the runway's state, its blind spots.

Each is quoted as written; what it weighs is airwork's own caution.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from airwork.lesson.case import Case
from airwork.lesson.places import tidy_runway_name
from airwork.lesson.reasons_notes import CHANGE, alarming
from airwork.lesson.remarks import Remarks
from airwork.lesson.runway_plan import reported_states
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.units import FT_M, SM_M

LOW_M = 1000.0 * FT_M
GONE_S = 1800.0  # half an hour without thunder ends a storm on the ground; common practice, no source


def remark_reasons(case: Case) -> Iterator[Reason]:
    """The report of the hour, beyond wind, visibility, weather, cloud, temperature and pressure."""
    now = next((m.report for m in case.day.moments if m.report and not m.where), None)
    if now is None or math.isinf(case.pattern_visibility_m):  # class A: said of the sky already
        return
    beside = now.remarks
    yield from _visual_range(case, beside)
    yield from _sectors(case, beside)
    yield from _ceiling(case, beside)
    yield from _state(case)
    yield from _storm_gone(case, beside)
    if beside.unread and alarming(beside.unread):
        yield Reason("remarks", "think", f"in the remarks, not judged: {beside.unread}", OWN, CHANGE)
    elif beside.unread:
        yield Reason("remarks", "not checked", f"remarks not read: {beside.unread}", "METAR remarks")
    if beside.silent:
        text = f"the station can't report {', '.join(beside.silent)}: look, and ask"
        yield Reason("station", "go", text, "METAR remarks")


def _here(case: Case, runway: str) -> bool:
    own = case.runway.runway
    return own is None or tidy_runway_name(own.name) == tidy_runway_name(runway)


def _visual_range(case: Case, beside: Remarks) -> Iterator[Reason]:
    needed = case.pattern_visibility_m
    poor = [r for r in beside.ranges if r.least_m < needed and "/P" not in r.words]
    for found in sorted(poor, key=lambda r: (not _here(case, r.runway), r.least_m))[:1]:
        own = _here(case, found.runway)
        far = f"{found.least_m / FT_M:,.0f} ft" if "FT" in found.words else f"{found.least_m:,.0f} m"
        said = f"runway visual range {far} on runway {found.runway} ({found.words})"
        said += f": VFR needs {case.style.visibility(needed)}" if own else " (not the one in use)"
        yield Reason("runway visual range", "no-go" if own else "think", said, OWN, "better visibility")


def _sectors(case: Case, beside: Remarks) -> Iterator[Reason]:
    """To one side it is poorer than the report's main group says."""
    needed = case.pattern_visibility_m
    poor_m = max(needed, 5.0 * SM_M)
    for seen in (s for s in beside.seen_from if s.visibility_m < poor_m):
        said = f"visibility {case.style.visibility(seen.visibility_m)} from {seen.whence} ({seen.words})"
        level: Level = "no-go" if seen.visibility_m < needed else "think"
        yield Reason("visibility beside it", level, said, OWN, "wait until both are better")
    for seen in sorted(s for s in beside.sectors if s.visibility_m <= poor_m)[:1]:
        there, least = case.style.visibility(seen.visibility_m), case.style.visibility(needed)
        said = f"visibility {there} to the {seen.whence} ({seen.words}), VFR needs {least}"
        yield Reason("visibility to one side", "think", said, OWN, "another side, or wait until it lifts")
    if beside.bank:
        yield Reason(
            "fog bank", "think", f"fog near the field: {beside.bank} in the remarks", OWN, "wait until it is gone"
        )


def _storm_gone(case: Case, beside: Remarks) -> Iterator[Reason]:
    """A storm over the field that the remarks end: nobody flies where it thundered minutes ago."""
    metar = case.lesson.weather.metar
    if beside.ended and metar is not None:
        minute, words = beside.ended
        ago_s = (metar.utc_s / 60.0 - minute) % 60.0 * 60.0 + case.lesson.start_utc_s - metar.utc_s
        near: Level = "no-go" if ago_s < GONE_S else "think"
        gone = f"the thunderstorm at the field ended {case.style.minutes(ago_s)} before the start"
        yield Reason("thunderstorm past", near, f"{gone}: {words} in the remarks", OWN, "half an hour without thunder")


def _ceiling(case: Case, beside: Remarks) -> Iterator[Reason]:
    """A ceiling or visibility that varies, at its least."""
    for what, low, high in beside.varies:
        if what == "CIG" and low.isdigit() and high.isdigit():
            least, most = (100.0 * FT_M * float(n) for n in (low, high))
            said = f"the ceiling varies from {case.style.altitude(least)} to {case.style.altitude(most)}"
            said = said if low != high else f"a ceiling of {case.style.altitude(least)} at another runway"
            yield Reason(
                "ceiling varies", "no-go" if least < LOW_M - 0.5 else "think", said, OWN, "a steady, higher one"
            )
        elif what == "VIS":
            yield Reason("visibility varies", "think", f"the visibility varies: VIS {low}V{high}", OWN, "a steady one")


def _state(case: Case) -> Iterator[Reason]:
    """Deposit, extent, depth and braking of the runway in use: distances here are for none but water."""
    metar, here = case.lesson.weather.metar, reported_states(case.lesson, case.runway.runway)
    if metar is not None and metar.station != case.lesson.place.ident:
        for state in [s for s in metar.remarks.states if s.frozen][:1]:
            text = f"at {metar.station}, {state.words}: perhaps here too, and no distance is for it"
            yield Reason("runway state", "think", text, OWN, "a look at the runway; the field's own report")
    for state in here:
        level: Level = "no-go" if state.poor and state.frozen else "think" if state.frozen else "go"
        change = "another runway or day; the handbook's own words for it" if level != "go" else ""
        yield Reason("runway state", level, state.words, "METAR" if level == "go" else OWN, change)
