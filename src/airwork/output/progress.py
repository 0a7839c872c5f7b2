"""The picture of a student's progress on one page: a small plot for each task flown, and what to fly next.

Nothing is told by colour alone: held, briefly out and not held have their own marks, each status is written out, the
limit is a dashed line with its name.
"""

from __future__ import annotations

import io
import math
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from airwork.logbook.attempts import Attempt
from airwork.logbook.progress import CriterionProgress, StudentProgress, TaskProgress

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, SOFT, FAINT, BAND, LINE = "#1c2430", "#5a6675", "#c9d0d8", "#cfe0ee", "#1f5f93"
MARKS = {
    "held": {"marker": "o", "facecolors": LINE, "edgecolors": LINE, "s": 16},
    "briefly out and corrected": {"marker": "o", "facecolors": "white", "edgecolors": LINE, "s": 20},
    "not held": {"marker": "x", "color": INK, "s": 22},
}
TOP = 2.0  # of √(worst ÷ limit): four limits; what is worse is drawn at the edge
MOST = 15  # small plots on a page
_EXPLAINED = (
    "Plotted is the weakest criterion: worst deviation of each attempt against its limit; thin lines are the others. "
    "The percentage is the chance that the next attempt is held, airwork's estimate from what was recorded. "
    "The instructor's mark and judgment decide."
)


