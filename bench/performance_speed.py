"""How fast the performance model is.

    python bench/performance_speed.py

Aims: level flight on arrays under 1 µs a point, a fit under 1 s, resampled intervals under 5 s. Import and first fit
are timed in fresh interpreters, beside `import numpy, scipy`.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from airwork.airplane import find_airplane_file, load_airplane
from airwork.airplane.performance.advice import resampled_90
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import question
from airwork.airplane.performance.readings import readings_of


def best_s(work: Callable[[], object], repeats: int = 7) -> float:
    """Shortest of several runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def fresh_s(code: str, repeats: int = 5) -> float:
    """Shortest wall time of a fresh interpreter running the code."""
    return best_s(lambda: subprocess.run([sys.executable, "-c", code], check=True), repeats)


def main() -> None:
    """Print the table."""
    points = 1_000_000
    rng = np.random.default_rng(1)
    print("| what | airplane | time | aim |\n| --- | --- | --- | --- |")
    for name in ("larkmoor_155", "caldmere_200"):
        airplane = load_airplane(find_airplane_file(name))
        readings = readings_of(airplane)
        p = Performance(airplane, learn(airplane, readings))
        stall = float(airplane.stall_cas_mps(airplane.handbook_mass_kg))
        cas = rng.uniform(1.1 * stall, 2.2 * stall, points)
        asked = Condition(airplane.handbook_mass_kg, 900.0, 282.0)
        level_flight(p, cas[:10], asked)
        whole = best_s(lambda p=p, cas=cas, asked=asked: level_flight(p, cas, asked), 3)  # type: ignore[misc]
        at = question(p, cas, asked).at
        law = best_s(lambda p=p, at=at: p.law.control(p.theta, at), 3)  # type: ignore[misc]
        print(f"| level-flight solution, per point | {name} | {law / points * 1e9:.0f} ns | 1,000 ns |")
        print(f"| `level` with bands, power, attitude, per point | {name} | {whole / points * 1e9:.0f} ns | |")
        fit = best_s(lambda a=airplane, r=readings: learn(a, r))  # type: ignore[misc]
        print(f"| fit, handbook and {len(readings)} readings | {name} | {fit * 1e3:.1f} ms | 1 s |")
        more = Performance(airplane, learn(airplane, [*readings, *readings]))
        again = best_s(lambda m=more: resampled_90(m), 2)  # type: ignore[misc]
        print(f"| intervals from 200 resampled fits, {2 * len(readings)} readings | {name} | {again:.2f} s | 5 s |")
    path = find_airplane_file("larkmoor_155")
    base = fresh_s("import numpy, scipy")
    load = "from airwork.airplane import load_airplane; from pathlib import Path;"
    code = f"{load} a = load_airplane(Path({str(Path(path))!r}));"
    both = fresh_s(f"{code} from airwork.airplane.performance import performance; performance(a)")
    print(f"| fresh process: import numpy, scipy | | {base:.2f} s | |")
    print(f"| fresh process: load the airplane file | larkmoor_155 | {fresh_s(code):.2f} s | |")
    print(f"| fresh process: load and fit | larkmoor_155 | {both:.2f} s | |")


if __name__ == "__main__":
    main()
