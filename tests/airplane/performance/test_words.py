"""What is said of a fit says what its numbers say: signs, units, shares and ends. Expected values from outside."""

import math
import re
import tomllib
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import tomli_w

from airwork.airplane.performance import accuracy, book, level, speeds, throttle
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition, Setting, steady_states
from airwork.airplane.performance.differences import differences
from airwork.airplane.performance.fitted_file import fit, fitted_table
from airwork.airplane.performance.flight_words import history_lines
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, POWERED, Flown, Rows, Trace
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.geometry import geometry
from airwork.airplane.performance.gliding import best_glide, min_sink
from airwork.airplane.performance.joint_rows import LEAST_NOISE_MPS, linear, part_of, rates, regions, unrest_of
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.stored import stored_engine, stored_fit, stored_fuel
from airwork.errors import NotPossible
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
    assert f"kt {cruise} (± " in found["cruise true airspeed"].words
    assert np.sign(found["cruise true airspeed"].value) == -np.sign(off)
    assert f"RPM {slow} (± " in found["slow flight"].words
    assert found["slow flight"].value == pytest.approx(off, abs=30)


def test_a_difference_within_its_band_is_none(fitted):
    """ "As its handbook says" stands exactly where the difference is no larger than its half-width."""
    every = [d for p in fitted.values() for d in differences(p)]
    assert {d.clear for d in every} == {True, False}
    for d in every:
        assert ("handbook" in d.words) == (abs(d.value) <= d.value_90), d


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
    nothing = [("2026-05-05", "learned", "tuesday.csv", ()), ("2026-05-06", "removed", "monday.csv", ())]
    assert history_lines(nothing) == [
        "2026-05-05  learned from tuesday.csv: nothing that was not known", "2026-05-06  removed monday.csv",
    ]  # fmt: skip


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


class Without(SimpleNamespace):
    """An airplane whose file is silent of all it isn't given."""

    def __getattr__(self, name):
        raise NotPossible(name)


def test_what_the_file_does_not_say_of_its_sizes_is_assumed_and_said():
    """Span² is 7.3 times the area, the propeller 75 in, notches evenly spaced; an engine above 3,600 rpm has a gear of
    2.4 (common practice, no source). Lift is weight at the stall: S = 2 W / (ρ0 V² CLmax), CLmax 1.45."""
    notches = [SimpleNamespace(deflection_deg=d) for d in (0.0, 10.0, None, 30.0)]
    sizes = {"wing_area_m2": 16.0, "wing_span_m": 11.0, "propeller_diameter_m": 1.9}
    rest = {"flap_notches": notches[:1], "gear_ratio": 1.0, "rated_rpm": 3600.0}
    whole = geometry(Without(**sizes, **rest))
    assert (whole.aspect_ratio, whole.gear, whole.assumed) == (121.0 / 16.0, 1.0, ())
    stalls = {"handbook_mass_kg": 1000.0, "stall_cas_mps": lambda mass: 25.0}
    silent = geometry(Without(**rest, **stalls))
    assert silent.wing_area_m2 == pytest.approx(2.0 * 1000.0 * 9.80665 / (1.225 * 25.0**2 * 1.45))
    assert silent.aspect_ratio == pytest.approx(7.3)
    assert silent.diameter_m == pytest.approx(75 * 0.0254)
    assert silent.assumed == ("wing area 190 ft² from the stall speed", "wing span 37 ft", "propeller diameter 75 in")
    fast = geometry(Without(**sizes, **{**rest, "rated_rpm": 3601.0}))
    assert (fast.gear, fast.assumed) == (2.4, ("the propeller's gear 2.4",))
    assert geometry(Without(**sizes, **{**rest, "rated_rpm": 5800.0, "gear_ratio": 2.43})).assumed == ()
    for flaps, deflections, assumed in (
        (notches[:1], [], ()), ([notches[0], notches[1], notches[3]], [1 / 3, 1.0], ()),
        (notches, [1 / 3, 2 / 3, 1.0], ("flap notches evenly spaced",)),
    ):  # fmt: skip
        found = geometry(Without(**sizes, **{**rest, "flap_notches": flaps}))
        assert (found.deflections.tolist(), found.assumed) == (pytest.approx(deflections), assumed)


