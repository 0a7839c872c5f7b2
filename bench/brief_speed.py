"""What `airwork brief` costs: the whole process against a bare `import numpy, scipy`, and the path search alone.

Aim: the process under 3 × the import, the path search under 1 s. Runs alternate, so that a busy moment hits all alike;
bytecode is compiled first, as an installed package has it.

Run: python bench/brief_speed.py [runs]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

CASES = {
    "bare interpreter": ["-c", "pass"],
    "import numpy, scipy": ["-c", "import numpy, scipy"],
    "import pydantic": ["-c", "import pydantic.main, pydantic.fields"],
    "load the airplane": [
        "-c",
        "from airwork.airplane import *; load_airplane(find_airplane_file('larkmoor_155'))",
    ],
    "brief, no card": ["-m", "airwork", "brief", "demo", "--no-card"],
    "brief with its card": ["-m", "airwork", "brief", "demo", "--card", "{folder}/card.pdf"],
}
BASE = "import numpy, scipy"


def _run_s(arguments: list[str], folder: str) -> float:
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = f"{folder}/bytecode"
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, *(a.format(folder=folder) for a in arguments)],
        check=True, stdout=subprocess.DEVNULL, env=environment,
    )  # fmt: skip
    return time.perf_counter() - start


def processes(runs: int) -> None:
    """Medians and quartiles of whole processes."""
    with tempfile.TemporaryDirectory() as folder:
        for arguments in CASES.values():
            _run_s(arguments, folder)
        taken: dict[str, list[float]] = {name: [] for name in CASES}
        for _ in range(runs):
            for name, arguments in CASES.items():
                taken[name].append(_run_s(arguments, folder))
    base = statistics.median(taken[BASE])
    print(f"median of {runs} runs, Python {sys.version.split()[0]}")
    for name, seconds in taken.items():
        median = statistics.median(seconds)
        low, _, high = statistics.quantiles(seconds, n=4)
        print(
            f"{name:<22}{1e3 * median:7.0f} ms  (quartiles {1e3 * low:.0f} to {1e3 * high:.0f})  {median / base:5.2f} ×"
        )


def path_search(runs: int) -> None:
    """The search alone, for the demo's exercises and for three times as many."""
    import airwork
    from airwork.airplane import load_airplane
    from airwork.airplane.performance import performance
    from airwork.lesson.day import make_day
    from airwork.lesson.exercises import shape_of
    from airwork.lesson.file import load_lesson
    from airwork.lesson.flight_plan import plan_flight
    from airwork.lesson.path import lay_path
    from airwork.standards import load_standard

    lesson = load_lesson(Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml")
    airplane = load_airplane(lesson.airplane_path)
    day = make_day(lesson, lesson.start_utc_s + 7200.0)
    flight = plan_flight(lesson, airplane, performance(airplane), load_standard("private"), day)
    shapes = tuple(s for r in flight.runs if not r.at_field and (s := shape_of(r, day.air)) is not None)
    for times in (1, 3):
        taken = []
        for _ in range(runs):
            start = time.perf_counter()
            field = flight.planner.field_m
            lay_path(shapes * times, flight.area, day.air, enter_m=field, leave_m=field)
            taken.append(time.perf_counter() - start)
        print(f"path search, {len(shapes) * times:2d} exercises {1e3 * statistics.median(taken):6.0f} ms")


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    processes(count)
    path_search(min(count, 10))
