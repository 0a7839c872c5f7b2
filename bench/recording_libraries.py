"""Our readers beside the kept libraries for the same formats: time to read the same two hours at 1 Hz.

python bench/recording_libraries.py
"""

from __future__ import annotations

import datetime
import sys
import tempfile
import time
from collections.abc import Callable
from io import StringIO
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import aerofiles.igc
import gpxpy
import pynmea2

from airwork.recording.open_file import open_recording
from airwork.recording.read import read_raw
from recording import test_formats as forms
from recording.made_flight import START_UTC_S, lesson


def best_s(action: Callable[[], object], rounds: int = 3) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    forms.MADE = lesson(7200.0, 1.0)
    begin = datetime.datetime.fromtimestamp(START_UTC_S, datetime.UTC)
    first = begin.hour * 3600 + begin.minute * 60 + begin.second
    made, deg = forms.MADE, forms.DEG
    igc = "\n".join(
        ["AXXXTST", f"HFDTE{begin:%d%m%y}"]
        + [
            forms.b_record(first + k, made.latitude_rad[k] * deg, made.longitude_rad[k] * deg, "A", 900, 950)
            for k in range(made.time_s.size)
        ]
    )
    texts = {"gpx": forms.gpx(), "igc": igc, "nmea": "\n".join(forms.nmea())}
    libraries: dict[str, Callable[[], object]] = {
        "gpx": lambda: gpxpy.parse(texts["gpx"]),
        "igc": lambda: aerofiles.igc.Reader().read(StringIO(texts["igc"])),
        "nmea": lambda: [pynmea2.parse(line, check=True) for line in texts["nmea"].splitlines()],
    }
    with tempfile.TemporaryDirectory() as folder:
        for kind, text in texts.items():
            path = Path(folder) / f"x.{kind}"
            path.write_text(text)
            ours = best_s(lambda path=path: read_raw(open_recording(path), path))  # type: ignore[misc]
            theirs = best_s(libraries[kind])
            name = {"gpx": "gpxpy", "igc": "aerofiles", "nmea": "pynmea2"}[kind]
            print(
                f"{kind:5}{len(text) / 1e6:4.1f} MB   airwork {ours * 1e3:6.0f} ms   {name:9} {theirs * 1e3:7.0f} ms",
                end="",
            )
            print(f"   {theirs / ours:5.1f} x")


if __name__ == "__main__":
    main()
