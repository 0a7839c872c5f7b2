"""From file to graded debrief: seconds, as a ratio to polars parsing the same file in the same run, and memory.

    python bench/debrief_speed.py            a 2-hour 10 Hz 30-column CSV
    python bench/debrief_speed.py FILE       a CSV of your own

Wanted: file to graded debrief within 4 × polars parsing the file, the whole process under 1.5 s. Everything is warm and
in one process, in turn, with one thread for linear algebra as in the command: on arrays as small as a flight's its
threads wait for each other, and double every figure on a busy machine. polars is measured as it comes (dates and clock
times left as text) and with the dates and times read too, which the debrief does as well.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))


os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded
ROUNDS = 15


def once(run: Callable[[], object]) -> float:
    """Wall time of one run. [s]"""
    began = time.perf_counter()
    run()
    return time.perf_counter() - began


def best(*runs: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """Least wall time of each, the runs taken in turn so that a busy machine is fair to all. [s]"""
    taken = [[once(run) for run in runs] for _ in range(rounds)]
    return [min(times) for times in zip(*taken, strict=True)]


def main() -> None:
    """Print the figures."""
    import polars as pl

    from airwork.debrief import debrief
    from airwork.recording import read_flight
    from airwork.standards import load_standard

    with tempfile.TemporaryDirectory() as folder:
        if len(sys.argv) > 1:
            path = Path(sys.argv[1])
        else:
            from recording_speed import write_big

            path = Path(folder) / "two_hours.csv"
            write_big(path)
        standard = load_standard("private")
        flight = read_flight(path)
        found = debrief(flight, standard=standard)
        parse, dated, read, grade, whole = best(
            lambda: pl.read_csv(path, infer_schema_length=1000),
            lambda: pl.read_csv(path, infer_schema_length=1000, try_parse_dates=True),
            lambda: read_flight(path),
            lambda: debrief(flight, standard=standard),
            lambda: debrief(read_flight(path), standard=standard).as_json(),
        )
        command = [sys.executable, "-m", "airwork", "debrief", str(path), "--json"]
        (process,) = best(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL), rounds=5)
        print(f"{path.stat().st_size / 1e6:.1f} MB, {len(flight):,} rows, {len(flight.columns)} columns, "
              f"{len(found.episodes)} episodes; load {os.getloadavg()[0]:.1f}")  # fmt: skip
        print(f"polars, dates as text   {parse:7.3f} s")
        print(f"polars, all read        {dated:7.3f} s                 × all read   × dates as text")
        rows = (("read and derive", read), ("recognize and grade", grade), ("file to graded debrief", whole))
        for name, taken in rows:
            wanted = "(wanted 4)" if taken is whole else ""
            print(f"{name:<24}{taken:7.3f} s   {taken / dated:21.2f}   {taken / parse:13.2f}   {wanted}")
        print(f"whole process           {process:7.3f} s                 (wanted 1.5)")
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
        print(f"peak memory, process    {peak:7.0f} MB")


if __name__ == "__main__":
    main()
