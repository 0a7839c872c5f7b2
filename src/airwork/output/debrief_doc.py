"""The debrief as plain data: the words, in the order they are read. Terminal, page, PDF and shared file print this.

Everything comes from the Debrief; drawings and plotted samples are added by those that can show them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from airwork import days
from airwork.airplane.book_units import US_BOOK
from airwork.debrief import Debrief
from airwork.debrief.correct import BY_HAND
from airwork.debrief.first_margins import ALSO
from airwork.debrief.looked_for import may_be_graded, silent
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family
from airwork.maneuvers.episode import INSIDE, NOT_ASKED, ungraded
from airwork.maneuvers.grading.measure import worth_showing
from airwork.output import debrief_words as words
from airwork.output.dial import on_dial
from airwork.units import clock

CAUTION = "The standard's text and the instructor decide; a recording sees only part of a flight. Not for navigation."
# verdict -> (class, sign, word); the sign and the word say it without color
MARKS = {
    "held": ("held", "✓", "held"),
    "briefly out and corrected": ("brief", "~", "briefly out, corrected"),
    "not held": ("out", "✗", "not held"),
    "can't be judged": ("unknown", "–", "can't be judged"),
}

TO_THE_STALL = (Family.STALL, Family.DEPARTURE, Family.ARRIVAL)  # flown to it, or up from and down to the wheels
SAID_FIRST = "see what is said first"
AS_FAR = "held as far as recorded"  # of its criteria some the recording couldn't show
Marks = Mapping[int, Sequence[tuple[str, str]]]  # (who, mark and remark) by the episode's position


@dataclass(frozen=True, slots=True)
class Row:
    """One maneuver in the table. mark : class of the verdict; section : it has a part of its own below."""

    number: int
    index: int
    kind: str
    title: str
    start_s: float
    end_s: float
    clock: str
    length: str
    sure: str
    mark: str
    sign: str
    word: str
    missed: str  # names of the criteria that were not held, or briefly out
    worst: str
    cause: str
    plain: bool
    section: bool
    marks: str


@dataclass(frozen=True, slots=True)
class CriterionLine:
    name: str
    limit: str
    worst: str
    within: str
    mark: str
    sign: str
    word: str
    why: str


@dataclass(frozen=True, slots=True)
class CauseLine:
    """Why it drifted, and what to try."""

    text: str
    next: str
    span: str
    start_s: float


@dataclass(frozen=True, slots=True)
class NumberLine:
    """A measured number. chief : one that is asked for first."""

    name: str
    text: str
    chief: bool


@dataclass(frozen=True, slots=True)
class Instead:
    """The second-best story of a maneuver's minutes: what else it may have been."""

    kind: str
    title: str
    start_s: float
    end_s: float
    sure: str


@dataclass(frozen=True, slots=True)
class Part:
    """One maneuver in full."""

    number: int
    index: int
    kind: str
    title: str
    plain: bool
    start_s: float
    end_s: float
    span: str
    confidence: str
    instead: Instead | None
    target: str
    criteria: tuple[CriterionLine, ...]
    causes: tuple[CauseLine, ...]
    numbers: tuple[NumberLine, ...]
    marks: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Sentence:
    """One of the three a student takes along.

    start_s : the moment it is about, None for none; opens_s : the same, or where the maneuver begins that it belongs to
    (a final out of the gate is the landing's, not the pattern's).
    """

    heading: str
    text: str
    start_s: float | None
    clock: str
    opens_s: float | None

    @property
    def on_the_strip(self) -> str:
        """The word for it on the strip, the sentence's own heading: an error, or what was thin though held."""
        return "said first" if self.heading == "First" else self.heading.lower()


