"""What is said of a fit says what its numbers say: signs, units, shares and ends. Expected values from outside."""

import math
import re
import tomllib
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import tomli_w

from airwork.airplane.performance import Performance, accuracy, advice, book, level, speeds, throttle
from airwork.airplane.performance import differences as book_differences
from airwork.airplane.performance import fuel as fuel_module
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition, Setting, steady_states
from airwork.airplane.performance.differences import differences
from airwork.airplane.performance.fitted_file import fit, fitted_table, reading_row
from airwork.airplane.performance.flight_words import history_lines
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, POWERED, Flown, Rows, Trace
from airwork.airplane.performance.fuel import fuel_flow
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.geometry import geometry
from airwork.airplane.performance.gliding import best_glide, min_sink
from airwork.airplane.performance.joint_rows import LEAST_NOISE_MPS, linear, part_of, rates, regions, unrest_of
from airwork.airplane.performance.judging import Judge, Outlook, Residual, weights_without_fuel
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.readings import Reading, why_unusable
from airwork.airplane.performance.ready import ready_to_brief
from airwork.airplane.performance.report import _left_out, _missing
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.stored import stored_engine, stored_fit, stored_fuel
from airwork.airplane.performance.today import _Day, todays_answers
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


LARKMOOR_AT = {"mass_kg": 950.0, "pressure_altitude_m": 914.4, "temperature_k": 282.2, "flap_notch": 0, "cas_mps": 40.0}


def a_reading(kind: str = "level", **more: object) -> Reading:
    return Reading(kind, **{**LARKMOOR_AT, "rpm": 2200.0, **more})  # type: ignore[arg-type]


def judge_of(p: Performance) -> Judge:
    return Judge(p.airplane, p.law, p.learned.prior, p.engine)


@pytest.mark.parametrize(
    ("off", "per_knot", "known", "sd", "knots", "checked", "asked"),
    [
        (0.5, 0.0334, 0.99, 2.2, -0.5 / 0.0334, True, False),  # 2 RPM a knot: so many knots would explain it
        (-0.5, 0.0334, 1.01, 1.3, 0.5 / 0.0334, False, False),
        (0.5, -0.0334, 0.99, 2.4, 0.5 / 0.0334, True, True),
        (0.5, 0.0332, 1.01, -1.5, np.nan, False, True),  # too flat to say
        (0.5, np.nan, 0.99, -2.4, np.nan, True, True),
    ],
)
def test_a_reading_is_doubted_by_what_the_others_know(
    fitted, monkeypatch, off, per_knot, known, sd, knots, checked, asked
):
    """Known to 60 RPM it is checked, and asked about from 2.3 standard deviations; less well known from 1.4."""
    monkeypatch.setattr(Judge, "_meant", lambda self, reading, seen: "asked")
    judge = judge_of(fitted["larkmoor_155"])
    found = judge._residual(a_reading(), Outlook(off, sd, known, per_knot, None), out=False, why="")
    assert found.knots == pytest.approx(knots, nan_ok=True)
    assert (found.off, found.unit, found.checked, found.used) == (pytest.approx(60.0 * off), "RPM", checked, True)
    assert (found.asks == "asked") is asked
    climb = judge._residual(a_reading("full_throttle_climb", climb_rate_mps=3.0), Outlook(0.1, 1.0, 9.0, np.nan, None),
                            out=True, why="far")  # fmt: skip
    assert (climb.checked, climb.used, climb.why) == (True, False, "far")


@pytest.mark.parametrize(
    ("share_per_knot", "known_share", "told", "checked"), [(0.0101, 0.039, True, True), (0.0099, 0.041, False, False)]
)
def test_a_power_is_doubted_by_shares_of_the_rated_power(fitted, share_per_knot, known_share, told, checked):
    """A hundredth a knot, known to four."""
    p = fitted["caldmere_200"]
    rated = p.airplane.rated_power_w
    seen = Outlook(0.02 * rated, 0.1, known_share * rated, share_per_knot * rated, None)
    found = judge_of(p)._residual(a_reading(), seen, out=False, why="")
    assert np.isfinite(found.knots) == told
    assert found.checked is checked
    assert found.off == pytest.approx(2.0)


