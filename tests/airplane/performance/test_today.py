"""Everything for one weight and air, and fuel flow moved by readings."""

import numpy as np
import pytest

from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.fuel import fuel_flow
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import readings_of
from airwork.airplane.performance.today import todays_answers
from airwork.errors import NotPossible
from airwork.units import FT_M, LB_KG, to_unit


def test_every_question_is_answered_with_its_band(fitted):
    """RPM or manifold pressure, power, fuel, pitch, cruise, climbs, power curve, turns, glides, times, heights."""
    for p in fitted.values():
        lines = todays_answers(p, Condition(0.9 * p.airplane.max_takeoff_mass_kg, 900.0, 285.0))
        names = {line.name for line in lines}
        setting = "RPM" if p.airplane.fixed_pitch else "manifold pressure"
        assert {setting, "power", "fuel flow, full rich", "pitch attitude", "true airspeed", "rate of climb"} <= names
        assert {"speed of least power", "bank", "glide ratio", "sink", "time", "caution"} <= names
        assert {"height lost in 360° at 45° of bank"} <= names
        for line in lines:
            if line.name in {
                setting,
                "power",
                "pitch attitude",
                "rate of climb",
                "bank",
                "glide ratio",
                "sink",
                "time",
            }:
                assert line.value is not None
                assert line.half_width_90 is not None
                assert np.isfinite(line.value)
                assert line.half_width_90 > 0


def test_what_can_not_be_flown_is_said(fitted):
    """Hot, high, heavy: level flight with full flaps, cruise at 65 %, any turn with full flaps."""
    lines = todays_answers(fitted["wrenbrook_108"], Condition(1600 * LB_KG, 11_000 * FT_M, 293.0))
    refused = {line.subject.split(",")[0]: line.note for line in lines if line.value is None and line.name != "caution"}
    assert "not possible" in refused["slow flight"]
    assert "not there" in refused["cruise"]
    assert "wings level" in refused["steepest level turn"]


def test_fuel_flow_is_the_handbooks_without_readings_and_moves_with_them(fitted):
    """Three readings 0.6 gal/h above the table: moved most of the way, and the band narrows."""
    p = fitted["larkmoor_155"]
    plain = fuel_flow(p, 0.6)
    assert plain.flow_m3ps == p.airplane.fuel_flow_m3ps(0.6, "full_rich")
    from dataclasses import replace

    more = []
    for r in readings_of(p.airplane):
        if r.kind == "level" and r.flap_notch == 0 and r.rpm and r.rpm > 2000:
            q = Condition(r.mass_kg, r.pressure_altitude_m, r.temperature_k)
            power = float(level_flight(p, r.cas_mps, q).power_ratio)
            flow = p.airplane.fuel_flow_m3ps(power, "full_rich") + 0.6 * 0.003785411784 / 3600
            more.append(replace(r, fuel_flow_m3ps=flow))
        else:
            more.append(r)
    moved = Performance(p.airplane, learn(p.airplane, more))
    answer = fuel_flow(moved, 0.6)
    assert 0.3 < to_unit(answer.flow_m3ps - plain.flow_m3ps, "gph") < 0.75
    assert answer.flow_90_m3ps < plain.flow_90_m3ps
    assert "readings" in answer.source


def test_leaning_above_the_limit_is_refused(fitted):
    """The handbook's own rule stays."""
    with pytest.raises(NotPossible, match="full rich"):
        fuel_flow(fitted["larkmoor_155"], 0.85, "best_power")


def test_the_height_of_a_gliding_turn_is_known_as_well_as_the_glide_ratio(fitted):
    """Height lost is the way round over the glide ratio: for a small error of it, the same share of itself."""
    p = fitted["larkmoor_155"]
    lines = todays_answers(p, Condition(0.9 * p.airplane.max_takeoff_mass_kg, 900.0, 285.0))
    found = {(line.subject.split(",")[0], line.name): line for line in lines}
    for glide in ("best glide", "least sink"):
        ratio, lost = found[glide, "glide ratio"], found[glide, "height lost in 360° at 45° of bank"]
        assert lost.half_width_90 / lost.value == pytest.approx(ratio.half_width_90 / ratio.value, rel=1e-9)