@dataclass(frozen=True, slots=True)
class DebriefDoc:
    """All words of a debrief.

    facts, fuel : (name, text); three : what went well, one thing to fix, what to fly next; first : (heading, clock or
    "", text), everything that is said first.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    caution: str
    three: tuple[Sentence, Sentence, Sentence]
    first: tuple[tuple[str, str, str], ...]
    summary: str
    rows: tuple[Row, ...]
    maneuvers: tuple[Part, ...]
    fuel: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    rule: str
    quality: tuple[str, ...]
    made: str


def make_debrief_doc(
    found: Debrief, *, zone: str = "UTC", every: bool = False, marks: Marks | None = None
) -> DebriefDoc:
    """The document of a debrief.

    Parameters
    ----------
    zone : time zone of the place, for the clock times shown.
    every : a part for every maneuver; else plain flying that was held stands in the table alone.
    marks : as people gave them.

    Raises
    ------
    InputError : the zone is unknown.
    """
    days.zone(zone, "--zone")
    data, given = found.as_json(), marks or {}
    dial = dial_of(found)
    rows = tuple(_row(k, e, every or k in given, given.get(k, ()), dial) for k, e in enumerate(data["episodes"]))
    rows = _with_what_is_first(rows, next((o["end_s"] for o in data["first"] if o["heading"] == "first"), None))
    return DebriefDoc(
        title=_title(found, data, zone), facts=tuple(_facts(found, data, zone)), caution=CAUTION,
        three=_three(data["first"], rows),
        first=tuple(
            (o["heading"], "" if o["start_s"] is None else clock(o["start_s"]), o["text"]) for o in data["first"]
        ),
        summary=_summary(rows), rows=rows,
        maneuvers=tuple(_part(r, data["episodes"][r.index], dial, given.get(r.index, ())) for r in rows if r.section),
        fuel=tuple(words.fuel_lines(data["fuel"], US_BOOK if found.airplane is None else found.airplane.book)),
        notes=tuple(data["notes"]), rule=_rule(found),
        quality=tuple(_quality(data)), made=_made(data),
    )  # fmt: skip


# headings of what is said first, best first -> what stands there when nothing does, and where nothing could be judged
THREE = {
    ("went well",): ("The recording shows nothing well inside its limits each time; say what you saw.",
                     "Nothing could be judged; say what you saw."),
    ("first", "main error", "pattern", "not held", "to polish", "not judged"): (
        "Nothing stood out that the recording can show.", "Nothing could be judged."),
    ("next time",): ("No drill follows from this flight: go on with the syllabus.",
                     "No drill follows from what could not be judged."),
}  # fmt: skip
LONG = 210  # characters that still fit their place; all of it stands below


def _three(said: Sequence[Mapping[str, Any]], rows: Sequence[Row]) -> tuple[Sentence, Sentence, Sentence]:
    by = {line["heading"]: line for line in said}
    unjudged = bool(rows) and all(row.mark == "unknown" for row in rows)
    out = []
    for names, otherwise in THREE.items():
        line = next((by[n] for n in names if n in by), None)
        at = None if line is None else line["start_s"]
        text = otherwise[unjudged] if line is None else _short(line["text"].partition(ALSO)[0])
        if set(by) == {"not known"}:  # nothing could be looked for: no advice
            text = said[0]["text"] if "first" in names else "Nothing can be said of this recording."
        heading = names[0] if line is None else line["heading"]
        row = None if line is None else _row_at(rows, line["end_s"])
        opens = at if at is None or row is None else max(at, row.start_s)
        out.append(Sentence(heading.capitalize(), text, at, "" if at is None else clock(at), opens))
    return out[0], out[1], out[2]


def _short(text: str) -> str:
    """As many whole sentences as have room, at least the first; of that one as many of its places, at least one."""
    first, *others = re.split(r"(?<=[.!?]) (?=[A-Z])", text)
    places, cut = first.rstrip(".").split("; "), False
    while len(first) > LONG and len(places) > 1:
        places.pop()
        first, cut = "; ".join([*places, "and more"]) + ".", True  # one may stand for several: not counted
    for part in others if not cut else ():
        if len(first) + len(part) > LONG:
            break
        first = f"{first} {part}"
    return first


def dial_of(found: Debrief) -> str:
    """The unit the airplane's airspeed indicator is read in; kt without an airplane."""
    return "kt" if found.airplane is None else found.airplane.dial_unit


def _moment(text: str | None, zone: str) -> datetime | None:
    return None if not text else datetime.fromisoformat(text.replace("Z", "+00:00")).astimezone(ZoneInfo(zone))


def _title(found: Debrief, data: Mapping[str, Any], zone: str) -> str:
    start = _moment(data["flight"]["start_utc"], "UTC" if data["flight"]["source"].get("zone_open") else zone)
    lesson, name = data["flight"]["lesson"], data["flight"]["name"]
    if start is None:
        return lesson or name or "a flight"
    what = "Recording" if silent(found.flight, found.airplane) else "Flight"
    return f"{lesson}, {start:%-d %B %Y}" if lesson else f"{what} of {start:%-d %B %Y}"


