"""The kneeboard pages: one exercise a page, for a student, as plain data and as a PDF set by typst."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.maneuvers import room
from airwork.output.briefing_doc import value_text
from airwork.output.card import CAUTION, WORDS, grouped
from airwork.output.card_area import magnetic
from airwork.output.card_pdf import PAPERS, Paper, typeset
from airwork.output.dial import on_dial


@dataclass(frozen=True, slots=True)
class KneeboardPage:
    """One exercise: what it is flown by, its steps, what it is held to, what usually goes wrong, the way out."""

    title: str
    times: str
    altitude: str
    floor: str
    heading: str
    line: str
    numbers: tuple[tuple[str, str, str], ...]
    steps: tuple[str, ...]
    limits: tuple[tuple[str, str], ...]
    errors: tuple[str, ...]
    cautions: tuple[str, ...]
    aloud: tuple[str, ...]
    recovery: str
    note: str


def kneeboard_pages(briefing: Briefing) -> tuple[KneeboardPage, ...]:
    """The pages of a briefing, in flying order; an exercise flown again has one page."""
    return tuple(_page(briefing, group) for group in grouped(briefing.exercises))


def _page(b: Briefing, group: list[PlannedExercise]) -> KneeboardPage:
    e, style, facts = group[0], b.style, room(group[0].kind).facts
    times = f"×{len(group)}" if len(group) > 1 else ""
    heading = "" if e.path is None else magnetic(b, e.path.heading_rad, 10)
    if e.set_up is None:
        return KneeboardPage(e.title, times, "", "", heading, e.problem, (), (), (), (), (), facts.aloud, "", e.note)
    s = e.set_up
    return KneeboardPage(
        title=e.title,
        times=times,
        altitude=style.altitude(s.entry_altitude_m),
        floor=style.altitude(s.floor_m),
        heading=heading,
        line=s.card_line,
        numbers=tuple((n.name, value_text(n.value), n.also) for n in s.numbers),
        steps=s.steps,
        limits=tuple((t.name, on_dial(t.text, b.dial_unit)) for t in s.tolerances),
        errors=s.usual_errors,
        cautions=s.cautions,
        aloud=facts.aloud,
        recovery=facts.recovery,
        note=e.note,
    )


def kneeboard_pdf(briefing: Briefing, paper: Paper = "a5") -> bytes:
    """One page for each exercise; steps and limits never under 9 pt, a long exercise runs on to a second page."""
    width, height = PAPERS[paper]
    pages = {
        "title": briefing.title,
        "verdict": WORDS[briefing.verdict.level],
        "head": f"{briefing.student} · {briefing.airplane_name} · {briefing.style.day(briefing.start_utc_s)}",
        "directions": "headings magnetic" if briefing.weather.variation_rad is not None else "headings TRUE",
        "footer": f"{briefing.program} · {briefing.standard} · {CAUTION}",
        "pages": [asdict(p) for p in kneeboard_pages(briefing)],
    }
    return typeset("kneeboard.typ", {"data": json.dumps(pages), "width": width, "height": height})
