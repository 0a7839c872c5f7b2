"""The full briefing as one page of HTML: everything inside, works offline, prints tidily."""

from __future__ import annotations

from importlib.resources import files

from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import make_doc
from airwork.output.briefing_plots import briefing_plots


def briefing_html(briefing: Briefing) -> str:
    """The page."""
    import jinja2
    from markupsafe import Markup

    text = (files("airwork.output") / "briefing.html").read_text(encoding="utf-8")
    page = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    plots = {
        name: Markup(svg) for name, svg in briefing_plots(briefing).items()
    }  # our own drawing: its text is escaped
    return page.from_string(text).render(doc=make_doc(briefing), plots=plots)
