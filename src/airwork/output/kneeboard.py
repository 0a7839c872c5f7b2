"""The kneeboard pages: one exercise a page, for a student, as plain data and as a PDF set by typst."""

from __future__ import annotations

from typing import Any

from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.maneuvers import room
from airwork.output.briefing_doc import value_text
from airwork.output.card import CAUTION, WORDS, grouped
from airwork.output.card_area import magnetic
from airwork.output.dial import on_dial
from airwork.output.typeset import Paper, typeset


def kneeboard_pages(briefing: Briefing) -> list[dict[str, Any]]:
    """The pages of a briefing, in flying order; an exercise flown again has one page.

    One exercise each: what it is flown by, its steps, what it is held to, what usually goes wrong, the way out.
    """
    return [_page(briefing, group) for group in grouped(briefing.exercises)]


def _page(b: Briefing, group: list[PlannedExercise]) -> dict[str, Any]:
    e, style, facts = group[0], b.style, room(group[0].kind).facts
    page: dict[str, Any] = {
        "title": e.title, "times": f"×{len(group)}" if len(group) > 1 else "", "altitude": "", "floor": "",
        "heading": "" if e.path is None else magnetic(b, e.path.heading_rad, 10), "line": e.problem, "numbers": (),
        "steps": (), "limits": (), "errors": (), "cautions": (), "aloud": facts.aloud, "recovery": "", "note": e.note,
    }  # fmt: skip
    if e.set_up is None:
        return page
    s = e.set_up
    return page | {
        "altitude": style.altitude(s.entry_altitude_m), "floor": style.altitude(s.floor_m), "line": s.card_line,
        "numbers": [(n.name, value_text(n.value), n.also) for n in s.numbers], "steps": s.steps,
        "limits": [(t.name, on_dial(t.text, b.dial_unit)) for t in s.tolerances], "errors": s.usual_errors,
        "cautions": s.cautions, "recovery": facts.recovery,
    }  # fmt: skip


def kneeboard_pdf(briefing: Briefing, paper: Paper = "a5") -> bytes:
    """One page for each exercise; steps and limits never under 9 pt, a long exercise runs on to a second page."""
    pages = {
        "title": briefing.title,
        "verdict": WORDS[briefing.verdict.level],
        "head": f"{briefing.student} · {briefing.airplane_name} · {briefing.style.day(briefing.start_utc_s)}",
        "directions": "headings magnetic" if briefing.weather.variation_rad is not None else "headings TRUE",
        "footer": f"{briefing.program} · {briefing.standard} · {CAUTION}",
        "pages": kneeboard_pages(briefing),
    }
    return typeset("kneeboard.typ", pages, paper)
