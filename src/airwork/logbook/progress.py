"""Where a student stands with each task: ready, slipped, not yet; what to fly next and why; lessons to standard.

For each criterion of each task the trend (`trend.py`) gives the chance that the next attempt is held. The task's chance
is that of its weakest criterion. The instructor's mark always stands: where it says more or less than the measurement,
the status follows it and both are shown. A forecast is an interval, and there is none when the flights can't carry it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from airwork.days import local_date
from airwork.logbook.attempts import Attempt, is_task, named_in_a_line, title_of
from airwork.logbook.marks import Mark
from airwork.logbook.thresholds import Thresholds, thresholds
from airwork.logbook.trend import Attempts, Trend, flights_to_standard, trend

Status = Literal["not flown", "too few to say", "not ready", "ready", "slipped"]
_SURE_90 = 1.6449  # half-width of a 90 % interval in standard deviations


@dataclass(frozen=True, slots=True)
class LevelPoint:
    """The level in one flight, as worst deviation over the limit (1 is at the limit), with its 90 % interval."""

    flight_id: str
    day: date
    low: float
    level: float
    high: float
    chance: float


@dataclass(frozen=True, slots=True)
class CriterionProgress:
    """One criterion over the flights."""

    name: str
    limit_text: str
    attempts: tuple[Attempt, ...]
    levels: tuple[LevelPoint, ...]
    chance: float  # that the next attempt is held
    change: tuple[float, float, float]  # of √(worst ÷ limit) over the last flights: low, middle, high (90 %)
    slipped: bool
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Lessons with this task until it is ready: an interval, never one number."""

    low: int
    high: int
    sure: float  # share of the outcomes inside


@dataclass(frozen=True, slots=True)
class TaskProgress:
    kind: str
    title: str
    status: Status
    why: str
    chance: float | None
    weakest: str
    attempts: int
    flights: int
    missed: bool  # not held at least once
    warned: bool  # a margin was thin when it was last flown
    last_flown: date | None
    criteria: tuple[CriterionProgress, ...]
    forecast: Forecast | None
    forecast_why: str
    instructor: Mark | None
    student: Mark | None

    @property
    def chance_said(self) -> float | None:
        """The chance where there are attempts enough to say one."""
        return None if self.status == "too few to say" else self.chance


@dataclass(frozen=True, slots=True)
class NextTask:
    kind: str
    title: str
    why: str


@dataclass(frozen=True, slots=True)
class StudentProgress:
    """The whole picture on a day."""

    standard: str
    today: date
    tasks: tuple[TaskProgress, ...]
    next_three: tuple[NextTask, ...]

    def task(self, kind: str) -> TaskProgress | None:
        return next((t for t in self.tasks if t.kind == kind), None)

    @property
    def nothing_flown(self) -> bool:
        """What to fly next has nothing to go by."""
        return all(t.status == "not flown" for t in self.tasks)


def progress(
    attempts: Sequence[Attempt],
    marks: Mapping[tuple[str, str], Mark],
    wanted: Mapping[str, str],
    *,
    standard: str,
    today: date,
    limits: Thresholds | None = None,
    warned: Mapping[str, tuple[date, str]] | None = None,
) -> StudentProgress:
    """A student's standing in every task.

    Parameters
    ----------
    attempts : every criterion of every episode, in order of time.
    marks : (kind, "instructor" or "student") to the newest mark.
    wanted : kind to title of the tasks the standard has a number for; other kinds flown are added after them.
    warned : kind to the day and words of a thin margin said first when it was last flown: it isn't ready before it is
        flown without, or the instructor marks it 'perform' after that.
    """
    limits = limits or thresholds()
    by_kind: dict[str, list[Attempt]] = {}
    for one in attempts:
        by_kind.setdefault(one.kind, []).append(one)
    titles = dict(wanted) | {k: title_of(k) for k in [*by_kind, *(k for k, _ in marks)] if k not in wanted}
    for k in [k for n, k in enumerate(titles) if titles[k] in list(titles.values())[:n]]:
        titles[k] = f"{titles[k]} ({named_in_a_line(k)})"  # judged by another task's limits, under its name
    tasks = tuple(_task(k, t, by_kind.get(k, []), marks, limits, (warned or {}).get(k)) for k, t in titles.items())
    return StudentProgress(standard, today, tasks, next_three(tasks, wanted, limits, today))


