"""What a report says beside its main groups: runway visual range, a poorer sector, the runway's state, its blind spots.

Groups by ICAO Annex 3 and FMH-1, from memory. Each is quoted as written; what it weighs is airwork's own caution.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import NamedTuple

from airwork.lesson.case import Case
from airwork.lesson.moments import WAY, remarks
from airwork.lesson.places import tidy_runway_name
from airwork.lesson.reasons_notes import CHANGE, alarming
from airwork.lesson.reasons_weather import read_here
from airwork.lesson.runway_state import reported_states, runway_states
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.units import FT_M, SM_M

_RVR = re.compile(r"\bR(\d\d[LCR]?)/([MP]?)(\d{4})(?:V([MP]?)(\d{4}))?(FT)?/?[UDN]?(?= |$)")
_SECTOR_M = re.compile(rf"(?<= )(\d{{4}})({WAY})(?= |$)")
_MILES = r"(?:(\d+) )?(?:(\d)/(\d\d?)|(\d+))"
_SECTOR_SM = re.compile(rf"\bVIS ({WAY}(?:-{WAY})?) {_MILES}(?= |$)|\bVIS {_MILES} ({WAY}(?:-{WAY})?)(?= |$)")
_SEEN_FROM = re.compile(rf"\b(TWR|SFC) VIS {_MILES}(?= |$)")
_VARIES = re.compile(r"\b(VIS|CIG) (\S+)V(\S+)(?= |$)")
_BANK = re.compile(
    rf"\b(?:FG|BR|ST|SC)(?: FG)? BANK(?: (?:DSNT|VC))?(?: {WAY}(?:-{WAY})?)*|\bFG (?:{WAY}(?:-{WAY})?)(?= |$)"
)
_SILENT = {
    "PWINO": "rain, snow and fog", "FZRANO": "freezing rain", "VISNO": "visibility",
    "CHINO": "cloud", "RVRNO": "runway visual range",
}  # fmt: skip
_SILENT_CODES = [re.compile(rf"\b{code}\b") for code in _SILENT]
LOW_M = 1000.0 * FT_M
GONE_S = 1800.0  # half an hour without thunder ends a storm on the ground; common practice, no source
_STORM_ENDED = re.compile(r"\bTS(?:B\d{2,4})?E(\d{2,4})(?= |$)")


class Range(NamedTuple):
    """A runway visual range at its least. [m]"""

    runway: str
    least_m: float
    words: str


def remark_reasons(case: Case) -> Iterator[Reason]:
    """The report of the hour, beyond wind, visibility, weather, cloud, temperature and pressure."""
    now = next((m.text for m in case.day.moments if m.text and not m.where), "")
    if not now or math.isinf(case.pattern_visibility_m):  # class A: said of the sky already
        return
    yield from _visual_range(case, now)
    yield from _sectors(case, now)
    yield from _ceiling(case, now)
    yield from _state(case)
    yield from _storm_gone(case, now)
    yield from _unread(case)
    if silent := [words for code, words in _SILENT.items() if re.search(rf"\b{code}\b", now)]:
        yield Reason("station", "not checked", f"the station can't report {', '.join(silent)}", "METAR remarks")


# Of no account to a flight, or said elsewhere: stations' marks, pressure and temperature groups, cloud by its kind
_PLAIN = re.compile(
    r"(?<!\S)(?:\$|AO\d|SLPNO|PNO|DENSITY ALT \S+|SLP\d*|TS?NO|LAST|RTD|FIRST|PRES[RF]R|WIND \d+ ?FT \w+|QFE\S*|NOSIG"
    r"|[A-Z]{2,6}[BE]\d\S*|(?:[A-Z]{2}\d){1,4}|[A-Z]{1,2}?\d{4,}\S*|/+|[\d/]+)(?!\S)"
)


def _unread(case: Case) -> Iterator[Reason]:
    """Words of the field's report that nothing here reads: quoted, and a word of alarm in them is worth a thought."""
    metar = case.lesson.weather.metar
    left = "" if metar is None else read_here(metar.unread)
    for pattern in (_RVR, _SECTOR_SM, _SEEN_FROM, _VARIES, _BANK, _STORM_ENDED, *_SILENT_CODES, _PLAIN):
        left = " ".join(pattern.sub(" ", left).split())
    if left and alarming(left):
        yield Reason("remarks", "think", f"in the remarks, not judged: {left}", OWN, CHANGE)
    elif left:
        yield Reason("remarks", "not checked", f"remarks not read: {left}", "METAR remarks")


def _here(case: Case, runway: str) -> bool:
    own = case.runway.runway
    return own is None or tidy_runway_name(own.name) == tidy_runway_name(runway)


def ranges(text: str) -> list[Range]:
    """Every runway visual range of a report.

    >>> [(r.runway, round(r.least_m)) for r in ranges("7SM R26/0800V1600FT R08/P6000FT BCFG 12/12")]
    [('26', 244), ('08', 1829)]
    >>> [(r.runway, r.least_m) for r in ranges("R04/P1500N R22/P1500U R04L/0450U +SN")]
    [('04', 1500.0), ('22', 1500.0), ('04L', 450.0)]
    """
    out = []
    for found in _RVR.finditer(text.partition(" RMK")[0]):
        unit = FT_M if found[6] else 1.0
        out.append(Range(found[1], float(found[3]) * unit, found[0]))
    return out


