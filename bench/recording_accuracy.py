"""What is derived from position alone, held against the truth of simulated flights.

    python bench/fly.py --seed 83120 --out FOLDER     # flights with their truth; take a seed of your own
    python bench/recording_accuracy.py FOLDER [--list]

For each flight NAME: wind speed and direction of NAME_gps.csv against the simulator's wind at that height
(NAME.truth.json), true airspeed against NAME.csv's. Root mean square over the samples in the air, more than 30 m above
the field. The wind's direction is judged in flights with more than 5 kt of wind. Gusts are not in the truth's wind.

The second table judges what airwork says of itself, by kind of flight: how many winds it says are known and how many of
them are, and the share of those samples in which the truth lies within the band that should hold 90 % of them.
"""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path

import numpy as np

from airwork.airdata.angles import turn_from_to_rad
from airwork.recording import Flight, read_flight
from airwork.units import DEG_RAD, FT_M, KT_MPS
from airwork.values import BAND, WIND_KNOWN_KT

CLEAR_M, WINDY_KT = 30.0, 5.0
SURE_DEG = 12.0  # half a 90 % band of the direction
WANTED = {"wind speed": (2.0, "kt"), "wind direction": (10.0, "deg"), "true airspeed": (3.0, "kt")}


def rms(values: np.ndarray) -> float:
    """Root mean square of what is known; NaN of nothing."""
    good = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(good**2))) if good.size else float("nan")


