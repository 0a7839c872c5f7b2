"""The full briefing as a PDF, letter or A4, set by typst, with the plots."""

from __future__ import annotations

from dataclasses import asdict

from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import make_doc
from airwork.output.briefing_plots import briefing_plots
from airwork.output.typeset import typeset


def briefing_pdf(briefing: Briefing) -> bytes:
    """The briefing on letter paper, or A4 for a lesson in metric units."""
    data = {"doc": asdict(make_doc(briefing)), "plots": briefing_plots(briefing)}
    return typeset("briefing.typ", data, "a4" if briefing.style.metric else "letter")