def test_the_ends_and_the_usual_of_an_airplane_are_its_files_or_assumed(fitted):
    """RPM: the readings' middle, else the cruise table's, else 85 % of rated. Without a never-exceed speed 4 Vs."""
    p = fitted["caldmere_200"]
    level = [r for r in p.learned.readings_used if r.kind == "level"]
    assert p.usual_rpm == np.median([r.rpm for r in level])
    without = replace(p, learned=replace(p.learned, residuals=()))
    printed = [row.rpm for row in p.airplane.file.performance.cruise.rows if row.rpm is not None]
    assert without.usual_rpm == np.median(printed)
    assert repr(p) == f"Performance('caldmere_200', {len(p.learned.readings_used)} readings)"
    file = p.airplane.file.model_copy(
        update={"performance": p.airplane.file.performance.model_copy(update={"cruise": None})}
    )
    bare = SimpleNamespace(file=file, rated_rpm=2700.0, max_takeoff_mass_kg=1200.0, limits=SimpleNamespace(
        never_exceed_ias_mps=None, max_rpm=None), stall_cas_mps=lambda mass: 25.0 * mass / 1200.0)  # fmt: skip
    lone = replace(without, airplane=bare)
    assert (lone.usual_rpm, lone.redline_rpm) == (pytest.approx(0.85 * 2700.0), 2700.0)
    assert lone.never_exceed_cas_mps == 100.0


def test_full_throttle_takes_no_more_than_the_maximum_rpm(fitted):
    """Fixed pitch: power where propeller and engine agree, at the red line at most; constant speed: at the red line."""
    p, at = fitted["larkmoor_155"], Condition(950.0, 900.0, 282.0)
    slow, fast = (throttle.full_throttle_ratio(p, v, at) for v in (30.0, 75.0))
    tas, density, _ = throttle.air(30.0, at)
    n = p.fixed.full_throttle_n(tas, density)
    assert 60.0 * n[0] < p.redline_rpm
    assert slow == pytest.approx(float(p.fixed.full_power_w(n, density)[0]) / p.airplane.rated_power_w, rel=1e-9)
    tas, density, _ = throttle.air(75.0, at)
    assert 60.0 * p.fixed.full_throttle_n(tas, density)[0] > p.redline_rpm
    taken = p.fixed.power_w(tas, np.array([p.redline_rpm / 60.0]), density)[0]
    assert fast == pytest.approx(taken / p.airplane.rated_power_w, rel=1e-9)
    q = fitted["caldmere_200"]
    full = q.engine.full_power_w(q.redline_rpm, 900.0, 282.0) / q.airplane.rated_power_w
    assert throttle.full_throttle_ratio(q, 60.0, at) == pytest.approx(float(full), rel=1e-9)
    assert throttle.full_throttle_rpm(q, np.full(3, 60.0), at).tolist() == [q.redline_rpm] * 3


def test_a_closed_throttle_is_no_setting_to_climb_with(fitted):
    p, at = fitted["larkmoor_155"], Condition(950.0, 900.0, 282.0)
    assert climb(p, 45.0, at, Setting(rpm=2100.0)).rpm == pytest.approx(2100.0)
    with pytest.raises(NotPossible, match="glides"):
        climb(p, 45.0, at, Setting(idle=True))


def test_more_answers_than_are_worked_out_at_a_time_are_the_same(fitted, monkeypatch):
    """In parts of four, each with its own weight, height and temperature: as all at once, in the shape asked for."""
    p = fitted["larkmoor_155"]
    cas, mass = np.linspace(35.0, 55.0, 5)[:, None], np.array([850.0, 1000.0])
    at = Condition(mass, 900.0, 282.0)
    whole = level_flight(p, cas, at)
    monkeypatch.setattr(level, "_CHUNK", 4)
    parts = level_flight(p, cas, at)
    assert parts.rpm.shape == whole.rpm.shape == (5, 2)
    np.testing.assert_allclose(parts.rpm, whole.rpm, rtol=1e-12)
    np.testing.assert_allclose(parts.power_90, whole.power_90, rtol=1e-12)