def _task(
    kind: str,
    title: str,
    rows: list[Attempt],
    marks: Mapping[tuple[str, str], Mark],
    limits: Thresholds,
    warned: tuple[date, str] | None,
) -> TaskProgress:
    instructor, student = marks.get((kind, "instructor")), marks.get((kind, "student"))
    if warned is not None and _marked_since(instructor, warned[0]):
        warned = None
    by_name: dict[str, list[Attempt]] = {}
    for one in rows:
        by_name.setdefault(one.criterion, []).append(one)
    fitted = [(name, judged, _fit(judged, limits)) for name, every in by_name.items() if (judged := _judged(every))]
    criteria = tuple(_criterion(name, judged, found, limits) for name, judged, found in fitted)
    flights = len({one.flight_id for one in rows})
    count = len({(one.flight_id, one.position) for one in rows})
    skills = [c for c in criteria if not _is_kept_floor(c)]
    weakest = min(skills or criteria, key=lambda c: c.chance, default=None)
    since = 0
    if instructor is not None and instructor.flown is not None:
        since = len({one.flight_id for one in rows if one.day > instructor.flown})
    status, why = _status(criteria, weakest, count, flights, instructor, since, limits)
    if warned is not None:
        status, why = ("not ready" if status == "ready" else status), f"{warned[0]}: {warned[1]}"
    forecast, forecast_why = None, ""
    if status in {"not ready", "slipped"} and warned is None:
        forecast, forecast_why = _forecast([f for _, _, f in fitted], flights, limits)
    return TaskProgress(
        kind=kind,
        title=title,
        status=status,
        why=why,
        chance=weakest.chance if weakest else None,
        weakest=weakest.name if weakest else "",
        attempts=count,
        flights=flights,
        missed=any(one.verdict == "not held" for one in rows),
        warned=warned is not None,
        last_flown=max((one.day for one in rows), default=None),
        criteria=criteria,
        forecast=forecast,
        forecast_why=forecast_why,
        instructor=instructor,
        student=student,
    )


def _marked_since(mark: Mark | None, day: date) -> bool:
    """The instructor knew of the flight of that day, and says it is flown to the standard without help."""
    return mark is not None and mark.level == "perform" and local_date(mark.utc_s, "UTC") >= day


def _is_kept_floor(c: CriterionProgress) -> bool:
    """A height above ground that was kept each time: it is chosen for the flight, no weak side of the flying."""
    floor = c.limit_text.startswith("at least") and all(one.unit == "ft" for one in c.attempts)
    return floor and all(one.verdict == "held" for one in c.attempts)


def _judged(rows: list[Attempt]) -> list[Attempt]:
    return [one for one in rows if one.verdict != "can't be judged"]


def watched(one: Attempt) -> tuple[float, float]:
    """y of an attempt and how much more than usual it scatters.

    The standard's word goes before the single worst value: a brief excursion that was corrected counts as just inside,
    a limit not held as just outside at least. Where only the verdict is known, a middling value with twice the scatter.
    """
    if one.ratio is None:
        return {"held": 0.75, "briefly out and corrected": 0.95}.get(one.verdict, 1.3), 2.0
    y = math.sqrt(min(one.ratio, 9.0))
    if not one.same_limit:
        return y, 1.0
    return (max(y, 1.05) if one.verdict == "not held" else min(y, 0.95)), 1.0


