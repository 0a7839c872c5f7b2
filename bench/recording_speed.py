"""Speed and memory of reading a recording, as ratios to polars parsing the same file in the same run.

    python bench/recording_speed.py            a 2-hour 10 Hz 30-column CSV
    python bench/recording_speed.py FILE       a file of your own

Wanted: read and clean within 2 ×, derive within 3 ×, peak memory under 8 × the columns' own bytes.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))


def write_big(path: Path, hours: float = 2.0) -> None:
    """30 columns at 10 Hz with sensor noise."""
    from recording.made_flight import FT, KT, START_UTC_S, lesson, stamp

    made = lesson(hours * 3600.0)
    rng = np.random.default_rng(3)
    n = made.time_s.size

    def noisy(values: np.ndarray, sigma: float) -> np.ndarray:
        return values + rng.normal(0.0, sigma, n)

    deg = 180.0 / np.pi
    sigma = np.exp(-made.altitude_m / 9_500.0)
    ias = made.tas_mps * np.sqrt(sigma) / KT
    mag = np.mod(made.heading_rad * deg - 4.0, 360.0)
    columns: dict[str, tuple[np.ndarray, int]] = {
        "Latitude (deg)": (made.latitude_rad * deg, 7),
        "Longitude (deg)": (made.longitude_rad * deg, 7),
        "Alt Ind (ft)": (noisy(made.altitude_m / FT, 2.0), 0),
        "Baro (inHg)": (np.full(n, 29.92), 2),
        "Alt GPS (ft)": (noisy(made.altitude_m / FT + 40.0, 4.0), 1),
        "OAT (deg C)": (noisy(15.0 - 0.0065 * made.altitude_m, 0.1), 1),
        "IAS (kt)": (np.maximum(noisy(ias, 0.3), 0.0), 2),
        "GS (kt)": (np.maximum(noisy(made.groundspeed_mps / KT, 0.2), 0.0), 2),
        "VS (fpm)": (noisy(made.vertical_speed_mps / FT * 60.0, 15.0), 1),
        "Pitch (deg)": (noisy(np.full(n, 3.0), 0.3), 2),
        "Roll (deg)": (noisy(made.bank_rad * deg, 0.3), 2),
        "Lat Acc (g)": (noisy(np.zeros(n), 0.01), 3),
        "Norm Acc (g)": (noisy(made.load_factor, 0.02), 3),
        "HDG (deg)": (np.mod(noisy(mag, 0.3), 360.0), 1),
        "TRK (deg)": (made.track_rad * deg, 1),
        "Volts 1": (noisy(np.full(n, 28.0), 0.05), 1),
        "FQty L (gal)": (20.0 - made.time_s / 900.0, 2),
        "FQty R (gal)": (20.0 - made.time_s / 900.0, 2),
        "E1 FFlow (gph)": (noisy(np.full(n, 8.5), 0.1), 2),
        "E1 Oil T (deg F)": (noisy(np.full(n, 190.0), 0.5), 1),
        "E1 Oil P (psi)": (noisy(np.full(n, 75.0), 0.5), 1),
        "E1 MAP (inHg)": (noisy(np.full(n, 24.0), 0.1), 2),
        "E1 RPM": (noisy(np.full(n, 2400.0), 8.0), 0),
        "E1 CHT1 (deg F)": (noisy(np.full(n, 350.0), 1.0), 1),
        "E1 CHT2 (deg F)": (noisy(np.full(n, 355.0), 1.0), 1),
        "E1 EGT1 (deg F)": (noisy(np.full(n, 1350.0), 3.0), 1),
        "E1 EGT2 (deg F)": (noisy(np.full(n, 1340.0), 3.0), 1),
    }
    stamps = [stamp(START_UTC_S + t) for t in made.time_s]
    cells = [[s[:10] for s in stamps], [s[11:21] for s in stamps], ["+00:00"] * n]
    cells += [[f"{v:.{digits}f}" for v in values] for values, digits in columns.values()]
    lines = [",".join(["Date", "Time", "UTC Offset", *columns]), *map(",".join, zip(*cells, strict=True))]
    path.write_text("\n".join(lines) + "\n")


def once_ms(action: Callable[[], object]) -> float:
    """Time of one call. [ms]"""
    start = time.perf_counter()
    action()
    return 1e3 * (time.perf_counter() - start)


def measure(path: Path) -> None:
    from airwork.recording.clean import clean
    from airwork.recording.derive import derive
    from airwork.recording.open_file import open_recording
    from airwork.recording.read import read_flight, read_raw

    def read_and_clean() -> object:
        opened = open_recording(path)
        recorded = read_raw(opened, path)
        digest = opened.start_digest()
        clean(recorded, opened.where)
        recorded.facts["sha256"] = digest.result()
        return recorded

    recorded = read_and_clean()
    actions = (lambda: pl.read_csv(path), read_and_clean, lambda: derive(recorded), lambda: read_flight(path))  # type: ignore[arg-type]
    rounds = [[once_ms(action) for action in actions] for _ in range(15)]  # in turn, so that a busy machine is fair
    parse, first, second, whole = (min(column) for column in zip(*rounds, strict=True))
    print(f"{path.name}: {path.stat().st_size / 1e6:.1f} MB")
    print(f"polars parses it     {parse:7.1f} ms   1.00 x")
    print(f"read and clean       {first:7.1f} ms   {first / parse:.2f} x   (wanted 2)")
    print(f"derive               {second:7.1f} ms   {second / parse:.2f} x   (wanted 3)")
    print(f"read_flight, whole   {whole:7.1f} ms   {whole / parse:.2f} x")


def memory(path: Path) -> None:
    """Peak memory above that of the imports, in a process of its own, against the columns' own bytes."""
    code = """
import sys, polars
from pathlib import Path
import airwork.recording.read as r, airwork.recording.derive, airwork.recording.read_table, airwork.airdata.magnetic
polars.read_csv(b'a,b\\n1,2\\n')
def peak():
    return next(int(l.split()[1]) * 1024 for l in open('/proc/self/status') if l.startswith('VmHWM'))
open('/proc/self/clear_refs', 'w').write('5')
base = peak()
f = r.read_flight(Path(sys.argv[1]))
print(peak() - base, f.source['rows_in_file'] * 30 * 8, sum(c.values.nbytes for c in f.columns.values()))
"""
    out = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    grown, columns, held = map(int, out.stdout.split())
    print(f"peak memory above imports {grown / 1e6:.0f} MB = {grown / columns:.1f} x the file's columns as float64 "
          f"({columns / 1e6:.0f} MB; the flight holds {held / 1e6:.0f} MB)   (wanted 8)")  # fmt: skip


def main() -> None:
    if len(sys.argv) > 1:
        measure(Path(sys.argv[1]))
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "two_hours.csv"
        write_big(path)
        measure(path)
        memory(path)
    print(f"this process peaked at {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