def test_a_stored_fit_of_other_numbers_is_fitted_anew(fitted):
    """Another law, other tables, a matrix of another size: nothing is taken from it; six numbers of fuel are older."""
    p = fitted["larkmoor_155"]
    table = fitted_table(p.airplane, replace(p.learned, fuel=FuelLine(1e-6, 2e-11, 0.02, 3)))

    def kept(**changed):
        return SimpleNamespace(file=p.airplane.file.model_copy(update={"fitted": table.model_copy(update=changed)}))

    found = stored_fit(kept(), p.law)
    np.testing.assert_allclose(found.theta, p.theta, rtol=1e-8)
    np.testing.assert_allclose(found.cov, p.learned.own.cov, rtol=1e-8)
    for changed in ({"law": "fixed pitch, 1"}, {"inputs": "other"}, {"names": table.names[:-1]},
                    {"values": table.values[:-1]}, {"covariance": table.covariance[:-1]}):  # fmt: skip
        assert stored_fit(kept(**changed), p.law) is None
    assert stored_fuel(table) == FuelLine(1e-6, 2e-11, 0.02, 3)
    assert stored_fuel(table.model_copy(update={"fuel": table.fuel[:6]})) == FuelLine(1e-6, 2e-11, 0.02, 3)
    assert stored_fuel(table.model_copy(update={"fuel": table.fuel[:5]})) is None
    engine = stored_engine(table, replace(p.learned.engine, strength=2.0))
    assert engine.strength == pytest.approx(p.learned.engine.strength, rel=1e-8)
    np.testing.assert_allclose(engine.cov, p.learned.engine.cov, rtol=1e-8)
    older = stored_engine(
        table.model_copy(update={"engine": table.engine[:4]}), replace(p.learned.engine, cov=np.eye(3))
    )
    np.testing.assert_allclose(older.cp, p.learned.engine.cp, rtol=1e-8)
    assert (older.cov == np.eye(3)).all()
    assert stored_engine(table.model_copy(update={"engine": []}), p.learned.engine) is p.learned.engine


def test_the_highest_manifold_pressure_over_the_air_s_is_full_throttle(fitted):
    """By hand from the chart's rows: the pressure of standard air is 101 325 Pa · (1 − 2.25577e-5 · h)^5.25588."""
    p = fitted["caldmere_200"]
    rows = p.airplane.file.performance.power_chart.rows
    printed = [(r.manifold_pressure_inhg * 3386.389, r.pressure_altitude_ft * 0.3048) for r in rows
               if r.manifold_pressure_inhg is not None]  # fmt: skip
    shares = [pa / (101325.0 * (1.0 - 2.25577e-5 * h) ** 5.25588) for pa, h in printed]
    engine = book.manifold_engine(p.airplane)
    assert engine.top_share == pytest.approx(max(shares), rel=1e-4)
    assert 0.9 < engine.top_share < 1.05


@pytest.mark.parametrize("name", ["larkmoor_155", "caldmere_200"])
def test_the_slopes_of_every_kind_of_window_are_those_of_its_rate(fitted, name):
    """Each column against the difference quotient of the rate itself, for level, gliding and full-throttle windows."""
    p = fitted[name]
    n, kinds = 6, np.array([POWERED, GLIDE, FULL_CLIMB, POWERED, GLIDE, FULL_CLIMB])
    tas = np.linspace(42.0, 58.0, n)
    rows = Rows(16.0 * np.arange(n), tas, 0.95 * tas, np.full(n, 1.08), np.full(n, 1.02), np.array([0, 0, 0, 1, 1, 1]),
                np.full(n, 5.0), np.full(n, 1000.0), np.full(n, 283.0), np.full(n, 2350.0), np.full(n, 75000.0),
                np.zeros(n), kinds, np.full(n, np.nan), np.zeros(n, dtype=int))  # fmt: skip
    flight = Flown("key", "one.csv", "", 980.0, "typed", rows, Trace(np.nan, np.zeros(0), np.zeros(0)))
    part = part_of(p.airplane, flight, p.learned.engine)
    common = np.concatenate([p.theta, [0.01, 0.02, 0.03, 0.04]])
    own = np.array([0.015, 0.4])
    off, of_common, of_own = linear(p.law, common, part, own)
    np.testing.assert_allclose(off, rates(p.law, common, part, own)[0])
    for k in range(common.size):
        step = np.zeros(common.size)
        step[k] = 1e-5 * max(abs(common[k]), 0.1)
        ends = [rates(p.law, common + s * step, part, own)[0] for s in (1.0, -1.0)]
        slope = (ends[0] - ends[1]) / (2.0 * step[k])
        np.testing.assert_allclose(of_common[:, k], slope, rtol=3e-3, atol=1e-4 * np.abs(of_common).max())
    for k, step in ((0, 1e-5), (1, 1e-4)):
        moved = [rates(p.law, common, part, own + s * step * np.eye(2)[k])[0] for s in (1.0, -1.0)]
        np.testing.assert_allclose(of_own[:, k], (moved[0] - moved[1]) / (2.0 * step), rtol=5e-3, atol=1e-3)
    # by hand: what is left of thrust over drag, times speed over weight; more of nothing
    none = np.concatenate([p.theta, np.zeros(4)])
    at = part.state(np.zeros(2))
    falling = p.law.polar.drag_n(p.theta, at, windmilling=True)
    still = rates(p.law, none, part, np.zeros(2))[0]
    np.testing.assert_allclose(still[1::3], (-falling * tas / (975.0 * 9.80665))[1::3], rtol=1e-9)
    excess = p.law.excess_n(p.theta, at, part.control)
    np.testing.assert_allclose(still[[0, 2, 3, 5]], (excess * tas / (975.0 * 9.80665))[[0, 2, 3, 5]], rtol=1e-9)