# Standard air at 3,000 ft: 9.1 °C ([ICAO 7488], by 1.98 °C per 1,000 ft). 41 °F is 5 °C, by definition.
@pytest.mark.parametrize(
    ("celsius", "asks"), [(40.9, ""), (41.3, "41 °C at 3,000 ft is 32 °C above standard: was it 41 °F (5 °C)?")]
)
def test_a_temperature_nobody_meets_up_there_is_asked_about(fitted, celsius, asks):
    reading = a_reading(temperature_k=celsius + 273.15)
    assert judge_of(fitted["larkmoor_155"])._residual(reading, None, out=False, why="").asks == asks


@pytest.mark.parametrize(
    ("better", "count", "fuel_kg", "mass_kg", "asks"),
    [(9.1, 3, 100.0, 900.0, True), (8.9, 3, 100.0, 900.0, False), (9.1, 2, 100.0, 900.0, False),
     (9.1, 3, 0.0, 900.0, False), (9.1, 3, 100.0, None, False)],
)  # fmt: skip
def test_weights_without_fuel_are_asked_about_where_that_fits_clearly_better(
    fitted, monkeypatch, better, count, fuel_kg, mass_kg, asks
):
    """Seven tenths of full tanks on top: 70 kg are 154 lb, 900 kg 1,984 lb (NIST SP 811). Nine is three standard
    deviations; not above the greatest weight, nor by two readings."""
    p = fitted["larkmoor_155"]
    mass = p.airplane.max_takeoff_mass_kg - 69.0 if mass_kg is None else mass_kg
    readings = [a_reading(mass_kg=mass) for _ in range(count)]
    monkeypatch.setattr(Judge, "cost", lambda self, some: 50.0 if some[0].mass_kg == mass else 50.0 - better)
    ignored = [a_reading(left_out="turbulent"), a_reading("idle_glide", climb_rate_mps=-3.0)]
    said = weights_without_fuel(judge_of(p), [*readings, *ignored], fuel_kg)
    assert said == ("the readings fit better some 154 lb heavier: does 1,984 lb include the fuel?" if asks else "")


def test_what_makes_a_reading_unusable_is_said(fitted, monkeypatch):
    """At 60° of bank an airplane stalls √2 times as fast ([PHAK] chapter 5)."""
    airplane = fitted["larkmoor_155"].airplane
    stall = float(airplane.stall_cas_mps(950.0, 0))
    slow = "slower than the stall speed: check the unit of the airspeed"
    for reading, words in (
        (a_reading(cas_mps=1.01 * stall), ""), (a_reading(cas_mps=0.99 * stall), slow),
        (a_reading(cas_mps=1.42 * stall, bank_rad=np.radians(60.0)), ""),
        (a_reading(cas_mps=1.41 * stall, bank_rad=np.radians(60.0)), slow), (a_reading(rpm=None), "no RPM"),
        (a_reading("idle_glide", rpm=None, climb_rate_mps=-3.0), ""),
        (a_reading("full_throttle_climb"), "no rate of climb or descent"),
        (a_reading(cas_mps=np.nan), "no airspeed within the calibration"),
        (a_reading(cas_mps=0.0), "no airspeed within the calibration"),
    ):  # fmt: skip
        assert why_unusable(airplane, reading) == words
    assert why_unusable(fitted["caldmere_200"].airplane, a_reading(cas_mps=60.0)) == "no manifold pressure"

    def refuse(self, mass_kg, notch=0):
        raise NotPossible("none")

    monkeypatch.setattr(type(airplane), "stall_cas_mps", refuse)
    assert why_unusable(airplane, a_reading(flap_notch=3)) == "no stall speed for flap notch 3"


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


def line_of(p: Performance, more: float, **how: float) -> Performance:
    """The airplane with flights that burned so much more than the full-rich column at 60 %."""
    flow = more * p.airplane.fuel_flow_m3ps(0.6, "full_rich")
    line = FuelLine(0.2 * flow, 0.8 * flow / (0.6 * p.airplane.rated_power_w), 0.03, 2, **how)
    return replace(p, learned=replace(p.learned, fuel=line))


