"""The full briefing as one page of HTML: everything inside, works offline, prints tidily."""

from __future__ import annotations

from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import make_doc
from airwork.output.briefing_plots import briefing_plots
from airwork.output.html_template import render


def briefing_html(briefing: Briefing) -> str:
    return render("briefing.html", doc=make_doc(briefing), plots=briefing_plots(briefing))
