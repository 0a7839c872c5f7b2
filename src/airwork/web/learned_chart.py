"""How an airplane became surer flight by flight: the 90 % half-widths of its main answers over the flights learned."""

from __future__ import annotations

from airwork.airplane.performance import Performance
from airwork.airplane.performance.advice import known
from airwork.airplane.performance.knowledge import Knowledge
from airwork.web.charts import Chart

_WORDS = {"rpm": "± RPM (90 %)", "%": "± percent of power (90 %)"}


def surer(model: Performance, kept: Knowledge) -> list[Chart]:
    """A chart for the setting of level flight and one for the climb; none before the first flight that was kept so."""
    steps = [event.after for event in kept.history if event.after]
    if not steps:
        return []
    start = {k.answer: k.handbook_90 for k in known(model)}
    unit = "rpm" if model.fixed is not None else "%"
    found = [
        ("surer", "Surer flight by flight", _WORDS[unit], unit),
        ("surer_climb", "Full-throttle climb, surer flight by flight", "± ft/min (90 %)", "fpm"),
    ]
    first = min(len(steps) - 1, 1)  # what nobody flew is ten times as unsure: beside it no flight shows what it brought
    x = [float(i) for i in range(first, len(steps) + 1)]
    charts = []
    for key, title, y_name, wanted in found:
        names = [name for name, of, _, _ in steps[-1] if of == wanted]
        curves: list[tuple[str, list[float | None]]] = []
        for name in names:
            widths = [next((half for n, _, _, half in step if n == name), None) for step in steps]
            curves.append((name, [round(start[name], 1) if name in start else None, *widths][first:]))
        if curves:
            before = max((start[name] for name in names if name in start), default=0.0)
            note = f"before the first flight: up to {before:,.0f}" if first else "0: before the first flight"
            charts.append(Chart(key, title, "flights learned, one after another", y_name, x, curves, note))
    return charts
