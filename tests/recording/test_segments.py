"""Stabilised stretches in recordings: found where the flight held still, and nowhere else."""

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane import load_airplane
from airwork.airplane.performance import performance
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.level import level_flight
from airwork.recording.flight import Column, Flight
from airwork.recording.segments import missing_for_segments, stabilised_segments
from airwork.units import FPM_MPS, FT_M, KT_MPS, LB_KG
from invented_truth import true_climb, true_level, truths

WEIGHT_LB = 2200.0
TRUTH = truths()["larkmoor_155"]


@pytest.fixture(scope="module")
def larkmoor(airplane_folder):
    return load_airplane(airplane_folder / "larkmoor_155.toml")


class Builder:
    """A recording at 1 Hz put together from stretches."""

    def __init__(self, altitude_ft=3000.0):
        self.rows, self.altitude = [], altitude_ft * FT_M
        self.rng = np.random.default_rng(4)

    def stretch(self, seconds, kcas, rpm, *, fpm=0.0, notch=0, bank_deg=0.0, noise=1.0, trend_kt=0.0):
        for i in range(seconds):
            self.altitude += fpm * FPM_MPS
            cas = (kcas + trend_kt * i / seconds) * KT_MPS + noise * self.rng.normal(0, 0.2)
            shown = self.altitude + noise * self.rng.normal(0, 1.0)
            self.rows.append((cas, rpm + noise * self.rng.normal(0, 4), shown, notch, np.radians(bank_deg)))
        return self

    def flight(self, **known):
        cas, rpm, altitude, notch, bank = np.array(self.rows).T
        values = {
            "cas_mps": cas, "rpm": rpm, "pressure_altitude_m": altitude, "flap_notch": notch, "bank_rad": bank,
            "oat_k": standard_temperature_k(altitude),
        }  # fmt: skip
        columns = {name: Column(v, known.get(name, "measured")) for name, v in values.items()}
        return Flight(0.0, np.arange(cas.size, dtype=float), columns, source={"name": "made.csv"})


def test_level_stretches_become_readings_with_their_means(larkmoor):
    """Two minutes each, clean and full flaps, a turn and a change of speed between: two readings."""
    made = (
        Builder().stretch(120, 80, 2100).stretch(40, 80, 2200, bank_deg=30).stretch(60, 80, 2000, trend_kt=-25)
        .stretch(120, 56, 2200, notch=3).flight()
    )  # fmt: skip
    found = [s.reading for s in stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG)]
    assert [(r.kind, r.flap_notch) for r in found] == [("level", 0), ("level", 3)]
    assert found[0].cas_mps == pytest.approx(80 * KT_MPS, abs=0.1)
    assert found[0].rpm == pytest.approx(2100, abs=3)
    assert found[0].recording == "made.csv"


def test_climbs_at_full_throttle_and_idle_glides_are_told_from_part_throttle(larkmoor):
    """A climb at 2,200 RPM teaches nothing about full throttle."""
    full, rate = true_climb(TRUTH, 76 * KT_MPS, WEIGHT_LB, 3500)
    made = (
        Builder().stretch(120, 76, full, fpm=rate / FPM_MPS).stretch(30, 76, 2300).stretch(120, 76, 2200, fpm=200)
        .stretch(30, 76, 1500).stretch(120, 70, 900, fpm=-750).flight()
    )  # fmt: skip
    found = [s.reading for s in stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG)]
    assert [r.kind for r in found] == ["full_throttle_climb", "idle_glide"]
    assert found[0].climb_rate_mps == pytest.approx(rate, rel=0.03)
    assert found[1].climb_rate_mps == pytest.approx(-750 * FPM_MPS, rel=0.03)
    assert found[1].rpm is None


def test_rough_air_short_stretches_and_turns_give_nothing(larkmoor):
    """Nothing steady, nothing learned."""
    rough = Builder().stretch(300, 80, 2100, noise=12.0).flight()
    short = Builder().stretch(35, 80, 2100).stretch(35, 95, 2300).stretch(35, 70, 1900).flight()
    turning = Builder().stretch(200, 80, 2150, bank_deg=20).flight()
    for made in (rough, short, turning):
        assert stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG) == ()


def test_airspeed_that_was_derived_is_not_learned_from(larkmoor):
    """Satellite positions give no airspeed worth a fit; the columns lacking are named."""
    made = Builder().stretch(200, 80, 2100).flight(cas_mps="derived")
    assert missing_for_segments(made, larkmoor) == ("measured airspeed",)
    assert stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG) == ()


def test_an_empty_or_very_short_recording_gives_nothing(larkmoor):
    """No crash."""
    assert stabilised_segments(Builder().stretch(3, 80, 2100).flight(), larkmoor, 1000.0) == ()


def test_gaps_break_a_stretch(larkmoor):
    """NaN in the middle: what is left on each side is too short."""
    made = Builder().stretch(80, 80, 2100).flight()
    made.columns["rpm"].values[35:45] = np.nan
    assert stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG) == ()


def test_more_of_the_same_is_not_counted_again(larkmoor):
    """Twenty minutes at one speed are two readings, not eight."""
    found = stabilised_segments(Builder().stretch(1200, 90, 2250).flight(), larkmoor, WEIGHT_LB * LB_KG)
    assert len(found) == 2


def test_fuel_burned_makes_the_airplane_lighter(larkmoor):
    """The mass of a later stretch is less by the fuel flow recorded."""
    made = Builder().stretch(120, 80, 2100).stretch(600, 100, 2350).stretch(120, 70, 2000).flight()
    flow = np.full(len(made), 9 * 0.003785411784 / 3600)
    made = made.with_columns({"fuel_flow_m3ps": Column(flow, "measured")})
    found = [s.reading for s in stabilised_segments(made, larkmoor, WEIGHT_LB * LB_KG)]
    assert found[0].mass_kg - found[-1].mass_kg == pytest.approx(720 / 3600 * 9 * 6 * LB_KG, rel=0.15)
    assert found[0].fuel_flow_m3ps == pytest.approx(flow[0])


def test_a_recorded_flight_teaches_the_flap_drag_no_table_holds(larkmoor, airplane_folder):
    """Level stretches computed from the truth, none typed: slow flight with full flaps comes within its band."""
    builder = Builder()
    for notch, speeds in ((0, (62, 75, 92)), (3, (54, 70))):
        for kcas in speeds:
            rpm, _ = true_level(TRUTH, kcas * KT_MPS, WEIGHT_LB, 3000, notch=notch)
            builder.stretch(120, kcas, rpm, notch=notch).stretch(40, kcas + 5, 2300, trend_kt=-15, noise=3.0)
    from airwork.airplane.airplane import Airplane

    bare = Airplane(larkmoor.file.model_copy(update={"observations": []}))
    found = [s.reading for s in stabilised_segments(builder.flight(), bare, WEIGHT_LB * LB_KG)]
    assert len(found) == 5
    before, after = performance(bare), performance(bare, found)
    q = Condition(1900 * LB_KG, 6000 * FT_M, 280.0)
    cas = 58 * KT_MPS
    isa = 280.0 - float(standard_temperature_k(6000 * FT_M))
    rpm, _ = true_level(TRUTH, cas, 1900, 6000, isa, notch=3)
    known, unknown = (level_flight(p, cas, q.with_flaps(3)) for p in (after, before))
    assert abs(float(known.rpm) - rpm) <= float(known.rpm_90)
    assert float(known.rpm_90) < 0.4 * float(unknown.rpm_90)
