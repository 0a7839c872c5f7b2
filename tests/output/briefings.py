"""Briefings for the drawing tests: the demo lesson with plain stand-in rooms, made once."""

from __future__ import annotations

from functools import lru_cache
from types import SimpleNamespace

from airwork.airplane import load_airplane
from airwork.lesson import exercises
from airwork.lesson.briefing import Briefing
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.maneuvers.setup import Number, Tolerance
from airwork.units import FT_M
from airwork.values import Value
from lesson.lessons import DEMO, changed
from lesson.runs import a_set_up, a_trace


@lru_cache(maxsize=8)
def demo_briefing(changes: tuple[tuple[str, str], ...] = (), more_exercises: int = 0) -> Briefing:
    """The demo's briefing; pieces of its text replaced, more exercises put at the end."""
    text = changed(DEMO.read_text(), dict(changes))
    extra = "".join(f'[[exercises]]\nkind = "{k}"\n' for k in ["level_turn", "chandelle"] * more_exercises)
    head, signals = text.split("[signals]")
    real = exercises.find_room
    exercises.find_room = _stand_in(real)  # type: ignore[assignment]
    try:
        lesson = parse_lesson(f"{head}{extra}[signals]{signals}", where="demo")
        return build_briefing(lesson, load_airplane(lesson.airplane_path))
    finally:
        exercises.find_room = real


def _stand_in(real):  # type: ignore[no-untyped-def]
    from dataclasses import replace

    def find(kind, *, where):  # type: ignore[no-untyped-def]
        room = real(kind, where=where)

        def brief(order):  # type: ignore[no-untyped-def]
            made = a_set_up(room.kind, order.conditions.altitude_m or 6500 * FT_M, 150.0)
            value = Value(1950, "rpm", "fitted model", "fitted to the handbook", 60.0)
            return replace(
                made, title=room.title, card_line="66 mph · 1,950 ± 60 rpm · flaps 3",
                numbers=(Number("power", value),), steps=("clear the area", "slow down"),
                tolerances=(Tolerance("altitude", "±100 ft", "PA.VII.A"),), usual_errors=("chasing the needle",),
                cautions=("carburetor heat first",),
                tables={"bank by quarter": (("quarter", "bank"), ("downwind", "28°"))},
            )  # fmt: skip

        def ideal(_set_up, order):  # type: ignore[no-untyped-def]
            return a_trace(150.0, order.conditions.altitude_m or 6500 * FT_M)

        return SimpleNamespace(kind=room.kind, title=room.title, at_field=room.at_field, brief=brief, ideal=ideal)

    return find