def _facts(found: Debrief, data: Mapping[str, Any], zone: str) -> list[tuple[str, str]]:
    flight = data["flight"]
    known = not flight["source"].get("zone_open")  # else the clock is shown as it was recorded
    start, end = (_moment(flight[name], zone if known else "UTC") for name in ("start_utc", "end_utc"))
    facts = [("recording", flight["name"] or "without a name"), ("airplane", flight["airplane"] or "not named")]
    if start and end:
        facts.append(
            ("recorded", f"{start:%H:%M} to {end:%H:%M}{f' {start.tzname()}' if known else ', time zone not known'}")
        )
    facts.append(("length", clock(flight["duration_s"])))
    if "airborne_s" in flight:
        facts.append(("in the air", clock(flight["airborne_s"])))
    if may_be_graded(found.flight, found.airplane):
        facts.append(("standard", f"{flight['standard']['title']}, {flight['standard']['edition']}"))
    wind = words.wind_words(data["wind"])
    if wind:
        facts.append(("wind found", wind))
    return facts


def _row(k: int, episode: Mapping[str, Any], every: bool, marks: Sequence[tuple[str, str]], dial: str) -> Row:
    criteria, as_said = episode["criteria"], ungraded(episode["evidence"])
    order = ("not held", "briefly out and corrected", "held")
    verdict = next((v for v in order if any(c["verdict"] == v for c in criteria)), "can't be judged")
    at = [c for c in criteria if c["verdict"] == verdict]
    mark, sign, word = MARKS[verdict]
    if verdict == "held" and any(_unseen(c) for c in criteria):
        word = AS_FAR
    if not criteria:
        mark, sign, word = "unknown", "", "not graded" if as_said else "no number to hold"
    off = mark in {"out", "brief"}
    worst = next((c for c in at if c["worst"] is not None), None) if off else None
    causes = (*_thin(episode), *episode["causes"])
    plain = room(episode["kind"]).plain and verdict != "not held" and not (causes or as_said)
    return Row(
        number=k + 1, index=k, kind=episode["kind"], title=episode["title"], start_s=episode["start_s"],
        end_s=episode["end_s"], clock=clock(episode["start_s"]),
        length=clock(episode["end_s"] - episode["start_s"]),
        sure="said" if as_said else f"{episode['confidence']:.0%}", mark=mark, sign=sign, word=word,
        missed=", ".join(c["name"] for c in at) if off else "",
        worst="" if worst is None else f"{worst['name']} {_worst(worst, dial)}",
        cause=causes[0]["text"] if causes else "", plain=plain,
        section=every or not plain,
        marks="; ".join(f"{who}: {said}" for who, said in marks),
    )  # fmt: skip


def _with_what_is_first(rows: tuple[Row, ...], at_s: float | None) -> tuple[Row, ...]:
    """The maneuver in which the thing said first lies is shown in full, whatever it is: screen and sheet open there.

    Held to the standard, it says so: the tick is of the standard alone.
    """
    row = _row_at(rows, at_s)
    if row is None:
        return rows
    said = {"missed": SAID_FIRST, "worst": SAID_FIRST} if row.mark == "held" else {}
    told = replace(row, plain=False, section=True, **said)  # type: ignore[arg-type]
    return tuple(told if r is row else r for r in rows)


def _row_at(rows: Sequence[Row], at_s: float | None) -> Row | None:
    """The last maneuver around a moment."""
    return next((r for r in reversed(rows) if at_s is not None and r.start_s <= at_s <= r.end_s), None)


def _unseen(c: Mapping[str, Any]) -> bool:
    """The recording is to blame that it can't be judged: it has a limit, and it was asked for."""
    asked = c.get("judged") != NOT_ASKED and not (c["low"] is None and c["high"] is None)
    return bool(asked and c["verdict"] == "can't be judged")


def _summary(rows: Sequence[Row]) -> str:
    if not rows:
        return ""
    said = {"held": "held to the standard", AS_FAR: AS_FAR, "briefly out, corrected": "briefly out and corrected",
            "not held": "not held"}  # fmt: skip
    counts = [(sum(r.word == word for r in rows), text) for word, text in said.items()]
    listed = ", ".join(f"{n} {text}" for n, text in counts if n) or "none could be judged"
    return f"{len(rows)} maneuver{'' if len(rows) == 1 else 's'} recognized; {listed}."


