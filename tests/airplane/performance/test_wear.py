"""What flights taught: lines, weights, history, one flight told from two; an engine that grows tired, and one not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.airplane.performance import Performance
from airwork.airplane.performance.advice import Known
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.engine import FixedPitchEngine
from airwork.airplane.performance.flight_words import (
    _changed,
    flight_lines,
    lean_words,
)
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, POWERED, Flown, Rows, Trace, same_flight
from airwork.airplane.performance.fuel_line import fuel_line
from airwork.airplane.performance.full_throttle import engine_of_flights
from airwork.airplane.performance.joint import FlightFit
from airwork.airplane.performance.knowledge import (
    Knowledge,
    knowledge_path,
    note_learned,
    note_removed,
    note_weight,
    read_knowledge,
)
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.level import level_flight
from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.flown import flown_of
from airwork.units import LB_KG, to_unit
from flown_flights import write_flight
from invented_truth import truths


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory, airplane_folder: Path) -> Flown:
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    path = write_flight(
        tmp_path_factory.mktemp("wear") / "one.csv", truths()["larkmoor_155"], 6, minutes=18, weight_lb=2050.0,
        calibrated=lambda v, n: float(airplane.calibration[int(n)].ias(v)),
    )  # fmt: skip
    found = flown_of(read_flight(path, airplane=airplane), airplane, 2050.0 * LB_KG, "typed")
    assert found is not None
    return found


def rows_of(n: int, **columns: object) -> Rows:
    """Windows of level flight, some columns drawn."""
    made: dict[str, object] = {
        "time_s": 16.0 * np.arange(n),
        "tas_mps": 50.0,
        "cas_mps": 45.0,
        "density_kgpm3": 1.0,
        "load_factor": 1.0,
        "notch": 0,
        "burned_kg": 0.0,
        "altitude_m": 1000.0,
        "temperature_k": 280.0,
        "rpm": 2300.0,
        "pressure_pa": np.nan,
        "rate_mps": 0.0,
        "kind": POWERED,
        "flow_m3ps": np.nan,
        "guessed": 0,
        **columns,
    }
    whole = ("notch", "kind", "guessed")
    return Rows(**{k: np.resize(v, n).astype(int if k in whole else float) for k, v in made.items()})  # type: ignore[arg-type]


def a_flight(rows: Rows | None = None, trace: Trace | None = None, **more: object) -> Flown:
    made = {"key": "abcdef", "name": "one.csv", "date": "2026-05-04", "mass_kg": 1000.0, "weight_from": "typed", **more}
    at = Trace(np.nan, np.zeros(0), np.zeros(0)) if trace is None else trace
    return Flown(rows=rows_of(30) if rows is None else rows, trace=at, **made)  # type: ignore[arg-type]


def learned(flight: Flown, share: float | None = None, sd: float = 0.01) -> str:
    """The line of a flight; share : of its weight, as found."""
    joint = None if share is None else SimpleNamespace(flights=[FlightFit(flight.key, share, sd)])
    (line,) = flight_lines(SimpleNamespace(learned=SimpleNamespace(flights=[flight], joint=joint)))  # type: ignore[arg-type]
    return line


# 1,000 kg are 2,205 lb; 1 kg is 2.204 62 lb (NIST SP 811, appendix B.8). A window is 16 s.
def test_a_learned_flight_is_told_in_a_line() -> None:
    """30 windows are 8 minutes; which flaps, how many glides, what weight; a question where it flew as another one."""
    assert learned(a_flight()) == "one.csv, 2026-05-04: 8 min of use; 2,205 lb as given"
    mixed = rows_of(30, notch=[0, 0, 1, 2, 2], kind=[POWERED, GLIDE, POWERED, POWERED, POWERED])
    assert learned(a_flight(mixed, date="", weight_from="lesson")) == (
        "one.csv: 8 min of use (1.6 with flaps 1, 3.2 with flaps 2, 1.6 gliding); 2,205 lb from the lesson"
    )
    climbs = a_flight(rows_of(7, kind=FULL_CLIMB), weight_from="unknown")
    assert learned(climbs) == (
        "one.csv, 2026-05-04: no RPM; 2 min of its climbs, taken for full throttle; 2,205 lb not noted, assumed"
    )
    assert "no RPM" not in learned(a_flight(rows_of(7, kind=[FULL_CLIMB, POWERED])))


@pytest.mark.parametrize(("share", "said"), [
    (0.029, ""), (0.031, "; it flew as if 68 lb heavier: is the weight right?"),
    (-0.05, "; it flew as if 110 lb lighter: is the weight right?"),
])  # fmt: skip
def test_a_weight_two_standard_deviations_off_is_asked_about(share: float, said: str) -> None:
    assert learned(a_flight(), share) == f"one.csv, 2026-05-04: 8 min of use; 2,205 lb as given{said}"


def test_flights_that_all_lean_one_way_are_asked_about_once() -> None:
    """4.5 % of 1,000 kg are 99 lb; three flights make it the airplane's question, the fourth is asked about itself."""
    flights = [replace(a_flight(), key=f"{k}", name=f"{k}.csv") for k in range(4)]

    def said(*shares: float) -> tuple[list[bool], str]:
        fits = [FlightFit(f"{k}", share, 0.01) for k, share in enumerate(shares)]
        learned = SimpleNamespace(flights=flights[: len(shares)], joint=SimpleNamespace(flights=fits))
        p: Performance = SimpleNamespace(learned=learned)  # type: ignore[assignment]
        return ["is the weight right" in line for line in flight_lines(p)], lean_words(p)

    each, of_all = said(-0.045, -0.05, -0.04)
    assert not any(each)
    assert of_all == (
        "flies as if 99 lb lighter than noted, by 3 flights alike: is its empty weight right? "
        "If so, it takes less power than its book, slow flight most"
    )
    each, of_all = said(-0.045, -0.05, -0.04, 0.0)
    assert each == [False, False, False, True]
    assert of_all
    assert said(-0.045, -0.05) == ([True, True], "")
    assert said(0.02, -0.02, 0.01, 0.0) == ([False] * 4, "")
    assert "heavier than noted" in said(0.05, 0.05, 0.05)[1]
    assert "more power" in said(0.05, 0.05, 0.05)[1]


