"""The demo's shipped recordings say what their truth says."""

from __future__ import annotations

import gzip
import io
import json
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from airwork.units import KT_MPS, MPH_MPS

ROOT = Path(__file__).resolve().parents[2]
RECORDINGS = ROOT / "src" / "airwork" / "demo_files" / "recordings"
TRUTHS = sorted((ROOT / "demo" / "truth").glob("*.truth.json"))


def test_every_recording_has_its_truth_and_stays_small() -> None:
    names = {path.name.split(".")[0] for path in RECORDINGS.iterdir() if path.name.startswith("20")}
    assert names == {path.name.split(".")[0] for path in TRUTHS}
    assert sum(path.stat().st_size for path in RECORDINGS.iterdir()) < 1_500_000


@pytest.mark.parametrize("path", [p for p in TRUTHS if "pattern" not in p.name], ids=lambda p: p.name.split(".")[0])
def test_the_columns_of_each_exercise_show_its_true_extremes(path: Path) -> None:
    """Half a second between rows in rough air, and the sensors' own lag and noise: 20 ft, 3.5 kt, 3°."""
    truth = json.loads(path.read_text(encoding="utf-8"))
    packed = (RECORDINGS / path.name.replace(".truth.json", ".csv.gz")).read_bytes()
    table = pl.read_csv(io.BytesIO(gzip.decompress(packed)))
    time_s = np.arange(table.height) * 0.5
    dial = next(name for name in table.columns if name.startswith("Indicated Airspeed"))
    to_kt = MPH_MPS / KT_MPS if "mph" in dial else 1.0
    for episode in truth["episodes"]:
        if episode["kind"] not in {"steep_turn", "slow_flight", "level_turn", "chandelle"}:
            continue
        inside = (time_s >= episode["start_s"]) & (time_s <= episode["end_s"])
        altitude = table["Indicated Altitude (ft)"].to_numpy()[inside]
        assert altitude.max() == pytest.approx(episode["truth"]["max_altitude_ft"], abs=20.0)
        assert altitude.min() == pytest.approx(episode["truth"]["min_altitude_ft"], abs=20.0)
        ias = table[dial].to_numpy()[inside] * to_kt
        assert ias.min() == pytest.approx(episode["truth"]["min_ias_kt"], abs=3.5)
        bank = np.abs(table["Roll (deg)"].to_numpy()[inside])
        assert bank.max() == pytest.approx(episode["truth"]["max_bank_deg"], abs=3.0)