def progress_picture(found: StudentProgress, name: str, kind: str = "png") -> bytes:
    """The page as PNG, PDF or SVG bytes."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context({"text.parse_math": False}):  # a $ in a name is a $
        figure = Figure(figsize=(8.27, 11.69), dpi=130, facecolor="white")
        FigureCanvasAgg(figure)
        return _drawn(figure, found, name, kind)


def _drawn(figure: Figure, found: StudentProgress, name: str, kind: str) -> bytes:
    flown = [t for t in found.tasks if t.criteria]
    flown.sort(key=lambda t: (_ORDER[t.status], t.chance if t.chance is not None else 1.0))
    shown, rest = flown[:MOST], flown[MOST:]
    top = _head(figure, found, name)
    _grid(figure, shown, top)
    _foot(figure, found, rest)
    out = io.BytesIO()
    about: dict[str, Any] = {"png": {"Software": None}, "pdf": {"CreationDate": None}, "svg": {"Date": None}}[kind]
    figure.savefig(out, format=kind, metadata=about)
    return out.getvalue()


_ORDER = {"slipped": 0, "not ready": 1, "too few to say": 2, "ready": 3, "not flown": 4}


def _head(figure: Figure, found: StudentProgress, name: str) -> float:
    """Name, date, what to fly next; returns where the plots may begin."""
    figure.text(0.07, 0.965, name, fontsize=17, weight="bold", color=INK, va="top")
    figure.text(0.93, 0.962, f"{found.standard}\n{found.today}", fontsize=8.5, color=SOFT, va="top", ha="right")
    y = 0.932
    figure.text(0.07, y, "Fly next", fontsize=9.5, weight="bold", color=INK, va="top")
    y -= 0.017
    for n, task in enumerate(found.next_three, 1):
        lines = textwrap.wrap(f"{n}  {task.title}: {task.why}", 125)[:2]
        for k, line in enumerate(lines):
            figure.text(0.07 + (0.014 if k else 0.0), y, line, fontsize=8, color=INK, va="top")
            y -= 0.0135
    if not found.next_three:
        figure.text(0.07, y, "nothing stands out", fontsize=8, color=SOFT, va="top")
        y -= 0.0135
    _legend(figure, y - 0.008)
    return y - 0.024


def _legend(figure: Figure, y: float) -> None:
    """What the marks mean, drawn once."""
    axes = figure.add_axes((0.07, y - 0.006, 0.86, 0.014))
    axes.set(xlim=(0, 100), ylim=(0, 1))
    axes.axis("off")
    at = 0.8
    for verdict, style in MARKS.items():
        axes.scatter([at], [0.5], clip_on=False, linewidths=1.2, **style)  # type: ignore[arg-type]
        axes.text(at + 1.2, 0.45, verdict, fontsize=7, color=SOFT, va="center")
        at += 3.5 + 1.05 * len(verdict)
    axes.plot([at, at + 3], [0.5, 0.5], color=LINE, linewidth=1.6)
    axes.fill_between([at, at + 3], 0.1, 0.9, color=BAND, linewidth=0)
    axes.text(at + 3.8, 0.45, "level, 90 % sure to lie in the band", fontsize=7, color=SOFT, va="center")
    axes.plot([at + 36, at + 39], [0.5, 0.5], color=INK, linewidth=0.9, linestyle=(0, (4, 2)))
    axes.text(at + 39.8, 0.45, "limit", fontsize=7, color=SOFT, va="center")


def _grid(figure: Figure, tasks: list[TaskProgress], top: float) -> None:
    columns = 2 if len(tasks) <= 8 else 3
    rows = max(1, math.ceil(len(tasks) / columns))
    bottom, left, right = 0.085, 0.07, 0.93
    height = min(0.215, (top - bottom) / rows)
    width = (right - left) / columns
    title, dates = 0.05, 0.03  # above and below a plot
    for n, task in enumerate(tasks):
        row, column = divmod(n, columns)
        x, y = left + column * width, top - (row + 1) * height
        axes = figure.add_axes((x + 0.028, y + dates, width - 0.05, height - title - dates))
        _plot(axes, task, 70 if columns == 2 else 44)


def _plot(axes: Axes, task: TaskProgress, letters: int) -> None:
    """One task: its weakest criterion with band and attempts, the others as thin lines."""
    weakest = next(c for c in task.criteria if c.name == task.weakest)
    flights = {p.flight_id: i for i, p in enumerate(weakest.levels)}
    under = textwrap.wrap(_under(task), letters)[:2]
    title = textwrap.shorten(task.title, round(0.75 * letters), placeholder=" …")
    axes.set_title(title, fontsize=8.5, weight="bold", color=INK, loc="left", pad=5 + 9 * len(under))
    axes.text(0, 1.04, "\n".join(under), fontsize=6.8, color=SOFT, transform=axes.transAxes, va="bottom")
    for other in task.criteria:
        if other is not weakest:
            own = [(flights[p.flight_id], _scale(p.level)) for p in other.levels if p.flight_id in flights]
            if own:
                axes.plot(*zip(*own, strict=True), color=FAINT, linewidth=0.9, zorder=1)
    _level(axes, weakest)
    for verdict, style in MARKS.items():
        points = [
            (flights[a.flight_id], _scale(a.ratio))
            for a in weakest.attempts
            if a.ratio is not None and a.flight_id in flights and _verdict(a) == verdict
        ]
        if points:
            x, y = np.array(points).T
            axes.scatter(x, y, zorder=4, linewidths=1.1, clip_on=False, **style)  # type: ignore[arg-type]
    axes.axhline(1.0, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
    last = len(weakest.levels) - 1
    axes.set(xlim=(-0.4, max(last, 1) + 0.4), ylim=(0.0, TOP))
    axes.set_yticks([0.0, math.sqrt(0.5), 1.0, math.sqrt(2.0), TOP], ["0", "½", "limit", "2×", "4×"])
    ticks = sorted({0, last // 2, last}) if last > 3 else sorted({0, last})
    axes.set_xticks(ticks, [f"{weakest.levels[i].day.day} {weakest.levels[i].day:%b}" for i in ticks])
    axes.tick_params(labelsize=6.3, colors=SOFT, length=2, width=0.6)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(FAINT)


def _level(axes: Axes, weakest: CriterionProgress) -> None:
    x = np.arange(len(weakest.levels))
    low, level, high = (np.array([_scale(getattr(p, n)) for p in weakest.levels]) for n in ("low", "level", "high"))
    if x.size == 1:  # one flight: a bar instead of a line
        axes.plot([0, 0], [low[0], high[0]], color=BAND, linewidth=7, solid_capstyle="butt", zorder=0)
    axes.fill_between(x, low, high, color=BAND, linewidth=0, zorder=0)
    axes.plot(x, level, color=LINE, linewidth=1.6, zorder=3)


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


def _foot(figure: Figure, found: StudentProgress, rest: list[TaskProgress]) -> None:
    new = list(dict.fromkeys(t.title for t in found.tasks if t.status == "not flown"))
    lines = []
    if new:
        more = f" and {len(new) - 8} more" if len(new) > 8 else ""
        lines += textwrap.wrap(f"Not flown yet: {', '.join(new[:8])}{more}.", 150)
    if rest:
        lines += textwrap.wrap("Also: " + "; ".join(f"{t.title} {_standing(t)}" for t in rest) + ".", 150)[:2]
    lines += textwrap.wrap(_EXPLAINED, 150)
    for n, line in enumerate(reversed(lines)):
        figure.text(0.07, 0.022 + 0.0125 * n, line, fontsize=6.8, color=SOFT, va="bottom")