def test_the_unrest_of_the_air_is_read_off_the_residuals():
    """A median is 1/1.4826 of a normal's standard deviation; rows that follow one another with the same sign repeat
    each other: (1 + r)/(1 − r), r at most 0.8; a fifth where too few follow one another."""
    time, one = 16.0 * np.arange(40), np.ones(40)
    swaying = np.where(np.arange(40) % 2 == 0, 0.3, -0.3)
    noise, repeat = unrest_of(swaying, time, 0.0 * one, 0.0)
    assert (noise, repeat) == (pytest.approx(1.4826 * 0.3), 1.0)
    noise, repeat = unrest_of(0.3 * one, time, 0.5 * one, 0.0)  # known to 0.5: nothing is left but the least
    assert (noise, repeat) == (LEAST_NOISE_MPS, pytest.approx(9.0))
    noise, _ = unrest_of(swaying, time, 0.5 * one, 0.4)  # of the 0.5 the air of before had 0.4: 0.3 is known
    assert noise == pytest.approx(np.sqrt((1.4826 * 0.3) ** 2 - 0.3**2))
    assert unrest_of(swaying, 25.0 * np.arange(40), 0.0 * one, 0.0)[1] == pytest.approx(1.2 / 0.8)
    few = unrest_of(swaying[:7], time[:7], one[:7], 0.9)
    assert few[0] == 0.9


@pytest.mark.parametrize(("share", "rpm"), [(0.0, 11.0), (0.5, 12.0), (1.0, 27.0), (1.3, 27.0)])
def test_what_the_law_itself_leaves_is_as_the_documentation_says(share, rpm):
    """11 RPM, and up to 16 more near the stall; 2 % of the power and half a point; 15 ft/min and 4 % of a climb; 1.5 %
    of a load factor (`bench/performance_accuracy.py`)."""
    at = SimpleNamespace(stall_share=np.array([share]))
    assert accuracy.rpm_sd(at)[0] == pytest.approx(rpm)
    assert accuracy.power_share_sd(np.array([-0.5]))[0] == pytest.approx(0.015)
    assert to_unit(accuracy.climb_rate_sd_mps(np.array([from_unit(500.0, "fpm")]))[0], "fpm") == pytest.approx(25.0)
    assert accuracy.load_sd(np.array([2.0]))[0] == pytest.approx(0.03)


