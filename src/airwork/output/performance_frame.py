"""What pictures share: manner of drawing, kind of file; of performance ones the names of flap settings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from airwork.airplane.performance import Condition, Performance
from airwork.errors import AirworkError, InputError

PLAIN: dict[str, Any] = {
    "text.parse_math": False,  # a $ in a name is a $
    "font.family": "DejaVu Sans", "font.size": 8.5, "svg.fonttype": "none", "svg.hashsalt": "airwork",
    "axes.spines.top": False, "axes.spines.right": False, "axes.linewidth": 0.8,
}  # fmt: skip
STYLE: Any = {
    **PLAIN, "font.size": 9.0, "lines.linewidth": 1.4, "axes.grid": True, "grid.color": "0.92", "grid.linewidth": 0.6,
    "axes.axisbelow": True, "axes.titlesize": 10.0, "axes.titleweight": "bold", "axes.titlelocation": "left",
}  # fmt: skip
DASHES: Any = ("-", (0, (6, 2)), (0, (6, 2, 1.5, 2)), (0, (1.5, 1.5)), (0, (8, 2, 1.5, 2, 1.5, 2)))
MARKS = "osD^v"
INK, BAND, QUIET = "#1c2733", "0.86", "0.45"
SLOW_FLIGHT, CRUISE_POWER = 1.2, 0.65  # slow flight: times the stall speed; cruise: share of rated power


def kind_of(path: Path) -> str:
    """What a picture is written as, by its file's ending.

    Raises
    ------
    InputError : the ending is neither .png nor .svg, or its folder is missing.
    """
    kind = path.suffix.lower().lstrip(".")
    if kind not in {"png", "svg"}:
        raise InputError("a plot is written as .png or .svg.", where=str(path))
    if not path.parent.is_dir():
        raise InputError("its folder does not exist.", where=str(path))
    return kind


def notches_with_stall(p: Performance, today: Condition) -> list[int]:
    """Flap notches with a stall speed."""
    out = []
    for notch in range(p.airplane.flaps_full + 1):
        try:
            p.airplane.stall_cas_mps(today.mass_kg, notch)
        except AirworkError:
            continue
        out.append(notch)
    return out


def flaps_word(notch: int, full: int) -> str:
    return "flaps up" if notch == 0 else ("full flaps" if notch == full else f"notch {notch}")


def roomy(ax: Any) -> None:
    """Room at the right for the curves' names."""
    low, high = ax.get_xlim()
    ax.set_xlim(low, high + 0.10 * (high - low))