def _fit(rows: list[Attempt], limits: Thresholds) -> Trend:
    y, spread = np.array([watched(one) for one in rows]).T
    order = {f: i for i, f in enumerate(dict.fromkeys(one.flight_id for one in rows))}
    planes = {p: i for i, p in enumerate(dict.fromkeys(one.airplane_id for one in rows if one.airplane_id))}
    return trend(
        Attempts(
            y,
            spread,
            np.array([order[one.flight_id] for one in rows]),
            np.array([float(one.day.toordinal()) for one in rows]),
            np.array([np.nan if one.wind_mps is None else one.wind_mps for one in rows]),
            np.array([planes.get(one.airplane_id, -1) for one in rows]),
        ),
        limits.change_flights,
    )


def _criterion(name: str, rows: list[Attempt], found: Trend, limits: Thresholds) -> CriterionProgress:
    flights = list(dict.fromkeys((one.flight_id, one.day) for one in rows))[-found.level_mean.size :]
    levels = tuple(
        LevelPoint(
            flight_id,
            day,
            max(0.0, m - _SURE_90 * s) ** 2,
            max(0.0, m) ** 2,
            max(0.0, m + _SURE_90 * s) ** 2,
            chance,
        )
        for (flight_id, day), m, s, chance in zip(
            flights, found.level_mean.tolist(), found.level_sd.tolist(), found.chance.tolist(), strict=True
        )
    )
    slipped = (
        len(flights) >= limits.ready_flights + 1
        and bool(found.chance[: len(flights) - 1].max() >= limits.ready_chance)
        and found.chance_next < limits.slipped_chance
        and found.worse_than_best >= limits.slipped_sure
    )
    notes = []
    if found.wind_effect is not None:
        effect, sd = found.wind_effect
        if abs(effect) > _SURE_90 * sd:
            notes.append(f"{'more' if effect > 0 else 'less'} wind makes it worse; taken into account")
        else:
            notes.append("no effect of the wind to be seen")
    if found.by_airplane:
        notes.append("flown in more than one airplane; taken into account")
    if not all(one.same_limit for one in rows):
        notes.append("earlier flights were graded to another limit; held here against this one")
    half = _SURE_90 * found.change_sd
    change = (found.change_mean - half, found.change_mean, found.change_mean + half)
    return CriterionProgress(
        name, rows[-1].limit_text, tuple(rows), levels, found.chance_next, change, slipped, tuple(notes)
    )


def _status(
    criteria: tuple[CriterionProgress, ...],
    weakest: CriterionProgress | None,
    attempts: int,
    flights: int,
    instructor: Mark | None,
    since: int,
    limits: Thresholds,
) -> tuple[Status, str]:
    """since : flights with the task after the one that was marked."""
    measured, why = _measured_status(criteria, weakest, attempts, flights, limits)
    if instructor is None or instructor.level == "not observed":
        return measured, why
    said = f"marked {instructor.level!r}{f' by {instructor.by}' if instructor.by else ''}"
    said += f" on the flight of {instructor.flown}" if instructor.flown else ""
    said += f", flown {since} time{'s' if since > 1 else ''} since" if since else ""
    if instructor.level == "perform":
        return "ready", said if measured in {"ready", "not flown"} else f"{said}; measured: {measured}, {why}"
    if measured in {"ready", "not flown", "too few to say"}:
        return "not ready", f"{said}; measured: {measured}" + (f", {why}" if why else "")
    return measured, f"{why}; {said}"


