"""What `airwork brief` costs: the whole process against a bare `import numpy, scipy`, and the path search alone.

Aim: brief with its card within a second on a quiet machine, the path search under 1 s. Every case is run once in each
round beside the bare import, and its ratio taken to that one, so that a busy moment hits both alike; printed are
medians and quartiles, of the time on the clock and of the processor's time (user + system, all threads). Bytecode is
compiled first, as an installed package has it.

Run: python bench/brief_speed.py [runs]
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LOAD = "from airwork.airplane import *; load_airplane(find_airplane_file('larkmoor_155'))"
HELP = "import sys; sys.argv[1:] = ['--help']; from airwork.cli import command; command()"  # as the script does
BASE = "import numpy, scipy"
CASES: dict[str, list[str]] = {
    BASE: ["-c", "import numpy, scipy"],
    "bare interpreter": ["-c", "pass"],
    "help": ["-c", HELP],
    "load the airplane": ["-c", LOAD],
    "numbers": ["-m", "airwork", "numbers", "larkmoor_155"],
    "brief, no card": ["-m", "airwork", "brief", "demo", "--no-card"],
    "brief with its card": ["-m", "airwork", "brief", "demo", "--card", "{folder}/card.pdf"],
}


def _run_s(case: str, folder: str) -> tuple[float, float]:
    """(on the clock, of the processor) [s]"""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"PYTHONPYCACHEPREFIX": f"{folder}/bytecode"}
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, *(a.format(folder=folder) for a in CASES[case])],
        check=True, stdout=subprocess.DEVNULL, env=environment,
    )  # fmt: skip
    clock, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def processes(runs: int) -> None:
    """Medians of whole processes, and of their ratios to the bare import beside them."""
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in CASES}
    with tempfile.TemporaryDirectory() as folder:
        for name in CASES:
            _run_s(name, folder)
        for _ in range(runs):
            for name in CASES:
                taken[name].append(_run_s(name, folder))
    print(
        f"{runs} rounds, Python {sys.version.split()[0]}, load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors"
    )
    print(f"{'':<24}{'clock':>9}  ratio (quartiles)     {'processor':>9}  ratio (quartiles)")
    for name, seconds in taken.items():
        out = f"{name:<24}"
        for kind in (0, 1):
            ratios = [own[kind] / base[kind] for own, base in zip(seconds, taken[BASE], strict=True)]
            low, middle, high = statistics.quantiles(ratios, n=4)
            median = statistics.median(own[kind] for own in seconds)
            out += f"{1e3 * median:6.0f} ms  {middle:5.2f} ({low:.2f} to {high:.2f})   "
        print(out.rstrip())


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
    from airwork.lesson.runway_plan import choose_runway
    from airwork.standards import load_standard

    lesson = load_lesson(Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml")
    airplane = load_airplane(lesson.airplane_path)
    day = make_day(lesson, lesson.start_utc_s + 7200.0)
    flight = plan_flight(
        lesson, airplane, performance(airplane), load_standard("private"), day, choose_runway(lesson, day)[0]
    )
    assert flight.area is not None
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
