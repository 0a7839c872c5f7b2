"""airwork: the flight instructor's job with real computation: prepare, brief, fly, debrief, record.

    import airwork

    briefing = airwork.brief_lesson("lesson.toml")
    found = airwork.debrief_flight("flight.csv", lesson="lesson.toml")

What this module exports are the jobs (`airwork.jobs`), each loaded when it is first asked for. Floors, ground first:
`units`, `airdata`, `airplane`, `standards`, `recording`, `maneuvers`, `lesson`, `debrief`, `logbook`, `jobs`; the faces
`output`, `web` and `cli` on top. Imports only go down (checked by the import contract in `pyproject.toml`). Not for
navigation; the airplane's handbook and the instructor decide.
"""

from __future__ import annotations

from airwork.version import VERSION as __version__

TYPE_CHECKING = False  # typing takes longer to load than `airwork --help` may; checkers know the name
if TYPE_CHECKING:
    from typing import Any

    from airwork.jobs.briefing import ask_logbook, brief_lesson
    from airwork.jobs.debriefing import debrief_flight, read_flight
    from airwork.jobs.entering import enter_flight
    from airwork.jobs.files import demo_folder, load_airplane, load_lesson, load_standard
    from airwork.jobs.learning import learn_airplane

_JOBS = {  # name -> module; loaded late, so that `airwork --help` needs none of them
    "demo_folder": "files",
    "load_airplane": "files",
    "load_lesson": "files",
    "load_standard": "files",
    "ask_logbook": "briefing",
    "brief_lesson": "briefing",
    "read_flight": "debriefing",
    "debrief_flight": "debriefing",
    "enter_flight": "entering",
    "learn_airplane": "learning",
}

__all__ = [
    "__version__",
    "ask_logbook",
    "brief_lesson",
    "debrief_flight",
    "demo_folder",
    "enter_flight",
    "learn_airplane",
    "load_airplane",
    "load_lesson",
    "load_standard",
    "read_flight",
]


def __getattr__(name: str) -> Any:
    if name not in _JOBS:
        raise AttributeError(f"module 'airwork' has no {name!r}; it has {', '.join(sorted(_JOBS))}")
    from importlib import import_module

    found = getattr(import_module(f"airwork.jobs.{_JOBS[name]}"), name)
    globals()[name] = found  # the next time it is simply there
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *_JOBS})