def test_a_weight_nobody_noted_is_told_with_its_band() -> None:
    """5 % more of 2,205 lb is 2,315; 1.645 times 1 % of it is 36 (90 % of a normal distribution)."""
    line = learned(a_flight(weight_from="unknown"), 0.05)
    assert line.endswith("2,205 lb not noted, assumed ± 36 lb")


def known_as(value: float, half: float, unit: str = "rpm") -> Known:
    return Known("slow flight", unit, value, 9e9, 9e9, half, "")


@pytest.mark.parametrize(
    ("value", "half", "said"),
    [
        (2019.0, 100.0, None),
        (2026.0, 100.0, "2,000 ± 100 → 2,026 ± 100 RPM"),
        (1974.0, 100.0, "2,000 ± 100 → 1,974 ± 100 RPM"),
        (2000.0, 76.0, None),
        (2000.0, 74.0, "2,000 ± 100 → 2,000 ± 74 RPM"),
        (2000.0, 126.0, "2,000 ± 100 → 2,000 ± 126 RPM"),
    ],
)
def test_an_answer_is_mentioned_where_it_moved_by_a_quarter_of_its_band(
    value: float, half: float, said: str | None
) -> None:
    assert _changed(known_as(2000.0, 100.0), known_as(value, half)) == (
        None if said is None else f"slow flight: {said}"
    )
    assert (_changed(known_as(700.0, 100.0, "fpm"), known_as(900.0, 100.0, "fpm")) or "").endswith("900 ± 100 ft/min")
    assert (_changed(known_as(50.0, 10.0, "%"), known_as(60.0, 10.0, "%")) or "").endswith("60 ± 10 %")


def test_how_well_a_weight_is_known_is_by_where_it_came_from() -> None:
    """8 kg of a lesson's loading, 15 kg noted alone, 6 % where nobody noted it."""
    sds = [a_flight(weight_from=w, mass_kg=500.0).mass_sd for w in ("lesson", "typed", "unknown")]
    assert sds == pytest.approx([0.016, 0.03, 0.06])
    without = [
        a_flight(rows_of(n, kind=kind)).without_rpm for n, kind in ((3, FULL_CLIMB), (3, POWERED), (0, FULL_CLIMB))
    ]
    assert without == [True, False, False]


def wavy(n: int, start: float = 0.0, top_m: float = 300.0) -> np.ndarray:
    """A height that goes up and down, never twice alike."""
    k = np.arange(n) + start
    return 1000.0 + top_m * np.sin(k / 5.0) + 0.5 * top_m * np.sin(k / 3.1)