def test_fuel_flow_is_the_books_moved_by_readings_and_flights_by_their_spreads(fitted, monkeypatch):
    """Normal with known variance: airplanes 0.4, a reading or flight 0.3 gal/h; 0.1 for the table's rounding. By hand:
    three readings 0.6 above: 0.6 · 33.3 / (33.3 + 6.25) = 0.505; with two flights 0.4 above besides 0.455 gal/h."""
    p = fitted["larkmoor_155"]
    printed = to_unit(p.airplane.fuel_flow_m3ps(0.6, "full_rich"), "gph")
    read = {"full_rich": [from_unit(0.6, "gph")] * 3}
    plain = fuel_flow(p, 0.6)
    assert to_unit(plain.flow_90_m3ps, "gph") == pytest.approx(1.6449 * np.hypot(0.4, 0.1), rel=1e-6)
    monkeypatch.setattr(fuel_module, "flow_differences_m3ps", lambda performance: read)
    three = fuel_flow(p, 0.6)
    assert to_unit(three.flow_m3ps, "gph") - printed == pytest.approx(
        0.6 * (3 / 0.09) / (3 / 0.09 + 1 / 0.16), rel=1e-6
    )
    half = np.sqrt(1.0 / (3 / 0.09 + 1 / 0.16) + 0.01)
    assert to_unit(three.flow_90_m3ps, "gph") == pytest.approx(1.6449 * half, rel=1e-6)
    assert three.source.endswith(" and 3 readings")
    both = fuel_flow(line_of(p, 1.0 + 0.4 / printed), 0.6)
    moved = (0.6 * 3 / 0.09 + 0.4 * 2 / 0.09) / (5 / 0.09 + 1 / 0.16)
    assert to_unit(both.flow_m3ps, "gph") - printed == pytest.approx(moved, rel=1e-4)
    assert both.source.endswith(" and 3 readings and 2 flights")
    nearer = fuel_flow(
        line_of(p, p.airplane.fuel_flow_m3ps(0.6, "best_power") / p.airplane.fuel_flow_m3ps(0.6, "full_rich")), 0.6
    )
    assert nearer.source == three.source  # flown leaned: another column's
    assert fuel_flow(p, 0.6, "best_power").source == fuel_flow(p, 0.6, "best_power").source.split(" and ")[0]


def test_where_the_book_prints_no_column_what_flights_burned_is_told(fitted, monkeypatch):
    """Leaned where flights were leaned; 90 % half-width: 1.6449 times their spread of 3 % and 2 % of a gauge."""
    p = line_of(fitted["larkmoor_155"], 1.0, leaner=0.85)

    def refuse(self, ratio, mixture):
        raise NotPossible("no such column")

    monkeypatch.setattr(type(p.airplane.engine), "fuel_flow", refuse)
    rich = p.learned.fuel.flow_m3ps(0.6 * p.airplane.rated_power_w)
    found = fuel_flow(p, 0.6)
    assert (found.flow_m3ps, found.source) == (pytest.approx(rich), "2 flights, mixture as flown")
    assert found.flow_90_m3ps == pytest.approx(1.6449 * rich * np.hypot(0.03, 0.02), rel=1e-9)
    leaned = fuel_flow(p, 0.6, "best_power")
    assert (leaned.flow_m3ps, leaned.source) == (pytest.approx(0.85 * rich), "2 flights, leaned as flown")
    never_leaned = replace(p, learned=replace(p.learned, fuel=replace(p.learned.fuel, leaner=0.0)))
    for other, mixture in ((never_leaned, "best_power"), (fitted["larkmoor_155"], "full_rich")):
        with pytest.raises(NotPossible, match="no such column"):
            fuel_flow(other, 0.6, mixture)


