"""What is said of a fit says what its numbers say: signs, units, shares and ends. Expected values from outside."""

import math
import re
import tomllib
from types import SimpleNamespace

import numpy as np
import pytest
import tomli_w

from airwork.airplane.performance import book, speeds
from airwork.airplane.performance import differences as book_differences
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition, Setting
from airwork.airplane.performance.differences import differences
from airwork.airplane.performance.fitted_file import fit
from airwork.airplane.performance.flight_words import history_lines
from airwork.airplane.performance.report import fit_report
from airwork.airplane.performance.speeds import max_level_speed
from airwork.units import FT_M, KT_MPS, LB_KG, from_unit, to_unit

FT2_PER_M2 = 10.7639  # NIST SP 811 (2008), appendix B.8: 1 ft² = 9.290 304 E-02 m² [V]


@pytest.fixture
def data(airplane_folder):
    """Larkmoor's file as plain data, to be changed."""
    return tomllib.loads((airplane_folder / "larkmoor_155.toml").read_text("utf-8"))


@pytest.mark.parametrize(("off", "word"), [(400, "less"), (-400, "more")])
def test_a_reading_far_off_is_told_which_way_the_fit_lies(data, off, word):
    """The other ten know nothing of it: what they say lies about as far on the other side, the sign the reverse."""
    data["observations"][2]["rpm"] += off
    found = [r.reading.left_out for r in fit(tomli_w.dumps(data), []).learned.residuals if r.reading.left_out]
    assert len(found) == 1
    number, said = re.fullmatch(r"the fit without it says (\d+) RPM (more|less)", found[0]).groups()
    assert said == word
    assert float(number) == pytest.approx(400, abs=30)


@pytest.mark.parametrize(("off", "cruise", "slow"), [(-90, "faster", "less"), (90, "slower", "more")])
def test_readings_with_less_rpm_are_of_a_faster_airplane(data, off, cruise, slow):
    """The same speeds held at 90 RPM less: by physics faster at the book's RPM, and slow flight needs less."""
    for row in data["observations"]:
        if row["kind"] == "level":
            row["rpm"] += off
    found = {d.name: d for d in differences(fit(tomli_w.dumps(data), []))}
    assert f"kt {cruise} at" in found["cruise true airspeed"].words
    assert np.sign(found["cruise true airspeed"].value) == -np.sign(off)
    assert f"RPM {slow} in slow flight" in found["slow flight"].words
    assert found["slow flight"].value == pytest.approx(off, abs=30)


def test_a_difference_within_its_band_is_none(fitted):
    """ "As its handbook says" stands exactly where the difference is no larger than its half-width."""
    every = [d for p in fitted.values() for d in differences(p)]
    assert {d.clear for d in every} == {True, False}
    for d in every:
        assert ("handbook" in d.words) == (abs(d.value) <= d.value_90), d


def test_the_share_left_of_what_was_known_in_general_is_a_ratio_of_spreads(fitted):
    p = fitted["larkmoor_155"]
    said = fit_report(p).as_json()["parameters"]
    own, general = np.sqrt(np.diag(p.learned.own.cov)), np.sqrt(np.diag(p.learned.general.cov))
    shares = [row["share_of_general_spread"] for row in said.values()]
    np.testing.assert_allclose(shares, own / general, rtol=1e-3)
    assert 0.0 < min(shares) < max(shares) < 1.0


def test_a_wing_that_is_not_in_the_file_is_assumed_in_square_feet(data):
    for key in ("wing_area_ft2", "wing_span_ft"):
        del data["airplane"][key]
    sizes = fit(tomli_w.dumps(data), []).learned.geometry
    area = re.fullmatch(r"wing area (\d+) ft² from the stall speed", sizes.assumed[0])
    assert float(area[1]) == pytest.approx(sizes.wing_area_m2 * FT2_PER_M2, abs=0.51)
    assert 120 < float(area[1]) < 240  # singles of its weight: common practice, no source


def test_the_history_names_day_deed_and_recording():
    events = [("2026-05-04T11:22:33Z", "learned", "monday.csv", ("climb: 700 → 720 ft/min",))]
    assert history_lines(events) == ["2026-05-04  learned from monday.csv", "            climb: 700 → 720 ft/min"]


def test_a_constant_speed_climb_is_at_the_rpm_that_was_asked_for(fitted):
    """Else at the red line, which is what full throttle means there."""
    p = fitted["caldmere_200"]
    at, speeds_mps = Condition(2500 * LB_KG, 3000 * FT_M, 282.2), np.array([80.0, 90.0]) * KT_MPS
    assert climb(p, speeds_mps, at).rpm == pytest.approx([p.redline_rpm] * 2)
    assert climb(p, speeds_mps, at, Setting(rpm=2400.0)).rpm == pytest.approx([2400.0] * 2)