def twice(
    two: np.ndarray,
    *,
    at_s: float = 0.0,
    speed_off: float = 0.0,
    dated: bool = True,
    one: np.ndarray | None = None,
    key: str = "another",
) -> bool:
    """Whether a second trace, begun so much later, is held for the flight of `one`."""
    first = wavy(60) if one is None else one
    start = 1.75e9 if dated else np.nan
    a = a_flight(trace=Trace(start, first, np.full(first.size, 50.0)))
    b = a_flight(trace=Trace(start + at_s, two, np.full(two.size, 50.0 + speed_off)), key=key)
    assert same_flight(a, b) == same_flight(b, a)
    return same_flight(a, b)


def test_two_recordings_of_one_flight_are_told_from_two_flights() -> None:
    """Every 20 s: the same heights at the same time, whatever the speed; without a date heights and speeds, shifted."""
    whole, other = wavy(60), wavy(60, 31.0)
    assert twice(whole)
    assert twice(other, key="abcdef")  # the same file
    assert not twice(other)
    assert twice(whole, speed_off=30.0)  # by satellite: over the ground
    assert twice(1.1 * whole + 40.0, speed_off=30.0)  # and in warm air
    assert not twice(1.15 * whole, speed_off=30.0)
    assert twice(whole[10:], at_s=200.0, speed_off=30.0)
    assert not twice(whole, at_s=3600.0)  # an hour later the same pattern is another flight
    late = np.r_[whole, wavy(60, 60.0)]
    assert twice(late[28:88], at_s=28 * 20.0, speed_off=30.0)
    assert not twice(late[31:91], at_s=31 * 20.0)  # less than half of it together
    assert twice(whole, dated=False)
    assert twice(whole + 19.0, dated=False, speed_off=2.4)
    assert not twice(whole + 21.0, dated=False)
    assert not twice(whole, dated=False, speed_off=2.6)
    assert twice(whole[10:50], dated=False)
    assert not twice(other, dated=False)


def test_too_short_too_level_or_too_often_apart_says_nothing() -> None:
    """Twelve values, heights that spread 40 m, four fifths of them together."""
    fast = {"speed_off": 30.0}  # heights alone
    for n, same in ((12, True), (11, False)):
        assert twice(wavy(n), one=wavy(n), **fast) is same  # type: ignore[arg-type]
        assert twice(wavy(n), one=wavy(n), dated=False) is same
    for top_m, same in ((60.0, True), (45.0, False)):  # a spread of 0.79 of it
        assert twice(wavy(60, 0.0, top_m), one=wavy(60, 0.0, top_m), **fast) is same  # type: ignore[arg-type]
    for top_m, same in ((30.0, True), (20.0, False)):
        assert twice(wavy(60, 0.0, top_m), one=wavy(60, 0.0, top_m), dated=False) is same
    for apart, same in ((11, True), (13, False)):
        off = wavy(60)
        off[5 : 5 + apart * 3 : 3] += np.where(np.arange(apart) % 2 == 0, 100.0, -100.0)
        assert twice(off, **fast) is same  # type: ignore[arg-type]
        assert twice(off, dated=False) is same
    gaps = wavy(60)
    gaps[::3] = np.nan
    assert twice(gaps, **fast)  # type: ignore[arg-type]
    assert twice(gaps, dated=False)


def test_windows_are_kept_as_far_as_they_matter() -> None:
    """Whole seconds, pascals, notches; speeds to a millimeter; none where nothing is known; and back."""
    rows = rows_of(
        2,
        time_s=[1.6, 17.4],
        tas_mps=50.12345,
        cas_mps=45.12345,
        density_kgpm3=1.1234567,
        load_factor=1.12344,
        burned_kg=1.23456,
        altitude_m=1000.123,
        temperature_k=280.123,
        rpm=[2300.123, np.nan],
        pressure_pa=80000.6,
        rate_mps=0.123456,
        flow_m3ps=1.23456789123e-5,
        notch=2,
        guessed=1,
    )
    kept = rows.as_lists()
    assert kept == {
        "time_s": [1, 17], "tas_mps": [50.123] * 2, "cas_mps": [45.123] * 2, "density_kgpm3": [1.12346] * 2,
        "load_factor": [1.1234] * 2, "notch": [2, 2], "burned_kg": [1.23] * 2, "altitude_m": [1000.1] * 2,
        "temperature_k": [280.1] * 2, "rpm": [2300.1, None], "pressure_pa": [80000] * 2, "rate_mps": [0.1235] * 2,
        "kind": [0, 0], "flow_m3ps": [1.23457e-5] * 2, "guessed": [1, 1],
    }  # fmt: skip
    assert Rows.from_lists(kept).as_lists() == kept
    assert Rows.from_lists(kept).notch.dtype == np.int64
    assert rows.take(np.array([1])).time_s.tolist() == [17.4]


