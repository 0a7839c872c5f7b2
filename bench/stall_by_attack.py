"""The stall speed that a recorded angle of attack tells, held to the airplane's book; no airplane named, no warning.

python bench/fly.py --seed 98300 --out FOLDER      # take a seed of your own
python bench/stall_by_attack.py FOLDER AIRPLANES   # AIRPLANES: folder of airplane files, by the simulator's names
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from airwork.airplane import load_airplane
from airwork.maneuvers.seeing.view_building import BY_ATTACK, build_view
from airwork.recording import read_flight
from airwork.units import LB_KG


def main() -> None:
    """Print a line for each flight, and how many lie in the range stated."""
    folder, airplanes = map(Path, sys.argv[1:])
    ratios = []
    for path in sorted(folder.glob("*.truth.json")):
        truth = json.loads(path.read_text())
        files = sorted(airplanes.rglob(f"{truth['airplane']}.toml"))
        if not files:
            continue
        flight = read_flight(path.with_name(path.name.replace(".truth.json", ".csv")))
        view = build_view(replace(flight, columns={n: c for n, c in flight.columns.items() if n != "stall_warning"}))
        if view is None or "angle of attack" not in view.stall_from:
            continue
        mass_kg = 0.5 * (truth["start_mass_lb"] + truth["end_mass_lb"]) * LB_KG
        book = float(load_airplane(files[0]).stall_cas_by_notch_mps(mass_kg)[0])
        ratios.append(book / float(np.median(view.stall_mps)))
        print(f"{truth['name']:32}{truth['airplane']:16}{ratios[-1]:.3f}")
    r = np.array(ratios)
    inside = int(((r >= BY_ATTACK[0]) & (r <= BY_ATTACK[1])).sum())
    print(f"book over told: {r.min():.2f} to {r.max():.2f}, middle {np.median(r):.3f}")
    print(f"{inside} of {r.size} in {BY_ATTACK}")


if __name__ == "__main__":
    main()
