"""Coverage-guided fuzzing of the recording readers with atheris: only an AirworkError may escape, nothing may hang.

    pip install atheris
    python bench/recording_fuzz.py csv -max_total_time=60        also: igc gpx kml nmea parquet any

Arguments after the reader go to the fuzzer. A finding is written to ./crash-* or ./timeout-*.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["airwork.recording"], enable_loader_override=False):
    from airwork.recording import clean, derive, layout, names, open_file, read, read_table, table  # noqa: F401

import numpy as np

from airwork.errors import AirworkError

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))


def seeds(kind: str) -> list[bytes]:
    """Good files to start from."""
    from recording.test_formats import gpx, kml, nmea
    from recording.test_layouts import MADE, frame
    from recording.writing import FULL
    from recording.writing import table as text

    source = Path(__file__).resolve().parent.parent / "tests" / "sources" / "recordings"
    igc = (source / "fai_appendix_a.igc").read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.parquet"
        frame(MADE).write_parquet(path)
        parquet = path.read_bytes()
    made = {
        "csv": [text(MADE, FULL).encode()[:6_000], text(MADE, FULL, delimiter=";", decimal=",").encode()[:6_000]],
        "igc": [igc],
        "gpx": [gpx().encode()[:4_000]],
        "kml": [kml(range(8)).encode()],
        "nmea": ["\n".join(nmea()).encode()[:4_000]],
        "parquet": [parquet],
    }
    return made.get(kind) or [raw for raws in made.values() for raw in raws]


def one(raw: bytes) -> None:
    """Read, clean and derive one input."""
    try:
        opened = open_file.open_bytes(raw, "fuzzed")
        recorded = read.read_raw(opened, Path("fuzzed"))
        with np.errstate(all="ignore"):
            clean.clean(recorded, "fuzzed")
            flight = derive.derive(recorded)
    except AirworkError as problem:
        if "\n" in str(problem):
            raise ValueError("more than one line") from problem
        return
    assert np.all(np.diff(flight.time_s) > 0)


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 and not sys.argv[1].startswith("-") else "any"
    arguments = [a for a in sys.argv[1:] if a != kind]
    with tempfile.TemporaryDirectory() as folder:
        for k, raw in enumerate(seeds(kind)):
            (Path(folder) / f"seed{k}").write_bytes(raw)
        atheris.Setup([sys.argv[0], *arguments, "-timeout=20", "-rss_limit_mb=3000", folder], one)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
