"""A person puts right what was recognized: another kind, other limits, one left out or added; graded anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from airwork.debrief.debrief import Debrief, Graded, evidence_of, graded, with_episodes
from airwork.debrief.instructed import Instructed, check, check_times, graded_as_told
from airwork.errors import InputError
from airwork.maneuvers import room, rooms
from airwork.maneuvers.episode import UNGRADED, Episode, Grade, Phase, ungraded
from airwork.maneuvers.grading.evidence import Evidence
from airwork.units import clock

SHORTEST_S = 2.0
SAME_START_S = 0.6  # starts this close are one episode's: recognition repeats to the sample, a printed start is rounded
BY_HAND = "kind and limits given by a person"


@dataclass(frozen=True, slots=True)
class Correction:
    """One correction. was_kind, was_start_s : the episode as recognized; without them it is added.

    kind "" takes the episode out. Times in seconds from the first sample. as_said_by : who wants it entered ungraded
    where nothing recorded looks like it; "" refuses it there.
    """

    kind: str
    start_s: float
    end_s: float
    was_kind: str = ""
    was_start_s: float | None = None
    as_said_by: str = ""


class NotSeen(InputError):
    """Nothing recorded there looks like it: it can be entered as said; graded: with a grade, as something is there."""

    graded = False


class UnlikeIt(NotSeen):
    """What was recorded there is far from it, but holds what its grading needs."""

    graded = True


def correct(found: Debrief, corrections: Sequence[Correction], said: Sequence[Instructed] = ()) -> Debrief:
    """The debrief with the corrections in it, graded by what an instructor said; all that follows is worked out anew.

    Raises
    ------
    InputError : an unknown kind, limits outside the recording, an episode that isn't there; NotSeen : as it says.
    """
    evidence = evidence_of(found)
    if evidence is None:
        raise InputError("too little was recorded to grade anything.", where="correction")
    episodes = [g.episode for g in found.episodes]
    for one in corrections:
        _check(one, evidence)
        at = _which(episodes, one.was_kind, one.was_start_s)
        if at is not None:
            del episodes[at]
        if one.kind and not any(_is_said(e, one) for e in episodes):  # a stall was the slow flight around it
            episodes.append(_episode(one, evidence))
    episodes.sort(key=lambda e: (e.start_s, e.end_s))
    told: dict[int, list[Instructed]] = {}
    for word in said:
        check(word, float(evidence.flight.time_s[-1]))
        at = _which(episodes, word.kind, word.at_s)
        if at is not None:
            told.setdefault(at, []).append(word)
    evidence = replace(evidence, episodes=tuple(episodes))
    judged = [
        Graded(e, Grade({}, "", {}, (), (), said=tuple(w.words for w in told.get(k, ()))))
        if ungraded(e.evidence)
        else Graded(*graded_as_told(e, evidence, told[k]))
        if k in told
        else graded(e, evidence)
        for k, e in enumerate(episodes)
    ]
    return with_episodes(found, evidence, judged)


def _check(one: Correction, evidence: Evidence) -> None:
    if not one.kind:
        return
    if one.kind not in (known.kind for known in rooms()):
        raise InputError(f"{one.kind!r} is no maneuver.", where="correction")
    last = float(evidence.flight.time_s[-1])
    check_times(one.start_s, one.end_s, last + SAME_START_S, "correction")
    if one.end_s - one.start_s < SHORTEST_S:
        raise InputError(f"is shorter than {SHORTEST_S:.0f} s; nothing can be graded.", where="correction")


def _which(episodes: Sequence[Episode], kind: str, start_s: float | None) -> int | None:
    if start_s is None:
        return None
    for k, e in enumerate(episodes):
        if e.kind == kind and abs(e.start_s - start_s) <= SAME_START_S:
            return k
    raise InputError(f"no {kind.replace('_', ' ')} was recognized at {start_s:.0f} s any more.", where="correction")


def _episode(one: Correction, evidence: Evidence) -> Episode:
    """The episode as given, with phases and facts of what its room sees there; without, the whole is one phase."""
    of_kind = room(one.kind)
    can_grade, word = of_kind.grade is not None, one.as_said_by.strip()
    seen = [e for e in of_kind.seen(evidence.view) if _common_s(e, one) > 0.0] if can_grade else []
    unlike = [] if seen or not can_grade else _unlike(one, evidence)
    if seen or (unlike and word):
        best = max(seen or unlike, key=lambda e: (_common_s(e, one), e.score))
        phases = tuple(
            Phase(p.name, max(p.start_s, one.start_s), min(p.end_s, one.end_s))
            for p in best.phases
            if p.end_s > one.start_s and p.start_s < one.end_s
        )
        if phases:
            first, last = phases[0], phases[-1]
            phases = (replace(first, start_s=one.start_s), *phases[1:])
            phases = (*phases[:-1], replace(phases[-1], end_s=max(one.end_s, last.start_s)))
        facts = dict(best.facts)
        by_whom = BY_HAND if seen else f"{BY_HAND} ({word})"
        return Episode(one.kind, one.start_s, one.end_s, 1.0, phases, (*best.evidence, by_whom), facts)
    if word:
        return Episode(one.kind, one.start_s, one.end_s, 1.0, evidence=(BY_HAND, f"{UNGRADED} ({word})"))
    title = of_kind.named
    if not can_grade:
        raise NotSeen(f"airwork can't grade it ({title}).", where="correction")
    called = f"{title}: {of_kind.usual}" if of_kind.usual else title
    span = f"from {clock(one.start_s)} to {clock(one.end_s)}"
    if unlike:
        best = max(unlike, key=lambda e: (_common_s(e, one), e.score))
        said = f"recorded {span}: {', '.join(best.evidence)}. That does not look like it ({called})."
        raise UnlikeIt(said, where="correction")
    raise NotSeen(f"nothing {span} looks like it ({called}).", where="correction")


def _unlike(one: Correction, evidence: Evidence) -> list[Episode]:
    """What a room that says what is usual weighed over most of that time and thought too little like it."""
    propose = room(one.kind).propose if room(one.kind).usual else None
    most = 0.5 * (one.end_s - one.start_s)
    return [] if propose is None else [e for e in propose(evidence.view) if _common_s(e, one) > most]


def _is_said(e: Episode, one: Correction) -> bool:
    apart = max(abs(e.start_s - one.start_s), abs(e.end_s - one.end_s))
    return e.kind == one.kind and apart <= SAME_START_S


def _common_s(e: Episode, one: Correction) -> float:
    return min(e.end_s, one.end_s) - max(e.start_s, one.start_s)
