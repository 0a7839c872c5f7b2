"""What `airwork --help` costs over a bare interpreter: medians of alternating runs.

Run: python bench/startup.py [runs]
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

CASES = {
    "bare interpreter": ["-c", "pass"],
    "airwork --help": ["-m", "airwork", "--help"],
    "airwork --version": ["-m", "airwork", "--version"],
    "import numpy": ["-c", "import numpy"],  # what one heavy import would add, for scale
}


def _run_s(arguments: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    for arguments in CASES.values():  # bytecode and disk cache are warm from here
        _run_s(arguments)
    taken: dict[str, list[float]] = {name: [] for name in CASES}
    for _ in range(runs):  # alternating, so that a busy moment hits all alike
        for name, arguments in CASES.items():
            taken[name].append(_run_s(arguments))
    bare = statistics.median(taken["bare interpreter"])
    print(f"median of {runs} runs, Python {sys.version.split()[0]}")
    for name, seconds in taken.items():
        median = statistics.median(seconds)
        low, _, high = statistics.quantiles(seconds, n=4)
        print(
            f"{name:<18}{1e3 * median:7.1f} ms  (quartiles {1e3 * low:.1f} to {1e3 * high:.1f})"
            f"{1e3 * (median - bare):+8.1f} ms over bare"
        )


if __name__ == "__main__":
    main()