def test_the_rich_flow_thins_with_the_air_and_the_leaned_does_not():
    """flow = (1 + 2·3) at the usual pressure; at a quarter of it with m = ½ twice that; leaned 0.8 of it anywhere."""
    line = FuelLine(1.0, 2.0, 0.02, 3, usual_pa=80000.0, thin=0.5, leaner=0.8)
    assert float(line.flow_m3ps(3.0)) == 7.0
    assert float(line.flow_m3ps(3.0, 20000.0)) == pytest.approx(14.0)
    assert float(line.flow_m3ps(3.0, 20000.0, True)) == pytest.approx(5.6)
    assert float(replace(line, leaner=0.0).flow_m3ps(3.0, None, True)) == 7.0


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


@pytest.mark.parametrize(("levels", "said"), [
    ([0] * 5 + [1, 1, 2, 2, 3, 3], []),
    ([0] * 3 + [1, 2, 2, 3, 3], ["2 more level readings with flaps up, from about 1.1 Vs to cruise, all at one weight",
                                 "flap notch 1: one level reading"]),
    ([0] * 5 + [1, 1, 2, 2], ["flap notch 3: no level reading"]),
])  # fmt: skip
def test_what_is_still_asked_for(fitted, levels, said):
    """Five with flaps up, two for each notch, a climb, a glide; nothing once flights were learned from."""
    p = fitted["larkmoor_155"]
    assert p.airplane.flaps_full == 3
    both = [a_reading("full_throttle_climb"), a_reading("idle_glide")]
    used = [a_reading(flap_notch=n) for n in levels]
    with_ = lambda readings, flights=(): _missing(  # noqa: E731
        SimpleNamespace(airplane=p.airplane, learned=SimpleNamespace(flights=flights, readings_used=readings))
    )
    assert [line.split(";")[0] for line in with_([*used, *both])] == said
    assert with_([*used, both[1]])[len(said) :] == ("one full-throttle climb with its RPM",)
    assert with_([*used, both[0]])[len(said) :] == ("one idle glide",)
    assert with_([], (1,)) == ()


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


def test_a_reading_is_written_in_the_units_it_is_read_in():
    """By hand: 2,100 lb, 3,000 ft, 15.1 °C, 80 kt, 23.1 inHg, 700 ft/min, 8.25 gal/h, 5.5° of pitch, 30° of bank."""
    full = a_reading("full_throttle_climb", mass_kg=2100.3 * LB_KG, pressure_altitude_m=3000.4 * FT_M,
                     temperature_k=288.26, cas_mps=80.04 * KT_MPS, rpm=2400.4, manifold_pressure_pa=23.14 * 3386.389,
                     climb_rate_mps=700.4 * FT_M / 60, fuel_flow_m3ps=from_unit(8.254, "gph"), mixture="best_power",
                     pitch_rad=np.radians(5.54), bank_rad=np.radians(30.04), note="calm")  # fmt: skip
    assert reading_row(full) == {
        "kind": "full_throttle_climb", "weight_lb": 2100, "pressure_altitude_ft": 3000, "oat_c": 15.1, "flap_notch": 0,
        "kcas": 80.0, "rpm": 2400, "manifold_pressure_inhg": 23.1, "rate_of_climb_fpm": 700, "fuel_flow_gph": 8.25,
        "mixture": "best_power", "pitch_deg": 5.5, "bank_deg": 30.0, "note": "calm",
    }  # fmt: skip
    plain = reading_row(a_reading(rpm=None, bank_rad=0.0009))
    assert set(plain) == {"kind", "weight_lb", "pressure_altitude_ft", "oat_c", "flap_notch", "kcas"}


def answer_of(law_sd: float = 0.0) -> advice.Answer:
    return advice.Answer("slow flight", "rpm", 2200.0, np.array([1.0]), law_sd)


def spread_of(half: float) -> SimpleNamespace:
    """A covariance by which an answer is known to ± half (90 %)."""
    return SimpleNamespace(cov=np.array([[(half / 1.6449) ** 2]]))