def true_wind(profile: list[dict[str, float]], agl_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(direction from [rad], speed [m/s]) of the truth's profile.

    Between its rows the speed goes as a power of the height, as the simulated wind does up to 2,000 ft: drawn straight
    from 50 to 1,000 ft the truth would be up to a tenth too slow in a traffic pattern.
    """
    heights = np.array([row["agl_ft"] for row in profile]) * FT_M
    speeds = np.maximum([row["kt"] * KT_MPS for row in profile], 1e-6)
    source = np.unwrap([row["from_deg"] * DEG_RAD for row in profile])
    at_m = np.maximum(agl_m, heights[0])
    return np.interp(at_m, heights, source), np.exp(np.interp(np.log(at_m), np.log(heights), np.log(speeds)))


def within(flight: Flight, column: str, off: np.ndarray) -> float:
    """Share of the errors inside the column's own 90 % band; NaN where nothing was derived."""
    error = flight.columns[column].error if flight.has(column) else None
    known = np.isfinite(off)
    return float("nan") if error is None or not known.any() else float(np.mean(np.abs(off[known]) <= BAND * error))


def band_of(flight: Flight, column: str) -> float:
    """Half the column's own 90 % band; NaN where nothing was derived."""
    return BAND * (flight.columns[column].error or 0.0) if flight.has(column) else math.nan


def kind_of(name: str) -> str:
    """Kind of flight by its name, whichever airplane, generator and make flew it."""
    kind = name.rpartition("_")[0]
    for made in ("hard_", "late_", "loose_", "k_", "cub_"):
        kind = kind.removeprefix(made)
    return kind


def errors(folder: Path, name: str) -> dict[str, float]:
    """The flight's errors, and how much of each its band holds; NaN where nothing was derived."""
    truth = json.loads((folder / f"{name}.truth.json").read_text())
    seen: Flight = read_flight(folder / f"{name}_gps.csv")
    panel: Flight = read_flight(folder / f"{name}.csv")
    times = seen.time_s + (seen.start_utc_s - panel.start_utc_s)
    agl_m = np.interp(times, panel.time_s, panel["indicated_altitude_m"]) - truth["elevation_ft"] * FT_M
    up = agl_m > CLEAR_M
    missing = np.full(len(seen), np.nan)
    wanted_from, wanted = true_wind(truth["wind_profile"], agl_m)
    speed, source = seen.get("wind_mps"), seen.get("wind_from_rad")
    speed, source = (missing if v is None else v for v in (speed, source))
    tas = seen.get("tas_mps")
    true_tas = np.interp(times, panel.time_s, panel["tas_mps"])
    wind_off, tas_off = (speed - wanted)[up], ((missing if tas is None else tas) - true_tas)[up]
    out = {
        "wind speed": rms(wind_off) / KT_MPS,
        "true airspeed": rms(tas_off) / KT_MPS,
        "wind direction": float("nan"),
        "wind speed in band": within(seen, "wind_mps", wind_off),
        "true airspeed in band": within(seen, "tas_mps", tas_off),
        "wind direction in band": float("nan"),
        "direction band": band_of(seen, "wind_from_rad") / DEG_RAD,
        "band": band_of(seen, "wind_mps") / KT_MPS,
    }
    if np.median(wanted[up]) > WINDY_KT * KT_MPS:
        turned = turn_from_to_rad(wanted_from, source)[up]
        out["wind direction"] = rms(turned) / DEG_RAD
        out["wind direction in band"] = within(seen, "wind_from_rad", turned)
    return out


def share(rows: list[dict[str, float]], what: str) -> str:
    """So many of so many within the wish."""
    known = [row[what] for row in rows if math.isfinite(row[what])]
    return f"{sum(off <= WANTED[what][0] for off in known)} of {len(known)}" if known else "–"


def by_kind(rows: dict[str, dict[str, float]]) -> None:
    """Print, by kind of flight: within the wish, of all and of the winds said to be known; what the bands hold."""
    print(f"\nA wind is said to be known where its 90 % band is within ±{WIND_KNOWN_KT:g} kt; "
          f"a direction is sure here where its own is within ±{SURE_DEG:g}°.\n"
          "| kind of flight | flights | 2 kt | said known | of those 2 kt | 10° | sure | of those 10° | "
          "band, ± kt | holds the speed | direction | airspeed |\n" + "| --- " * 12 + "|")  # fmt: skip
    for kind in ["all", *sorted({kind_of(name) for name in rows})]:
        part = [row for name, row in rows.items() if kind in ("all", kind_of(name))]
        known = [row for row in part if row["band"] <= WIND_KNOWN_KT]
        windy = [row for row in part if math.isfinite(row["wind direction"])]
        sure = [row for row in windy if row["direction band"] <= SURE_DEG]
        holds = []
        for what in WANTED:
            values = np.array([row[f"{what} in band"] for row in part])
            values = values[np.isfinite(values)]
            holds.append(f"{100.0 * values.mean():.0f} %" if values.size else "–")
        bands = np.array([row["band"] for row in part if math.isfinite(row["band"])])
        band = f"{np.median(bands):.1f}" if bands.size else "–"
        print(f"| {kind} | {len(part)} | {share(part, 'wind speed')} | {len(known)} | {share(known, 'wind speed')} | "
              f"{share(windy, 'wind direction')} | {len(sure)} | {share(sure, 'wind direction')} | {band} | "
              f"{' | '.join(holds)} |")  # fmt: skip


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--list", action="store_true", help="a line for each flight, too")
    options = parser.parse_args()
    names = sorted(path.name.removesuffix(".truth.json") for path in options.folder.glob("*.truth.json"))
    rows = {name: errors(options.folder, name) for name in names}
    print(f"{len(rows)} flights, position alone")
    print("| rms of | median | worst | within | no answer |\n| --- | --- | --- | --- | --- |")
    for what, (limit, unit) in WANTED.items():
        values = np.array([row[what] for row in rows.values()])
        known = values[np.isfinite(values)]
        none = "" if what == "wind direction" else str(values.size - known.size)
        print(f"| {what} | {np.median(known):.2f} {unit} | {known.max():.2f} | {limit:g} {unit} in "
              f"{(known <= limit).sum()} of {known.size} | {none} |")  # fmt: skip
    by_kind(rows)
    if options.list:
        for name, row in sorted(rows.items(), key=lambda pair: -np.nan_to_num(pair[1]["wind speed"])):
            shown = {what: row[what] for what in (*WANTED, "band", "wind speed in band")}
            print(f"{name:32}", *(f"{what} {value:5.2f}" for what, value in shown.items()), sep="  ")


if __name__ == "__main__":
    main()