def _visual_range(case: Case, text: str) -> Iterator[Reason]:
    needed = case.pattern_visibility_m
    poor = [r for r in ranges(text) if r.least_m < needed and "/P" not in r.words]
    for found in sorted(poor, key=lambda r: (not _here(case, r.runway), r.least_m))[:1]:
        own = _here(case, found.runway)
        far = f"{found.least_m / FT_M:,.0f} ft" if "FT" in found.words else f"{found.least_m:,.0f} m"
        said = f"runway visual range {far} on runway {found.runway} ({found.words})"
        said += f": VFR needs {case.style.visibility(needed)}" if own else " (not the one in use)"
        yield Reason("runway visual range", "no-go" if own else "think", said, OWN, "better visibility")


def _sectors(case: Case, text: str) -> Iterator[Reason]:
    """To one side it is poorer than the report's main group says."""
    main, needed = text.partition(" RMK")[0], case.pattern_visibility_m
    seen = [(float(f[1]), f[2], f[0]) for f in _SECTOR_M.finditer(main)]
    for f in _SECTOR_SM.finditer(remarks(text)):
        seen.append((_meters(*(f.groups()[1:5] if f[1] else f.groups()[5:9])), f[1] or f[10], f[0]))
    for f in _SEEN_FROM.finditer(remarks(text)):
        far, whence = _meters(*f.groups()[1:]), {"TWR": "the tower", "SFC": "the ground"}[f[1]]
        if far < max(needed, 5.0 * SM_M):
            said = f"visibility {case.style.visibility(far)} from {whence} ({f[0]})"
            level: Level = "no-go" if far < needed else "think"
            yield Reason("visibility beside it", level, said, OWN, "wait until both are better")
    for meters, way, words in sorted(seen)[:1]:
        if meters <= max(needed, 5.0 * SM_M):
            seen_there, least = case.style.visibility(meters), case.style.visibility(needed)
            said = f"visibility {seen_there} to the {way} ({words}), VFR needs {least}"
            yield Reason("visibility to one side", "think", said, OWN, "another side, or wait until it lifts")
    if bank := _BANK.search(remarks(text)):
        yield Reason("fog bank", "think", f"fog near the field: {bank[0]} in the remarks", OWN, "wait until it is gone")


def _meters(whole: str | None, part: str | None, of: str | None, alone: str | None) -> float:
    """Statute miles as printed, "1 1/2", "3/4" or "2". [m]"""
    fraction = float(part) / float(of) if part and of else 0.0
    return (float(whole or alone or 0.0) + fraction) * SM_M


def _storm_gone(case: Case, text: str) -> Iterator[Reason]:
    """A storm over the field that the remarks end: nobody flies where it thundered minutes ago."""
    ended = _STORM_ENDED.search(remarks(text))
    metar = case.lesson.weather.metar
    if ended and metar is not None:
        ago_s = (metar.utc_s / 60.0 - float(ended[1][-2:])) % 60.0 * 60.0 + case.lesson.start_utc_s - metar.utc_s
        near: Level = "no-go" if ago_s < GONE_S else "think"
        gone = f"the thunderstorm at the field ended {case.style.minutes(ago_s)} before the start"
        yield Reason(
            "thunderstorm past", near, f"{gone}: {ended[0]} in the remarks", OWN, "half an hour without thunder"
        )


def _ceiling(case: Case, text: str) -> Iterator[Reason]:
    """A ceiling or visibility that varies, at its least."""
    for what, low, high in _VARIES.findall(remarks(text)):
        if what == "CIG" and low.isdigit() and high.isdigit():
            least, most = (100.0 * FT_M * float(n) for n in (low, high))
            said = f"the ceiling varies from {case.style.altitude(least)} to {case.style.altitude(most)}"
            yield Reason(
                "ceiling varies", "no-go" if least < LOW_M - 0.5 else "think", said, OWN, "a steady, higher one"
            )
        elif what == "VIS":
            yield Reason("visibility varies", "think", f"the visibility varies: VIS {low}V{high}", OWN, "a steady one")


def _state(case: Case) -> Iterator[Reason]:
    """Deposit, extent, depth and braking of the runway in use: distances here are for none but water."""
    metar, here = case.lesson.weather.metar, reported_states(case.lesson, case.runway.runway)
    if metar is not None and metar.station != case.lesson.place.ident:
        for state in [s for s in runway_states(metar.text, None) if s.frozen][:1]:
            text = f"at {metar.station}, {state.words}: perhaps here too, and no distance is for it"
            yield Reason("runway state", "think", text, OWN, "a look at the runway; the field's own report")
    for state in here:
        level: Level = "no-go" if state.poor and state.frozen else "think" if state.frozen else "go"
        change = "another runway or day; the handbook's own words for it" if level != "go" else ""
        yield Reason("runway state", level, state.words, "METAR" if level == "go" else OWN, change)
