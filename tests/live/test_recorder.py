"""The recording of a followed flight: what goes in comes out of the recordings' own reader, also after a kill."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np

from airwork.live.recorder import COLUMNS, Recorder
from airwork.recording import read_flight
from airwork.recording.names import understand
from airwork.recording.quantities import QUANTITIES

WRITER = """
import sys
from pathlib import Path
from airwork.live.recorder import Recorder
out = Recorder(Path(sys.argv[1]))
for k in range(100_000):
    out.take(1.75e9 + 0.1 * k, {"indicated_altitude_m": 1000.0 + 0.01 * k, "ias_mps": 50.0, "rpm": 2300.0,
             "latitude_rad": 0.7 + 1e-7 * k, "longitude_rad": 0.1}, 0.1 * k)
    print(k, flush=True)
"""


def test_every_columns_name_is_understood_as_that_column() -> None:
    for house, (name, *_) in COLUMNS.items():
        meaning = understand(name)
        assert meaning is not None, name
        assert QUANTITIES[meaning.quantity].house == house, name


def test_what_is_recorded_is_read_back(tmp_path: Path) -> None:
    """Late and doubled samples are left out and counted; what comes within a moment is one row."""
    out = Recorder(tmp_path / "flight.csv")
    for k in range(600):
        utc = 1.75e9 + 0.5 * k
        out.take(utc, {"indicated_altitude_m": 900.0 + k, "ias_mps": 50.0, "bank_rad": -0.2}, 0.5 * k)
        out.take(utc + 0.01, {"rpm": 2300.0, "latitude_rad": 0.7 + 1e-5 * k, "longitude_rad": -1.2}, 0.5 * k)
        out.take(utc - 3.0, {"indicated_altitude_m": 0.0}, 0.5 * k)
    out.close()
    assert (out.rows, out.late) == (600, 600)
    flight = read_flight(tmp_path / "flight.csv")
    assert len(flight) == 600
    assert flight.start_utc_s == 1.75e9
    np.testing.assert_allclose(flight["indicated_altitude_m"], 900.0 + np.arange(600), atol=0.01)
    np.testing.assert_allclose(flight["bank_rad"], -0.2, atol=1e-4)
    np.testing.assert_allclose(flight["rpm"], 2300.0)


def test_killed_at_any_moment_it_is_readable_but_for_the_last_second(tmp_path: Path) -> None:
    """Three kills here; `bench/follow.py kills` does 200."""
    for trial, told in enumerate((25, 131, 304)):
        path = tmp_path / f"{trial}.csv"
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
        assert writer.stdout is not None
        for _ in range(told):
            writer.stdout.readline()
        writer.send_signal(signal.SIGKILL)
        last = [told - 1, *map(int, re.findall(rb"(\d+)\n", writer.communicate()[0]))][-1]
        flight = read_flight(path)
        assert np.diff(flight.time_s).max() < 0.15
        assert len(flight) >= last - 10  # ten rows in a second of the flight's own clock, and the row being filled
