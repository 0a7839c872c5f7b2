"""What airwork can't look at, and says so in every verdict: it is for the people to check."""

from __future__ import annotations

from collections.abc import Iterator

from airwork.lesson.case import Case
from airwork.lesson.verdict import Reason


def not_checked(case: Case) -> Iterator[Reason]:
    """The things no file tells, one line each. A simulator needs none of them."""
    if case.lesson.simulator:
        yield Reason("simulator", "not checked", "simulator: weather, airworthiness and papers of a flight don't count")
        return
    named = case.lesson.airspace or (case.lesson.area.airspace if case.lesson.area else None)
    beyond = " beyond the class given:" if named else ": no class was given;"
    for topic, text in (
        ("notices", "NOTAM and temporary flight restrictions: get them before every flight"),
        ("airworthiness", "airworthiness: inspections, directives, open defects, papers aboard, and the walk-around"),
        ("fitness", "fitness of the pilots: illness, medication, stress, alcohol, fatigue, food"),
        ("passenger briefing", "safety briefing: belts, doors, exits, fire extinguisher, who talks when"),
        ("other airspace", f"airspace{beyond} other classes, restricted areas, frequencies, traffic"),
        ("terrain", "terrain, obstacles and wires: airwork knows only the ground you gave it"),
        ("other weather", "weather that is not in the reports given: radar, satellite, pilot reports, advisories"),
    ):
        yield Reason(topic, "not checked", text)