def _measured_status(
    criteria: tuple[CriterionProgress, ...],
    weakest: CriterionProgress | None,
    attempts: int,
    flights: int,
    limits: Thresholds,
) -> tuple[Status, str]:
    if attempts == 0:
        return "not flown", ""
    if weakest is None:
        return "too few to say", f"{attempts} flown, none that could be graded"
    held = f"{weakest.name} would be held next time: {weakest.chance:.0%} sure"
    slipped = [c for c in criteria if c.slipped]
    if slipped:
        one = min(slipped, key=lambda c: c.chance)
        best = max(one.levels, key=lambda p: p.chance)
        said = f"{one.name}: the chance to hold it was {best.chance:.0%} on {best.day}, now {one.chance:.0%}"
        return "slipped", said if one is weakest else f"{said}; {weakest.name}: {weakest.chance:.0%}"
    if attempts < limits.ready_attempts or flights < limits.ready_flights:
        return "too few to say", f"{attempts} in {flights} flight{'s' if flights > 1 else ''}; weakest: {weakest.name}"
    if weakest.chance >= limits.ready_chance:
        return "ready", f"weakest: {held}"
    return "not ready", held


def _forecast(trends: list[Trend], flights: int, limits: Thresholds) -> tuple[Forecast | None, str]:
    """An interval of lessons, or why there is none."""
    if flights < limits.forecast_flights:
        return None, f"no forecast: {flights} flights with it are too few"
    draws = flights_to_standard(trends, limits.ready_chance, longest=limits.forecast_longest, draws=400)
    low, high = np.quantile(draws, [limits.forecast_low, limits.forecast_high], method="inverted_cdf")
    if not np.isfinite(high):
        share = float(np.isfinite(draws).mean())
        longest = f"more than {limits.forecast_longest} lessons"
        return None, f"no forecast: as these flights go, {1.0 - share:.0%} that it takes {longest}"
    sure = limits.forecast_high - limits.forecast_low
    return Forecast(max(1, int(low)), max(1, int(high)), sure), ""


def _urgency(
    task: TaskProgress, wanted: Mapping[str, str], limits: Thresholds, today: date
) -> tuple[float, str] | None:
    """How soon it is to be flown (the greater the sooner), and why; None where it may wait."""
    since = (today - task.last_flown).days if task.last_flown else None
    ago = f"last flown {since} days ago" if since else "flown today" if since == 0 else "not flown yet"
    found: tuple[float, str] | None = None
    if task.warned:
        found = 6.0, task.why
    elif task.status == "slipped":
        found = 4.0 + (1.0 - (task.chance or 0.0)), f"slipped: {task.why}"
    elif not is_task(task.kind):
        found = None
    elif task.status == "too few to say" and task.chance is None:
        found = 1.1, f"{task.why}: for the instructor to mark; {ago}"
    elif task.status in {"not ready", "too few to say"}:
        need = 1.0 - (task.chance if task.chance is not None else 0.5)
        wait = min(1.0, (since or 0) / limits.stale_days)
        base = 2.0 if task.missed or task.status == "not ready" else 0.6
        found = base + min(need + 0.5 * wait, 0.99), f"{task.status}: {task.why}; {ago}"
    elif task.status == "ready" and since is not None and since >= limits.stale_days:
        found = 0.5 + 0.5 * min(2.0, since / limits.stale_days - 1.0), f"ready, but {ago}"
    elif task.status == "not flown" and task.kind in wanted:
        found = 1.2, "not flown yet"
    return found


def next_three(
    tasks: tuple[TaskProgress, ...], wanted: Mapping[str, str], limits: Thresholds, today: date
) -> tuple[NextTask, ...]:
    """What was said first when last flown, what slipped, what was not held, furthest from ready first; one that is new.

    Then repeats. Held each time and too few to say is no weakness, however few: it comes after what was never flown.
    """
    scored = [
        (urgency[0], task, urgency[1])
        for task in tasks
        if (urgency := _urgency(task, wanted, limits, today)) is not None
    ]
    scored.sort(key=lambda s: -s[0])
    chosen: list[NextTask] = []
    new = 0
    for _, task, why in scored:
        if task.status == "not flown":
            if new and len(scored) > 3 and any(t.status != "not flown" for _, t, _ in scored[len(chosen) :]):
                continue
            new += 1
        chosen.append(NextTask(task.kind, task.title, why))
        if len(chosen) == 3:
            break
    return tuple(chosen)