def _part(row: Row, episode: Mapping[str, Any], dial: str, marks: Sequence[tuple[str, str]]) -> Part:
    shown = worth_showing(episode["measured"], episode["target"])
    if room(row.kind).family in TO_THE_STALL:
        shown.pop("min_stall_margin_kt", None)  # meant to be none
    other = episode.get("instead")
    instead = None if other is None else Instead(
        other["kind"], other["title"], other["start_s"], other["end_s"], f"{other['confidence']:.0%}"
    )  # fmt: skip
    return Part(
        number=row.number, index=row.index, kind=row.kind, title=row.title, plain=row.plain, start_s=row.start_s,
        end_s=row.end_s, span=f"{words.span(row.start_s, row.end_s)} after the start of the recording",
        confidence="; ".join(_why_this(episode["evidence"], _sure(row, instead))), instead=instead,
        target="; ".join(
            (*filter(None, [words.target_words(episode["target"], episode["target_source"], dial)]), *episode["said"])
        ),
        criteria=tuple(_criterion(c, dial) for c in episode["criteria"]),
        causes=tuple(
            CauseLine(
                c["text"], c["try_next"],
                words.span(c["start_s"], c["end_s"]), c["start_s"],
            )
            for c in (*_thin(episode), *_told(episode["causes"]))
        ),
        numbers=tuple(NumberLine(*line) for line in words.numbers(shown, dial)), marks=tuple(marks),
    )  # fmt: skip


def _why_this(evidence: Sequence[str], sure: str) -> list[str]:
    """What it was recognized by and how surely; what a person said was not recognized."""
    return list(evidence) if BY_HAND in evidence else [f"{sure}: {evidence[0]}" if evidence else sure, *evidence[1:]]


def _thin(episode: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Its thin margins as causes are shown, with no drill of their own: the flight's first lines have it."""
    return [{**m, "try_next": ""} for m in episode.get("margins", ())]


def _told(causes: Sequence[Mapping[str, Any]]) -> Sequence[Mapping[str, Any]]:
    """The causes worth a reader's time: of what was held one, and none beside one that wasn't."""
    out = [c for c in causes if not c["text"].endswith(INSIDE)]
    return out or causes[:1]


def _sure(row: Row, instead: Instead | None) -> str:
    """ "recognized with confidence 72%, or level turn (20%)": the second-best only where the first is unsure."""
    said = f"recognized with confidence {row.sure}"
    return said if instead is None else f"{said}, or {instead.title[0].lower()}{instead.title[1:]} ({instead.sure})"


def _worst(c: Mapping[str, Any], dial: str) -> str:
    return words.deviation(c["worst"], c["unit"], dial, low=c["low"])


def _criterion(c: Mapping[str, Any], dial: str) -> CriterionLine:
    mark, sign, word = MARKS[c["verdict"]]
    if c.get("judged") and mark == "held":
        word = "steady"  # the pilot's own choice: steadiness is all that was judged
    elif c.get("judged") == NOT_ASKED:
        word = NOT_ASKED
    own = c.get("source") == "airwork" and "airwork" not in c["limit"]
    source = " (airwork's own threshold)" if own else " (from memory)" if c.get("label") == "M" else ""
    within = "" if c["within_fraction"] is None else f"{c['within_fraction']:.0%}"
    worst = _worst(c, dial)
    return CriterionLine(
        c["name"],
        f"{on_dial(c['limit'], dial, 1)}{source}",
        worst,
        within,
        mark,
        sign,
        word,
        c["why"],
    )


def _rule(found: Debrief) -> str:
    """What "prompt" and "consistent" mean here, and whose thresholds they are; "" where nothing is graded."""
    if not may_be_graded(found.flight, found.airplane):
        return ""
    judging = found.standard.judging
    own = {t.whose for t in judging.thresholds.values()}
    return (
        "Standards fail consistent exceedance or no prompt correction and name no seconds. Prompt is airwork's own "
        f"threshold here: altitude {judging['prompt_altitude_s']:g} s, airspeed {judging['prompt_airspeed_s']:g} s, "
        f"bank {judging['prompt_bank_s']:g} s, heading {judging['prompt_heading_s']:g} s; consistent is over "
        f"{100 * judging['consistent_fraction']:.0f}% of the time. A school can change them"
        f"{'' if own == {'airwork'} else ' (and has)'}."
    )


def _quality(data: Mapping[str, Any]) -> list[str]:
    known = data["flight"].get("known_from", {})
    lines = [f"{name.replace('_', ' ')}: {text}" for name, text in known.items()]
    derived = [q["column"] for q in data["quality"] if q["about"] == "column" and q["known"] == "derived"]
    if derived:
        lines.append("derived, not recorded: " + ", ".join(c.rsplit("_", 1)[0].replace("_", " ") for c in derived))
    lines += [q["what"] for q in data["quality"] if q["about"] == "mended"]
    return lines


def _made(data: Mapping[str, Any]) -> str:
    flight = data["flight"]
    digest = f"; recording sha256 {flight['sha256'][:16]}…" if flight["sha256"] else ""
    return f"airwork {flight['airwork_version']}, {datetime.now(UTC):%Y-%m-%d}{digest}"