@pytest.mark.parametrize(
    ("general", "handbook", "own", "book", "by"),
    [
        (100.0, 40.0, 20.0, True, "this airplane's readings"), (100.0, 40.0, 20.1, True, "the handbook and readings"),
        (100.0, 40.0, 34.1, True, "the handbook"), (100.0, 40.0, 33.9, True, "the handbook and readings"),
        (100.0, 50.1, 49.9, True, "the handbook and readings"), (100.0, 50.0, 49.9, True, "the handbook"),
        (100.0, 100.0, 50.1, False, "general knowledge only"), (100.0, 99.0, 49.9, False, "this airplane's readings"),
    ],
)  # fmt: skip
def test_an_answer_is_fixed_by_what_took_half_of_its_width(fitted, monkeypatch, general, handbook, own, book, by):
    monkeypatch.setattr(advice, "_answers", lambda performance: [answer_of()])
    p = fitted["larkmoor_155"]
    learned = replace(p.learned, general=spread_of(general), prior=spread_of(handbook), own=spread_of(own),
                      book=p.learned.book if book else None)  # fmt: skip
    (found,) = advice.known(replace(p, learned=learned))
    assert found.by == by
    assert (found.general_90, found.handbook_90, found.readings_90) == pytest.approx((general, handbook, own))
    flown = replace(learned, flights=(1,))
    assert advice.known(replace(p, learned=flown))[0].by == by.replace("readings", "flights and readings")
    assert answer_of(30.0).half_width_90(spread_of(0.0).cov) == pytest.approx(30.0 * 1.6449)
    assert answer_of(3.0).half_width_90(np.array([[16.0]])) == pytest.approx(5.0 * 1.6449)


@pytest.mark.parametrize(
    ("half", "readings", "law_sd", "said"),
    [
        (50.0, [], 0.0, "yes (± 50 RPM)"), (50.1, [], 0.0, "not yet (± 50 RPM); a recorded flight"),
        (60.0, [60.0], 0.0, "after one more reading (± 60 now): reading 0"),  # two of ± 60 are ± 42
        (80.0, [90.0], 0.0, "after two more readings (± 80 now): reading 0"),  # 59.8, then 49.8
        (80.0, [90.0, 89.0], 0.0, "after two more readings (± 80 now): reading 1"),
        (95.0, [100.0], 0.0, "after 3 more readings (± 95 now): reading 0"),  # 68.9, 56.7, 49.3
        (160.0, [115.0], 0.0, "not yet (± 160 RPM); a recorded flight"),  # 93, 72, 61, and 54 by the fourth
        (60.0, [60.0], 31.0, "not yet (± 79 RPM); a recorded flight"),  # 31 · 1.6449 is 51 by itself
        (60.0, [400.0], 0.0, "not yet (± 60 RPM); a recorded flight"),  # tells nothing
    ],
)  # fmt: skip
def test_ready_to_brief_is_fifty_rpm_or_says_what_brings_it_there(fitted, monkeypatch, half, readings, law_sd, said):
    """By hand: readings of ± a and ± b together are known to ± a·b/√(a² + b²)."""
    candidates = [(SimpleNamespace(words=f"reading {n}"), np.array([1.0]), (width / 1.6449) ** 2)
                  for n, width in enumerate(readings)]  # fmt: skip
    monkeypatch.setattr(advice, "candidates", lambda performance: candidates)
    monkeypatch.setattr(advice, "slow_answers", lambda performance: [(0, answer_of(law_sd)), (2, answer_of(law_sd))])
    p = fitted["larkmoor_155"]
    ready = replace(p, learned=replace(p.learned, own=spread_of(half), residuals=()))
    assert [line.startswith(start + said) for line, start in zip(ready_to_brief(ready), ("flaps up: ", "flaps 2: "),
                                                                 strict=True)] == [True, True]  # fmt: skip