def test_with_power_to_spare_at_the_last_speed_that_speed_is_the_answer(fitted, monkeypatch):
    p, at = fitted["larkmoor_155"], Condition(2000 * LB_KG, 3000 * FT_M, 282.2)
    monkeypatch.setattr(speeds, "answer_speeds", lambda performance, at: np.linspace(35.0, 45.0, 11))
    found = max_level_speed(p, at)
    assert found.cas_mps == pytest.approx(45.0)
    assert found.limit == "never-exceed speed"


@pytest.mark.parametrize("known", [True, False])
def test_an_engine_that_turns_faster_does_so_by_the_share_asked_for(fitted, known):
    """Standing still the torque a propeller takes goes with n²: exp(0.03) times the RPM is asked, exp(0.03) comes."""
    engine = next(p.learned.engine for n, p in fitted.items() if n == "larkmoor_155")
    if not known:
        from dataclasses import replace

        engine = replace(engine, known=False)
    still, air = np.zeros(1), np.array([1.1])
    more = engine.turning(0.03).full_throttle_n(still, air) / engine.full_throttle_n(still, air)
    assert more[0] == pytest.approx(np.exp(0.03), rel=1e-9)


def test_the_control_of_a_climb_is_known_to_a_hundredth(fitted):
    """Where the table says full throttle, what it turns is ours: 1 % of it, in rev/s."""
    p = fitted["larkmoor_155"]
    rows = book.climb_rows(p.airplane)
    block = book.book_evidence(p.airplane, p.learned.book_engine, (), rows, ()).climb
    assert len(block) == len(rows)
    np.testing.assert_allclose(block.control_sd, block.control / 100.0)
    assert 2000 < 60.0 * block.control.mean() < 2800


@pytest.mark.parametrize("gph", [[1.0], [1.0, 1.4], [1.0, 1.4, 3.0]])
def test_fuel_flows_scatter_as_they_do_from_the_third_on(fitted, monkeypatch, gph):
    """One or two readings say nothing of their own scatter: what a gauge can be read to counts. 1.645 : 90 % of a
    normal distribution (NIST/SEMATECH e-Handbook, 1.3.6.7.1, from memory)."""
    values = from_unit(np.array(gph), "gph")
    monkeypatch.setattr(book_differences, "flow_differences_m3ps", lambda performance: {"best_power": values})
    (found,) = [d for d in differences(fitted["larkmoor_155"]) if d.name == "fuel flow, best power"]
    read = to_unit(book_differences.READ_SD_M3PS, "gph")
    scatter = read if len(gph) < 3 else max(read, np.std(gph, ddof=1))
    assert found.value == pytest.approx(np.mean(gph))
    assert found.value_90 == pytest.approx(1.645 * scatter / np.sqrt(len(gph)), rel=1e-3)


def test_points_of_power_are_hundredths_of_the_rated_power(fitted, monkeypatch):
    """The whole rated power more is a hundred points more."""
    p = fitted["caldmere_200"]
    (own,) = [d for d in differences(p) if d.name == "slow flight"]
    control = p.law.control
    monkeypatch.setattr(
        type(p.law),
        "control",
        lambda law, theta, at: control(theta, at) + (theta is p.theta) * p.airplane.rated_power_w,
    )
    (more,) = [d for d in differences(p) if d.name == "slow flight"]
    assert own.unit == "%"
    assert more.value - own.value == pytest.approx(100.0, abs=1e-6)


@pytest.mark.parametrize(("gph", "word"), [(0.5, "more"), (-0.5, "less")])
def test_a_fuel_flow_off_the_book_is_said_with_its_sign(fitted, monkeypatch, gph, word):
    """Two dozen readings half a gallon off, all alike: what a gauge can be read to is a fraction of that by then."""
    values = from_unit(np.full(24, gph), "gph")
    monkeypatch.setattr(book_differences, "flow_differences_m3ps", lambda performance: {"best_power": values})
    (found,) = [d for d in differences(fitted["larkmoor_155"]) if d.name == "fuel flow, best power"]
    assert re.match(rf"burns 0\.5 gal/h {word}", found.words), found.words


@pytest.mark.parametrize("count", [1, 4])
def test_the_strength_of_an_engine_is_pulled_to_what_is_read_by_both_spreads(fitted, count):
    """Known to 4 % beforehand and to 2 % by each reading: the mean of two normals, each by 1/σ² (conjugate update,
    from memory). One reading counts 4/5, four count 16/17."""
    engine = fitted["larkmoor_155"].learned.book_engine
    at = SimpleNamespace(tas_mps=35.0, density_kgpm3=1.1)
    turns = np.array([2400.0 / 60.0])
    off = math.log(float(engine.power_w(35.0, turns, 1.1)[0]) / float(engine.full_power_w(turns, 1.1)[0]))
    found = book.calibrated_engine(engine, [SimpleNamespace(rpm=2400.0)] * count, [at] * count)
    assert abs(off) > 0.01
    assert math.log(found.strength) == pytest.approx(off * (1.0 - 1.0 / (1.0 + 4.0 * count)), rel=1e-9)
