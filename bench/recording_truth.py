"""Write the simulated flights the recording tests are held against: JSBSim's own state, at 1 Hz, no sensor errors.

    python bench/recording_truth.py tests/sources/recordings

Flown by bench/flying (airplane c172p of the JSBSim package). Run again only to change the flights: the tests keep them.
"""

from __future__ import annotations

import gzip
import io
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

from flying.lessons import fly
from flying.plan import draw_plan

FLIGHTS = (("private_test", 7), ("first_hours", 103))
COLUMNS: dict[str, int] = {
    "time_s": 1, "latitude_rad": 9, "longitude_rad": 9, "altitude_m": 2, "pressure_altitude_m": 2,
    "indicated_altitude_m": 2, "ias_mps": 3, "tas_mps": 3, "heading_rad": 4, "pitch_rad": 4, "bank_rad": 4,
    "vertical_speed_mps": 3, "load_factor": 3, "groundspeed_mps": 3, "track_rad": 4, "wind_east_mps": 3,
    "wind_north_mps": 3, "oat_k": 2, "on_ground": 0,
}  # fmt: skip


def main() -> None:
    folder = Path(sys.argv[1])
    for theme, seed in FLIGHTS:
        made = fly(draw_plan(seed, theme, airplanes=("c172p",)))
        columns = {name: np.asarray(v, dtype=float) for name, v in made.columns.items()}
        columns.setdefault("groundspeed_mps", np.hypot(columns.get("east_mps", 0.0), columns.get("north_mps", 0.0)))
        columns.setdefault("track_rad", np.mod(np.arctan2(columns["east_mps"], columns["north_mps"]), 2 * np.pi))
        step = max(round(made.rate_hz), 1)
        rows = [",".join(COLUMNS)]
        rows += [
            ",".join(f"{columns[name][k]:.{digits}f}" for name, digits in COLUMNS.items())
            for k in range(0, columns["time_s"].size, step)
        ]
        box = io.BytesIO()
        with gzip.GzipFile(fileobj=box, mode="wb", mtime=0, compresslevel=9) as packed:
            packed.write(("\n".join(rows) + "\n").encode())
        path = folder / f"jsbsim_{theme}_{seed}.csv.gz"
        path.write_bytes(box.getvalue())
        print(f"{path.name}: {len(rows) - 1} rows, {len(box.getvalue()) / 1e3:.0f} kB")


if __name__ == "__main__":
    main()
