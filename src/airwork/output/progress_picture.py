"""The picture of a student's progress on one page: a small plot for each task flown, and what to fly next.

Nothing is told by color alone: held, briefly out and not held have their own signs, each status is written out, the
limit is named on the scale.
"""

from __future__ import annotations

import math
from typing import Any

from airwork.logbook.attempts import Attempt
from airwork.logbook.progress import StudentProgress, TaskProgress
from airwork.output.drawing import Axis, Line, Mark, on_paper, xy_svg
from airwork.output.typeset import typeset

SIGNS = {"held": "●", "briefly out and corrected": "○", "not held": "✕"}
TOP = 2.0  # of √(worst ÷ limit): four limits; what is worse is drawn at the edge
SCALE = ((0.0, "0"), (math.sqrt(0.5), "½"), (1.0, "limit"), (math.sqrt(2.0), "2×"), (TOP, "4×"))
MOST = 15  # small plots on a page
ROOM_MM, WORDS_MM, PX_PER_MM = 220.0, 14.0, 4.75  # for all rows of plots; over each of them
_SIGNS = ", ".join(f"{sign} {verdict}" for verdict, sign in SIGNS.items()) + (
    "; thick line: level, 90 % sure to lie in the band; dashed: limit"
)
_EXPLAINED = (
    "Plotted is the weakest criterion: worst deviation of each attempt against its limit; thin lines are the others. "
    "The percentage is the chance that the next attempt is held, airwork's estimate from what was recorded. "
    "The instructor's mark and judgment decide."
)
_ORDER = {"slipped": 0, "not ready": 1, "too few to say": 2, "ready": 3, "not flown": 4}


def progress_picture(found: StudentProgress, name: str, kind: Any = "png") -> bytes:
    """The page as PNG, PDF or SVG bytes."""
    flown = [t for t in found.tasks if t.criteria]
    flown.sort(key=lambda t: (_ORDER[t.status], t.chance if t.chance is not None else 1.0))
    shown, rest = flown[:MOST], flown[MOST:]
    columns = 2 if len(shown) <= 8 else 3
    rows = max(math.ceil(len(shown) / columns), 1)
    size = {2: 420, 3: 275}[columns], min(round((ROOM_MM / rows - WORDS_MM) * PX_PER_MM), 220)
    page = {
        "name": name, "standard": found.standard, "today": str(found.today), "columns": columns, "signs": _SIGNS,
        "next": [f"{task.title}: {task.why}" for task in found.next_three],
        "tasks": [{"title": t.title, "under": _under(t), "svg": on_paper(_plot(t, size))} for t in shown],
        "foot": _foot(found, rest),
    }  # fmt: skip
    return typeset("progress.typ", page, format=kind)


def _plot(task: TaskProgress, size: tuple[int, int]) -> str:
    """One task: its weakest criterion with band and attempts, the others as thin lines."""
    weakest = next(c for c in task.criteria if c.name == task.weakest)
    flights = {p.flight_id: float(i) for i, p in enumerate(weakest.levels)}
    last = len(flights) - 1
    at = [i + x for i in range(last + 1) for x in ((0.0,) if last else (-0.05, 0.05))]  # one flight: a bar
    levels = [p for p in weakest.levels for _ in ((0,) if last else (0, 1))]
    low, level, high = ([_scale(getattr(p, n)) for p in levels] for n in ("low", "level", "high"))
    lines = [Line("", [*zip(at, low, strict=True), *reversed([*zip(at, high, strict=True)])], "band")]
    for other in task.criteria:
        own = [(flights[p.flight_id], _scale(p.level)) for p in other.levels if p.flight_id in flights]
        if other is not weakest and own:
            lines.append(Line("", own, "thin"))
    edges = (-0.4, 0.0), (max(last, 1) + 0.4, TOP)
    lines += [Line("", [(edges[0][0], 1.0), (edges[1][0], 1.0)], "limit")]
    lines += [Line("", list(zip(at, level, strict=True)), "all")]
    marks = [
        Mark("", flights[a.flight_id], _scale(a.ratio), SIGNS[_verdict(a)])
        for a in weakest.attempts if a.ratio is not None and a.flight_id in flights and _verdict(a) in SIGNS
    ]  # fmt: skip
    named = sorted({0, last // 2, last} if last > 3 else {0, last})
    days = [(float(i), f"{weakest.levels[i].day.day} {weakest.levels[i].day:%b}") for i in named]
    return xy_svg(lines, marks, Axis(ticks=days), Axis(ticks=SCALE), label=task.title, size=size, within=edges)


def _verdict(a: Attempt) -> str:
    """As graded; an attempt graded to another limit is held against this one by its worst value alone."""
    if a.same_limit:
        return a.verdict
    return "held" if a.ratio is not None and a.ratio <= 1.0 else "not held"


def _scale(ratio: float) -> float:
    return min(math.sqrt(max(ratio, 0.0)), TOP)


def _standing(task: TaskProgress) -> str:
    return task.status + ("" if task.chance_said is None else f" {task.chance_said:.0%}")


def _under(task: TaskProgress) -> str:
    parts = [_standing(task), task.weakest]
    if task.instructor is not None:
        parts.append(f"instructor: {task.instructor.level}")
    if task.student is not None:
        parts.append(f"student: {task.student.level}")
    if task.forecast is not None:
        parts.append(f"ready in {task.forecast.low}–{task.forecast.high} lessons")
    return " · ".join(parts)


def _foot(found: StudentProgress, rest: list[TaskProgress]) -> list[str]:
    new = list(dict.fromkeys(t.title for t in found.tasks if t.status == "not flown"))
    more = f" and {len(new) - 8} more" if len(new) > 8 else ""
    return [
        *([f"Not flown yet: {', '.join(new[:8])}{more}."] if new else []),
        *(["Also: " + "; ".join(f"{t.title} {_standing(t)}" for t in rest) + "."] if rest else []),
        _EXPLAINED,
    ]