def test_what_only_its_own_reading_checks_is_not_ready(fitted, monkeypatch):
    monkeypatch.setattr(advice, "slow_answers", lambda performance: [(2, answer_of())])
    monkeypatch.setattr(advice, "candidates", lambda performance: [])
    p = fitted["caldmere_200"]
    lone = Residual(a_reading(flap_notch=2), 0.0, "RPM", 0.0, 0.0, False, True)
    for residuals, said in (
        ((lone,), "after a second reading there, nothing checks the first (± 4 % of power)"),
        ((lone, replace(lone, checked=True)), "yes (± 4 % of power)"),
        ((replace(lone, used=False),), "yes (± 4 % of power)"),
        ((), "yes (± 4 % of power)"),
        ((replace(lone, reading=a_reading(flap_notch=1)),), "yes (± 4 % of power)"),
        ((replace(lone, reading=a_reading("idle_glide", flap_notch=2)),), "yes (± 4 % of power)"),
    ):
        ready = replace(p, learned=replace(p.learned, own=spread_of(4.0), residuals=residuals))
        assert ready_to_brief(ready) == (f"flaps 2: {said}",)
    wide = replace(p, learned=replace(p.learned, own=spread_of(5.1), residuals=()))
    assert "yes" not in ready_to_brief(wide)[0]  # five hundredths of the rated power


def test_a_reading_left_out_is_told_with_what_the_fit_says_there(fitted):
    """RPM of a fixed pitch, percent of power of a constant-speed propeller, ft/min of a climb, of a glide none."""
    p, q = fitted["larkmoor_155"], fitted["caldmere_200"]

    def left(performance, reading):
        return _left_out(performance, Residual(reading, 0.0, "", 9.0, 0.0, True, False, "far off"))

    at = Condition(950.0, 914.4, 282.2)
    level_rpm = left(p, a_reading(left_out="far off"))
    assert (level_rpm.fit_says, level_rpm.unit) == (round(float(level_flight(p, 40.0, at).rpm)), "rpm")
    assert "left_out" not in level_rpm.reading
    power = left(q, a_reading(cas_mps=55.0, manifold_pressure_pa=70000.0))
    assert (power.fit_says, power.unit) == (round(100.0 * float(level_flight(q, 55.0, at).power_ratio)), "% power")
    rising = left(p, a_reading("full_throttle_climb", climb_rate_mps=3.0, rpm=2400.0))
    found = climb(p, 40.0, at, Setting(rpm=2400.0))
    assert (rising.fit_says, rising.unit) == (round(to_unit(float(found.climb_rate_mps), "fpm")), "ft/min")
    for unsaid in (a_reading("idle_glide", climb_rate_mps=-3.0), a_reading(rpm=None)):
        assert (left(p, unsaid).fit_says, left(p, unsaid).with_it) == (None, "")


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


def test_leaned_flow_is_held_against_its_own_column(fitted):
    """12 % above best power by flights that leaned: said of the leaned column; what never leaned says nothing of it."""
    p = fitted["larkmoor_155"]
    rich, lean = (p.airplane.fuel_flow_m3ps(0.65, m) for m in ("full_rich", "best_economy"))
    line = FuelLine(0.2 * rich, 0.8 * rich / (0.65 * p.airplane.rated_power_w), 0.02, 4, leaner=1.12 * lean / rich)
    found = {d.name: d for d in differences(replace(p, learned=replace(p.learned, fuel=line)))}
    assert "fuel flow as leaned" in found
    names = {m: p.airplane.fuel_flow_m3ps(0.65, m) for m in ("full_rich", "best_power", "best_economy")}
    named = min(names, key=lambda m: abs(names[m] - 1.12 * lean))
    leaned = found["fuel flow as leaned"]
    assert leaned.value == pytest.approx(to_unit(1.12 * lean - names[named], "gph"), abs=1e-6)
    assert leaned.value_90 == pytest.approx(1.6449 * to_unit(1.12 * lean, "gph") * np.hypot(0.02 / 2.0, 0.03), rel=1e-9)
    assert leaned.words.startswith("leaned, it burns")
    assert named.replace("_", " ") in leaned.words
    without = replace(p, learned=replace(p.learned, fuel=replace(line, leaner=0.0)))
    assert "fuel flow as leaned" not in {d.name for d in differences(without)}


