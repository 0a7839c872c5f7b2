"""What the instructor says of the grading: that climb was asked for, judge from here to here, another target.

Nobody tells a recording what was asked for in the air. What an instructor says is data, kept with who said it; the
grade, and all that follows from it, is worked out by it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from airwork.errors import InputError
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Grade, Phase
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import WINDOW
from airwork.units import clock, from_unit

What = Literal["asked", "judge", "target"]
# Targets an instructor can set: name → (the grader's name, unit, words, lowest, highest).
TARGETS: dict[str, tuple[str, str, str, float, float]] = {
    "altitude_ft": ("altitude_m", "ft", "altitude", -1500.0, 30000.0),
    "ias_kt": ("ias_mps", "kt", "indicated airspeed", 20.0, 400.0),
    "bank_deg": ("bank_rad", "deg", "bank", 0.0, 80.0),
    "turn_deg": ("turn_rad", "deg", "turn", 30.0, 1440.0),
    "touchdown_ft": ("touchdown_m", "ft", "touchdown point beyond the threshold", -300.0, 8000.0),
}
SHORTEST_S = 2.0


@dataclass(frozen=True, slots=True)
class Instructed:
    """One thing said of one maneuver.

    kind, at_s : the maneuver as recognized (start, seconds from the first sample).
    what : "asked" – the climb, descent or turn from start_s to end_s was asked for; "judge" – established flight is
        from start_s to end_s; "target" – `target` (a key of TARGETS) was `value`.
    by : who said it.
    """

    kind: str
    at_s: float
    what: What
    by: str
    start_s: float = 0.0
    end_s: float = 0.0
    target: str = ""
    value: float = 0.0

    @property
    def words(self) -> str:
        """What was said, and by whom, in a line without clock times."""
        if self.what == "asked":
            said = f"a climb or descent of {self.end_s - self.start_s:.0f} s was asked for"
        elif self.what == "judge":
            said = f"judged over {self.end_s - self.start_s:.0f} s chosen by hand"
        else:
            _, unit, words, _, _ = TARGETS[self.target]
            mark = "°" if unit == "deg" else f" {unit}"
            said = f"{words} wanted: {self.value:,.0f}{mark}"
        return f"{said} ({self.by})"


def seconds(text: str) -> float:
    """ "12:30" from the start of the recording, or seconds. [s]"""
    found = re.fullmatch(r"\s*(?:(\d{1,4}):)?(\d{1,6}(?:\.\d{1,3})?)\s*", text)
    if found is None:
        raise InputError(f"{text[:20]!r}: write minutes and seconds from the start, e.g. 12:30.", where="time")
    return 60.0 * int(found[1] or 0) + float(found[2])


def check_times(start_s: float, end_s: float, last_s: float, where: str) -> None:
    """A stretch that somebody names, within the recording.

    Raises
    ------
    InputError : the end isn't after the beginning, or it lies outside.
    """
    if end_s <= start_s:
        raise InputError(f"the end, {clock(end_s)}, is not after the beginning, {clock(start_s)}.", where=where)
    if not (start_s >= 0.0 and end_s <= last_s):
        said = f"{clock(start_s)} to {clock(end_s)} is not inside the recording, 0:00 to {clock(last_s)}."
        raise InputError(said, where=where)


def check(one: Instructed, last_s: float) -> None:
    """Refuse what can't be meant.

    Raises
    ------
    InputError : nobody named, times outside the recording, an unknown target or a value out of reason.
    """
    if not one.by.strip():
        raise InputError("say who said so.", where="instructor's word")
    if one.what == "target":
        if one.target not in TARGETS:
            raise InputError(f"{one.target!r} is none of {', '.join(TARGETS)}.", where="target")
        _, unit, words, low, high = TARGETS[one.target]
        if not low <= one.value <= high:
            raise InputError(f"{words} {one.value:g} is not between {low:g} and {high:g} {unit}.", where="target")
        return
    check_times(one.start_s, one.end_s, last_s + 1.0, "instructor's word")
    if one.end_s - one.start_s < SHORTEST_S:
        raise InputError(f"shorter than {SHORTEST_S:.0f} s; nothing can be judged.", where="instructor's word")


def graded_as_told(episode: Episode, evidence: Evidence, said: Sequence[Instructed]) -> tuple[Episode, Grade]:
    """The maneuver graded by what was said of it."""
    targets = dict(evidence.targets.get(episode.kind, {}))
    whose = dict(evidence.whose)
    asked = list(evidence.asked)
    for one in said:
        if one.what == "asked":
            asked.append((one.start_s, one.end_s))
        elif one.what == "judge":
            episode = _judged_between(episode, one.start_s, one.end_s)
            whose[WINDOW] = one.by
        else:
            name, unit, _, _, _ = TARGETS[one.target]
            targets[name] = from_unit(one.value, unit)
            whose[name] = f"{one.by}"
    told = replace(evidence, targets={**evidence.targets, episode.kind: targets}, asked=tuple(asked), whose=whose)
    grade = room(episode.kind).grade
    assert grade is not None, episode.kind
    return episode, replace(grade(episode, told), said=tuple(one.words for one in said))


def _judged_between(episode: Episode, start_s: float, end_s: float) -> Episode:
    """Established flight between two times; without such a phase the whole maneuver is."""
    if any(p.name == "established" for p in episode.phases):
        phases = (
            Phase("entry", min(episode.start_s, start_s), start_s), Phase("established", start_s, end_s),
            Phase("recovery", end_s, max(episode.end_s, end_s)),
        )  # fmt: skip
        return replace(episode, phases=phases)
    return replace(episode, start_s=start_s, end_s=end_s)