@pytest.mark.parametrize("name", ["larkmoor_155", "caldmere_200"])
def test_what_a_knot_slower_costs_is_the_climb_lost_by_it(fitted, name):
    """The difference of two climbs half a knot to either side; at the slowest speed there is, of what is left of it."""
    p, at = fitted[name], Condition(0.9 * fitted[name].airplane.max_takeoff_mass_kg, 900.0, 283.0)
    stall = float(p.airplane.stall_cas_mps(float(at.mass_kg)))
    assert back_side(p, at).at_cas_mps == pytest.approx(1.15 * stall, rel=1e-3)
    for over, below in ((1.25, 0.5), (1.7, 0.5), (1.0501, 0.0)):
        cas = over * stall
        ends = climb(p, np.array([cas - below * KT_MPS, cas + 0.5 * KT_MPS]), at).climb_rate_mps
        found = back_side(p, at, cas)
        assert found.climb_rate_per_kt_mps == pytest.approx((ends[0] - ends[1]) / (below + 0.5), rel=0.02, abs=1e-4)
        assert found.on_back_side == (cas < found.min_power_cas_mps)
    curve = np.linspace(1.06 * stall, 2.0 * stall, 400)
    power = level_flight(p, curve, at).power_ratio
    assert back_side(p, at).min_power_cas_mps == pytest.approx(curve[int(np.argmin(power))], rel=0.01)


def test_the_least_value_lies_on_the_parabola_through_three():
    """y = (x − 2.3)² at whole numbers; at an end, or on a kink that bends no way, the number itself."""
    x = np.arange(6.0)
    assert speeds.least(x, (x - 2.3) ** 2) == pytest.approx(2.3)
    assert speeds.least(x, (x - 2.3) ** 2 + 5.0) == pytest.approx(2.3)
    assert speeds.least(x, x) == 0.0
    assert speeds.least(x, -x) == 5.0
    assert speeds.least(x, np.array([np.nan, 4.0, 1.0, 0.0, 1.0, 4.0])) == 3.0
    assert speeds.least(x, np.ones(6)) == 0.0


@pytest.mark.parametrize("name", ["larkmoor_155", "caldmere_200"])
def test_least_sink_and_best_glide_are_the_extremes_of_the_polar(fitted, name):
    """Least drag times speed, least drag: found on a fine grid of the polar itself."""
    p, at = fitted[name], Condition(0.9 * fitted[name].airplane.max_takeoff_mass_kg, 900.0, 283.0, 1)
    stall = float(p.airplane.stall_cas_mps(float(at.mass_kg), 1))
    cas = np.linspace(1.05 * stall, 2.5 * stall, 1000)
    flown = steady_states(p.airplane, cas, at)
    drag = p.law.polar.drag_n(p.theta, flown, windmilling=True)
    for found, cost in ((min_sink(p, at), drag * flown.tas_mps), (best_glide(p, at), drag)):
        k = int(np.argmin(cost))
        assert found.cas_mps == pytest.approx(cas[k], rel=0.01)
        ratio = float(flown.lift_n[k] / drag[k])
        assert found.glide_ratio == pytest.approx(ratio, rel=1e-3)
        assert found.sink_mps == pytest.approx(flown.tas_mps[k] / np.hypot(1.0, ratio), rel=0.01)
        assert found.glide_ratio_90 >= 1.6449 * 0.05 * ratio
        assert found.sink_90_mps / found.sink_mps == pytest.approx(found.glide_ratio_90 / found.glide_ratio)


def test_a_flight_is_slow_fast_or_climbing(fitted):
    """Below 1.5 times the stall speed, above it, at more than 1 m/s: each window in one at most, no glide in any."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(980.0))
    cas = stall * np.array([1.49, 1.51, 1.3, 1.3, 1.3, 1.3])
    rate, kind = np.array([0.9, -0.9, 1.1, -1.1, 0.0, 3.0]), np.array([POWERED] * 4 + [GLIDE, FULL_CLIMB])
    n = cas.size
    rows = Rows(16.0 * np.arange(n), cas, cas, np.full(n, 1.2), np.ones(n), np.zeros(n, dtype=int), np.zeros(n),
                np.zeros(n), np.full(n, 288.0), np.full(n, 2300.0), np.full(n, np.nan), rate, kind, np.full(n, np.nan),
                np.zeros(n, dtype=int))  # fmt: skip
    flight = Flown("key", "one.csv", "", 980.0, "typed", rows, Trace(np.nan, np.zeros(0), np.zeros(0)))
    slow, fast, climbing = regions(part_of(p.airplane, flight, p.learned.engine))
    assert [mask.tolist() for mask in (slow, fast, climbing)] == [
        [True] + [False] * 5, [False, True] + [False] * 4, [False, False, True] + [False] * 3]  # fmt: skip