def test_todays_answers_say_leaned_flow_and_speeds_no_dial_shows(fitted):
    p = line_of(fitted["larkmoor_155"], 1.0, leaner=0.85)
    at = Condition(950.0, 900.0, 285.0)
    assert any(line.name == "fuel flow, leaned" for line in todays_answers(p, at))
    assert _Day(p, at).dial(300.0) == "583 KCAS"  # 300 m/s; 1 kt is 0.514 444 m/s
    assert "KCAS" not in _Day(p, at).dial(40.0)


def test_a_power_is_read_by_the_manifold_gauge_and_to_a_hundredth(fitted):
    """0.3 inHg (3,386.389 Pa each, NIST SP 811) at the usual RPM, by the slope of power over it, and 1 % of rated."""
    p = fitted["caldmere_200"]
    rated = p.airplane.rated_power_w
    at = (p.usual_rpm, 70000.0, 0.0, 288.15)
    slope = float(p.engine.power_w(at[0], 71000.0, *at[2:]) - p.engine.power_w(*at)) / 1000.0
    assert advice._control_sd(p, 0.6 * rated) == pytest.approx(np.hypot(slope * 0.3 * 3386.389, 0.01 * rated), rel=1e-6)
    assert advice._control_sd(fitted["larkmoor_155"], 36.0) == pytest.approx(15.0 / 60.0)


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


def test_of_readings_too_far_off_the_one_without_which_the_rest_agree_is_left_out_first(fitted, monkeypatch):
    """Two of twelve are far off; a third at most is left out, one at a time, and what is kept is judged again."""
    p = fitted["larkmoor_155"]
    usual = [r.reading for r in p.learned.residuals]
    readings = [replace(usual[k % len(usual)], left_out="", note=str(k)) for k in range(12)]
    bad = {"2": 1.0, "7": 5.0}

    def badness(some):
        return sum(bad.get(r.note, 0.0) for r in some)

    def without(self, readings, kept, index, own):
        off = 9.0 if readings[index].note in bad else 0.1
        return Outlook(off / 60.0, off, 0.1, np.nan, own)

    asked = []
    monkeypatch.setattr(Judge, "without", without)
    monkeypatch.setattr(Judge, "cost", lambda self, some: asked.append([r.note for r in some]) or badness(some))
    monkeypatch.setattr(Judge, "_words", lambda self, readings, kept, index, seen, far: f"{len(kept)} {len(far)}")
    found = judge_of(p).judged(readings, keep_all=False).residuals
    assert [r.reading.note for r in found if not r.used] == ["2", "7"]
    assert [r.why for r in found if not r.used] == ["11 1", "12 2"]  # first 7, then 2 of those kept
    assert all(len(some) == 11 for some in asked[:2])
    assert all(r.used for r in judge_of(p).judged(readings, keep_all=True).residuals)
    bad |= {str(k): 2.0 for k in range(12)}
    assert sum(not r.used for r in judge_of(p).judged(readings, keep_all=False).residuals) == 4  # 0.34 of twelve


@pytest.mark.parametrize(
    ("sd", "notch", "more", "said"),
    [
        (2.9, 0, False, True),
        (-2.9, 0, False, True),
        (3.1, 0, False, False),
        (2.9, 1, False, False),
        (2.9, 0, True, False),
    ],
)
def test_two_readings_that_contradict_each_other_are_both_named(fitted, monkeypatch, sd, notch, more, said):
    """Where the other fits without the worst, and no third of that flap setting lies as far off."""
    p = fitted["larkmoor_155"]
    monkeypatch.setattr(Judge, "without", lambda self, readings, kept, index, own: Outlook(0.1, sd, 0.1, np.nan, own))
    readings = [a_reading(), a_reading(cas_mps=45.0, flap_notch=notch), a_reading(cas_mps=50.0)]
    words = judge_of(p)._words(
        readings, [0, 1, 2], 0, Outlook(-0.5, -9.0, 0.1, np.nan, None), [0, 1, 2] if more else [0, 1]
    )
    assert words.startswith("the fit without it says 30 RPM less")
    dial = p.airplane.dial(float(p.airplane.calibration[notch].ias(45.0)))
    both = f"; it and the one at {dial} contradict each other, the other is likelier right: check both"
    assert words.endswith(both) is said
