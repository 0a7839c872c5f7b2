"""The full briefing as a PDF, letter or A4, set by typst, with the plots."""

from __future__ import annotations

import json
from dataclasses import asdict

from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import make_doc
from airwork.output.briefing_plots import briefing_plots
from airwork.output.card_pdf import typeset


def briefing_pdf(briefing: Briefing) -> bytes:
    """The briefing on letter paper, or A4 for a lesson in metric units."""
    inputs = {
        "doc": json.dumps(asdict(make_doc(briefing))),
        "plots": json.dumps(briefing_plots(briefing)),
        "paper": "a4" if briefing.style.metric else "us-letter",
    }
    return typeset("briefing.typ", inputs)
