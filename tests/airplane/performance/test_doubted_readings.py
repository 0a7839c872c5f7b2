"""Readings that are doubted, left out or asked for: by what the others know, and in which words."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from airwork.airplane.performance import Performance, advice
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition, Setting
from airwork.airplane.performance.fitted_file import reading_row
from airwork.airplane.performance.judging import Judge, Outlook, Residual, weights_without_fuel
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.readings import Reading, why_unusable
from airwork.airplane.performance.report import _left_out, _missing
from airwork.errors import NotPossible
from airwork.units import FT_M, KT_MPS, LB_KG, from_unit, to_unit

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


def answer_of(law_sd: float = 0.0) -> advice.MainAnswer:
    return advice.MainAnswer("slow flight", "rpm", 2200.0, np.array([1.0]), law_sd)


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