def test_a_history_is_read_back_in_the_order_flown(tmp_path: Path) -> None:
    """Learned, weighed again, taken out; another one without a date stands last; two alike in name are asked about."""
    typed = tmp_path / "mine.toml"
    assert read_knowledge(typed) == Knowledge()
    trace = Trace(1.75e9, np.array([1000.123, np.nan]), np.array([50.126, 51.0]))
    late, early = a_flight(trace=trace, mass_kg=1000.126), a_flight(key="123456", name="two.csv", date="2025-01-02")
    undated = a_flight(key="aaaa99", name="two.csv", date="")
    note_learned(typed, late, ["more"])
    note_learned(typed, undated)
    note_learned(typed, early)
    kept = read_knowledge(typed)
    assert [f.key for f in kept.flights] == ["123456", "abcdef", "aaaa99"]
    assert kept.flights[1].mass_kg == 1000.13
    assert kept.flights[1].trace.altitude_m.tolist() == pytest.approx([1000.12, np.nan], nan_ok=True)
    assert kept.flights[1].trace.speed_mps.tolist() == [50.13, 51.0]
    assert kept.flights[1].trace.start_utc_s == 1.75e9
    assert np.isnan(kept.flights[0].trace.start_utc_s)
    assert (kept.history[0].kind, kept.history[0].changed) == ("learned", ("more",))
    assert kept.named("one.csv").key == kept.named("abcd").key == "abcdef"
    assert kept.twin(replace(late, name="again")) is not None
    assert kept.twin(a_flight(key="new")) is None
    for text, problem in (("two.csv", "several flights are called that"), ("abc", "no flight learned is called that")):
        with pytest.raises(InputError, match=problem):
            kept.named(text)
    note_weight(typed, replace(late, mass_kg=1100.126, weight_from="lesson"), ["less"])
    note_weight(typed, a_flight(key="never"))
    note_removed(typed, early, ["gone"])
    kept = read_knowledge(typed)
    assert [(f.key, f.mass_kg, f.weight_from) for f in kept.flights] == [("abcdef", 1100.13, "lesson"),
                                                                        ("aaaa99", 1000.0, "typed")]  # fmt: skip
    assert [e.kind for e in kept.history] == ["learned", "learned", "learned", "weight", "weight", "removed"]


def test_a_line_that_was_cut_short_stays_one_bad_line(tmp_path: Path) -> None:
    """What is added after a crash begins a line of its own; the bad one is named."""
    typed = tmp_path / "mine.toml"
    path = knowledge_path(typed)
    path.write_text('\n{"event": "lea', encoding="utf-8")
    note_learned(typed, a_flight())
    assert len(path.read_text(encoding="utf-8").splitlines()) == 3
    with pytest.raises(InputError, match="line 2 can't be read"):
        read_knowledge(typed)
    path.write_text(
        "\n".join(line for line in path.read_text(encoding="utf-8").splitlines() if "rows" in line), "utf-8"
    )
    assert len(read_knowledge(typed).flights) == 1


def burning(share: float, n: int = 40, scatter: float = 0.0, **more: object) -> Flown:
    """Level windows over a range of power whose flow is so many times a line, up and down by turns about it."""
    rpm = np.linspace(2000.0, 2500.0, n)
    watts = ENGINE.power_w(np.full(n, 50.0), rpm / 60.0, np.ones(n))
    swing = np.where(np.arange(n) % 2 == 0, 1.0 + scatter, 1.0 - scatter)
    return a_flight(rows_of(n, rpm=rpm, flow_m3ps=share * (1e-6 + 7e-11 * watts) * swing, altitude_m=300.0), **more)


ENGINE = FixedPitchEngine(115_000.0, 2700.0, 1.9, np.array([0.055, 0.01, -0.05]), 1e-6 * np.eye(3))


@pytest.mark.parametrize("scatter", [0.0, 0.03, 0.05])
def test_how_far_a_flight_strays_from_the_line_is_read_off_its_windows(scatter: float) -> None:
    """A median of |x| is σ/1.4826; no less than 1.5 %; and 5 % over the root of the flights for those not yet seen."""
    for flights in (1, 4):
        line = fuel_line([burning(1.0, scatter=scatter, key=f"{k}") for k in range(flights)], ENGINE)
        assert line is not None
        assert line.flights == flights
        own = max(1.4826 * scatter, 0.015)
        assert line.sd_share == pytest.approx(np.hypot(own, 0.05 / np.sqrt(flights)), rel=0.05)
        assert line.leaner == 0.0
        watts = 70_000.0
        assert float(line.flow_m3ps(watts)) == pytest.approx(1e-6 + 7e-11 * watts, rel=0.02)


def test_ten_windows_with_a_flow_are_enough_and_gauges_stand_in_for_none() -> None:
    """Nine say nothing; without any flow what the gauges burned over the whole flight is one value: kg by time."""
    assert fuel_line([burning(1.0, 9)], ENGINE) is None
    assert fuel_line([burning(1.0, 10)], ENGINE) is not None
    n, kgps = 30, 0.0035
    time = 16.0 * np.arange(n)
    gauges = a_flight(rows_of(n, time_s=time, burned_kg=kgps * time))
    line = fuel_line([gauges], ENGINE)
    assert line is not None
    watts = float(ENGINE.power_w(np.array([50.0]), np.array([2300.0 / 60.0]), np.array([1.0]))[0])
    gph = kgps / 0.45359237 * 3600.0 / 6.0  # avgas at 6 lb a gallon
    general = 0.03 * 0.52 / 6.0 * 115_000.0 / 745.7 + 0.52 / 6.0 * watts / 745.7  # lb per horsepower and hour
    assert min(gph, general) < to_unit(float(line.flow_m3ps(watts)), "gph") < max(gph, general)
    assert fuel_line([a_flight(rows_of(n, time_s=time))], ENGINE) is None  # nothing burned
    assert fuel_line([a_flight(rows_of(9, time_s=time[:9], burned_kg=kgps * time[:9]))], ENGINE) is None


@pytest.mark.parametrize("flights", [1, 3])
def test_an_engines_strength_is_what_its_full_throttle_climbs_show(flights: int) -> None:
    """Torque 5 % above the rating in each: normals of 4 % and 1.5 % a flight, weighed by 1/σ² (conjugate update)."""
    tas, density = np.full(30, 40.0), np.full(30, 1.1)
    n = replace(ENGINE, strength=1.05).full_throttle_n(tas, density)
    rows = rows_of(30, tas_mps=tas, density_kgpm3=density, rpm=60.0 * n, rate_mps=4.0)
    found = engine_of_flights(ENGINE, [a_flight(rows, key=f"{k}") for k in range(flights)])
    share = (flights / 0.015**2) / (flights / 0.015**2 + 1.0 / 0.04**2)
    assert np.log(found.strength) == pytest.approx(share * np.log(1.05), rel=1e-6)
    level = a_flight(replace(rows, rate_mps=0.0 * rows.rate_mps))
    assert engine_of_flights(ENGINE, [level]) is ENGINE


def test_a_weight_nobody_noted_is_held_and_its_error_widens_the_bands(airplane_folder: Path, flown: Flown) -> None:
    """The same flight, its weight noted right, or assumed a twelfth less: what slow flight takes moves little and stays
    inside a band that is wider, by what one standard deviation of all unknown weights moves the fit.
    """
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flights = [replace(flown, key=f"{k}") for k in range(3)]
    right = Performance(airplane, learn(airplane, [], flights))
    assumed = [replace(f, mass_kg=0.92 * f.mass_kg, weight_from="unknown") for f in flights]
    guessed = Performance(airplane, learn(airplane, [], assumed))
    assert guessed.learned.joint is not None
    for one in guessed.learned.joint.flights:
        assert abs(one.weight_share) < 0.03
        assert one.weight_share_sd > 0.05
    at = Condition(flown.mass_kg, 1200.0, 281.0)
    cas = 1.2 * float(airplane.stall_cas_mps(flown.mass_kg))
    known, unknown = (level_flight(p, cas, at) for p in (right, guessed))
    assert float(unknown.rpm_90) > 1.1 * float(known.rpm_90)
    assert abs(float(unknown.rpm - known.rpm)) < float(unknown.rpm_90)
