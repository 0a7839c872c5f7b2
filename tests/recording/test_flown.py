"""What flights say of their airplane: windows, the joint fit, the same flight known again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_air, standard_temperature_k
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.performance import Condition, Performance, level
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.flown import FULL_CLIMB, Flown, Rows, same_flight
from airwork.airplane.performance.fuel_line import fuel_line, power_of
from airwork.airplane.performance.full_throttle import full_rows
from airwork.airplane.performance.joint_rows import EXTRA, part_of, rates, row_sd, share_law_error
from airwork.airplane.performance.knowledge import note_learned, read_knowledge
from airwork.airplane.performance.learn import learn
from airwork.recording import read_flight
from airwork.recording.flown import by_path, flown_of, missing_for_rows
from airwork.recording.flown.seconds import at_seconds, despiked
from airwork.recording.flown.windows import _throttle, inferred_up, quiet_tas_mps, surely_up
from airwork.units import FPM_MPS, FT_M, KT_MPS, LB_KG, MPH_MPS
from flown_flights import write_flight
from invented_truth import true_climb, true_level, truths

TRUTH = truths()["larkmoor_155"]
WEIGHT_LB = 2050.0
ASKED = ((60.0, 0), (80.0, 0), (95.0, 0), (60.0, 2), (60.0, 3))  # KCAS, notch; at 2,150 lb, 4,000 ft


@pytest.fixture(scope="module")
def bare(airplane_folder: Path) -> Airplane:
    """Sizes, stall speeds and calibration; no other table and no reading."""
    data = load_airplane(airplane_folder / "larkmoor_155.toml").file.model_dump(mode="json")
    data["observations"], data["performance"] = [], {"stall": data["performance"]["stall"]}
    return Airplane(AirplaneFile.model_validate(data))


def lesson(path: Path, airplane: Airplane, seed: int, rate_hz: float = 1.0) -> Path:
    """Eighteen minutes with flaps up, half and full."""
    return write_flight(
        path, TRUTH, seed, minutes=18, weight_lb=WEIGHT_LB, notches=(0, 0, 2, 3), rate_hz=rate_hz,
        calibrated=lambda v, n: float(airplane.calibration[int(n)].ias(v)),
    )  # fmt: skip


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, bare: Airplane) -> list[Path]:
    folder = tmp_path_factory.mktemp("flights")
    return [lesson(folder / f"{i}.csv", bare, i) for i in range(2)]


@pytest.fixture(scope="module")
def flights(files: list[Path], bare: Airplane) -> list[Flown]:
    found = [flown_of(read_flight(f, airplane=bare), bare, WEIGHT_LB * LB_KG, "typed") for f in files]
    return [f for f in found if f is not None]


def errors(p: Performance) -> tuple[np.ndarray, np.ndarray]:
    """(RPM error, 90 % half-width) of the questions asked."""
    temp = float(standard_temperature_k(4000.0 * FT_M))
    off, half = [], []
    for kcas, notch in ASKED:
        found = level.level_flight(p, kcas * KT_MPS, Condition(2150.0 * LB_KG, 4000.0 * FT_M, temp, notch))
        off.append(float(found.rpm) - true_level(TRUTH, kcas * KT_MPS, 2150.0, 4000.0, notch=notch)[0])
        half.append(float(found.rpm_90))
    return np.array(off), np.array(half)


def test_two_flights_teach_the_rpm_within_the_tachometers_error(bare: Airplane, flights: list[Flown]) -> None:
    """Slow flight, cruise and flaps at another weight and height than flown; nothing before came near."""
    before, wide = errors(Performance(bare, learn(bare, [])))
    after, narrow = errors(Performance(bare, learn(bare, [], flights)))
    assert np.abs(before).min() > 50
    assert np.median(np.abs(after)) < 25
    assert np.abs(after).max() < 55
    assert (np.abs(after) <= 1.5 * narrow).all()  # a 90 % band may miss one in ten
    assert (narrow < 0.3 * wide).all()


def test_the_bands_narrow_from_flight_to_flight(bare: Airplane, flights: list[Flown]) -> None:
    """A second flight that the first does not quite foretell may widen a single answer by a few percent."""
    widths = [errors(Performance(bare, learn(bare, [], flights[:n])))[1] for n in range(3)]
    assert (widths[1] < 0.2 * widths[0]).all()
    assert (widths[2] < 1.05 * widths[1]).all()


def test_the_order_of_the_flights_does_not_matter(bare: Airplane, flights: list[Flown]) -> None:
    one, two = learn(bare, [], flights), learn(bare, [], flights[::-1])
    assert np.allclose(one.own.theta, two.own.theta, rtol=1e-9)


def test_a_weight_assumed_wrong_beside_one_noted_does_little_harm(bare: Airplane, flights: list[Flown]) -> None:
    """One of two flights assumed 150 lb too light: held there, it says how unsure it is, and pulls answers little."""
    wrong = replace(flights[0], mass_kg=flights[0].mass_kg - 150.0 * LB_KG, weight_from="unknown")
    learned = learn(bare, [], [wrong, flights[1]])
    found = next(f for f in learned.joint.flights if f.key == wrong.key)  # type: ignore[union-attr]
    assert abs(found.weight_share) < 2.0 * found.weight_share_sd
    assert found.weight_share_sd * wrong.mass_kg / LB_KG > 75.0
    off, half = errors(Performance(bare, learned))
    assert np.abs(off).max() < 45
    assert (np.abs(off) <= half).all()


def test_weights_noted_wrong_alike_stay_in_the_band(bare: Airplane, flights: list[Flown]) -> None:
    """The same forgotten bag in every flight: no fit can see it, however many flights there are."""
    right, _ = errors(Performance(bare, learn(bare, [], flights)))
    for pounds in (-60.0, 60.0):
        wrong = [replace(f, mass_kg=f.mass_kg + pounds * LB_KG) for f in flights]
        learned = learn(bare, [], wrong)
        off, half = errors(Performance(bare, learned))
        assert (np.abs(off - right) < half).all()
        assert learned.joint is not None
        assert min(f.weight_share_sd for f in learned.joint.flights) * WEIGHT_LB > 40.0


def test_flights_that_contradict_each_other_widen_the_band(bare: Airplane, flights: list[Flown]) -> None:
    """One flight sinking 160 ft/min more than the other says at every speed: neither is foretold by the other. Both
    alike, or as they were: the band stays as it was."""

    def band(*more_mps: float) -> np.ndarray:
        moved = [
            replace(f, rows=replace(f.rows, rate_mps=f.rows.rate_mps + x))
            for f, x in zip(flights, more_mps, strict=True)
        ]
        return errors(Performance(bare, learn(bare, [], moved)))[1]

    plain = band(0.0, 0.0)
    assert (band(-0.4, 0.4) > 1.25 * plain).all()
    np.testing.assert_allclose(band(0.1, 0.1), plain, rtol=0.1)


def test_a_lessons_loading_tells_more_than_a_weight_noted(bare: Airplane, flights: list[Flown]) -> None:
    """Seat by seat the weight is surer than in one number: the same answers, narrower bands, both ways."""
    widths = []
    for how in ("lesson", "typed", "unknown"):
        off, half = errors(Performance(bare, learn(bare, [], [replace(f, weight_from=how) for f in flights])))
        assert (np.abs(off) <= 1.5 * half).all()
        widths.append(half)
    assert (widths[0] < widths[1]).all()
    assert (widths[1] < widths[2]).all()


@pytest.mark.parametrize("thin", [0.0, 0.5])
def test_fuel_flow_follows_the_air_where_the_mixture_is_left(bare: Airplane, flights: list[Flown], thin: float) -> None:
    """Flow by power alone (leaned), and growing with the root of the pressure's inverse (a fixed jet)."""
    engine = learn(bare, [], flights).engine

    def flow(f: Flown) -> np.ndarray:
        return (2e-7 + 1.2e-10 * power_of(f, engine)) * (standard_air(f.rows.altitude_m).pressure_pa / 1e5) ** -thin

    flown = [replace(f, rows=replace(f.rows, altitude_m=np.linspace(0.0, 3000.0, len(f.rows)))) for f in flights]
    flown = [replace(f, rows=replace(f.rows, flow_m3ps=flow(f))) for f in flown]
    found = fuel_line(flown, engine)
    assert found is not None
    assert found.thin == pytest.approx(thin, abs=0.05)
    guess = found.flow_m3ps(power_of(flown[0], engine), standard_air(flown[0].rows.altitude_m).pressure_pa)
    assert guess == pytest.approx(flow(flown[0]), rel=0.01)


@pytest.mark.parametrize("leaner", [0.8, 0.9, 1.0])
def test_leaned_flow_is_told_from_rich(bare: Airplane, flights: list[Flown], leaner: float) -> None:
    """Level windows above 3,000 ft leaned, a fixed jet else: both are found; where nobody leaned none is claimed."""
    engine = learn(bare, [], flights).engine

    def leaned(f: Flown) -> np.ndarray:
        return (leaner < 1.0) & (np.abs(f.rows.rate_mps) < 1.0) & (f.rows.altitude_m > 915.0)

    def flow(f: Flown) -> np.ndarray:
        rich = (standard_air(f.rows.altitude_m).pressure_pa / 8e4) ** -0.5
        return (1e-6 + 1.2e-10 * power_of(f, engine)) * np.where(leaned(f), leaner, rich)

    flown = [replace(f, rows=replace(f.rows, altitude_m=np.linspace(0.0, 3000.0, len(f.rows)))) for f in flights]
    flown = [replace(f, rows=replace(f.rows, flow_m3ps=flow(f))) for f in flown]
    found = fuel_line(flown, engine)
    assert found is not None
    assert (found.leaner > 0.0) == (leaner < 1.0)
    for f in flown:
        pressure = standard_air(f.rows.altitude_m).pressure_pa
        assert found.flow_m3ps(power_of(f, engine), pressure, leaned(f)) == pytest.approx(flow(f), rel=0.02)


def test_gauges_alone_tell_fuel_flow_on_the_whole(bare: Airplane, flights: list[Flown]) -> None:
    """No flow recorded, but what was burned: right on the mean, and less sure than with a flow; nothing without."""
    engine = learn(bare, [], flights).engine
    flow = 1e-5
    burned = [replace(f, rows=replace(f.rows, burned_kg=flow * 719.0 * f.rows.time_s)) for f in flights]
    nothing = [np.full(len(f.rows), np.nan) for f in flights]
    burned = [replace(f, rows=replace(f.rows, flow_m3ps=x)) for f, x in zip(burned, nothing, strict=True)]
    found = fuel_line(burned, engine)
    assert found is not None
    power = float(np.mean([power_of(f, engine).mean() for f in flights]))
    assert float(found.flow_m3ps(power)) == pytest.approx(flow, rel=0.05)
    still = [replace(f, rows=replace(f.rows, burned_kg=0.0 * f.rows.time_s)) for f in burned]
    assert fuel_line(still, engine) is None


def test_windows_of_nonsense_count_little(bare: Airplane, flights: list[Flown]) -> None:
    """A tenth of the windows spoiled by 800 ft/min: whichever they are, the answers move by a quarter of their band
    (the greatest of five, in the middle of ten ways to spoil them; 110 RPM without the robust loss)."""
    plain, half = errors(Performance(bare, learn(bare, [], flights)))
    moved = []
    for first in range(10):
        spoiled = []
        for flown in flights:
            rate = flown.rows.rate_mps.copy()
            rate[first::10] += 4.0
            spoiled.append(replace(flown, rows=replace(flown.rows, rate_mps=rate)))
        moved.append(np.abs(errors(Performance(bare, learn(bare, [], spoiled)))[0] - plain).max())
    assert np.median(moved) < 0.3 * half.max()


def test_descents_tell_no_more_than_the_law_is_good_for_there(bare: Airplane, flights: list[Flown]) -> None:
    """However many windows sink in one condition at little power, where the propeller's law is only a likeness: eight
    full-flap descents alone once made slow flight 150 RPM too high, with a band of 76."""
    rows = flights[0].rows
    low = replace(rows, rpm=np.full(len(rows), 1300.0))
    learned = learn(bare, [], [])
    common = np.concatenate([learned.own.theta, np.zeros(EXTRA)])
    for often in (1, 20):
        one = low.take(np.repeat(np.flatnonzero(rows.notch == 3)[:1], often))
        part = part_of(bare, replace(flights[0], rows=one), learned.engine)
        rate, _ = rates(learned.law, common, part, part.own)
        sd = row_sd(learned.law, common, part)
        share_law_error(learned.law, common, [part], [sd])
        together = 1.0 / np.sqrt(np.sum(part.told / (sd**2 * part.repeat)))
        assert rate[0] < -2.0
        assert together > 0.35 * abs(rate[0])


def test_full_throttle_is_the_plateau_of_the_climbs(bare: Airplane, flights: list[Flown]) -> None:
    """Rows at the top torque climb at the truth's full-throttle RPM; a flight at part throttle has none taken in."""
    engine = learn(bare, []).engine
    for flown in flights:
        full, top = full_rows(flown.rows, engine)  # type: ignore[arg-type]
        assert np.isfinite(top)
        assert full.sum() >= 3
        assert (flown.rows.rate_mps[full] > 1.0).all()
        assert np.ptp(flown.rows.rpm[full]) < 120


@pytest.mark.parametrize(
    ("kt", "low", "high", "found"),
    [
        (55.0, 1500.0, 2600.0, "pulling"),  # slow flight, a throttle hunted by 1,100 RPM: the propeller pulls all along
        (45.0, 1150.0, 1200.0, "pulling"),  # slow and slowly turning, well below half of the rated RPM
        (100.0, 1500.0, 2600.0, "neither"),  # as much fast: it was closed and opened
        (70.0, 1000.0, 1100.0, "closed"),
        (110.0, 1450.0, 1500.0, "pulling"),  # a windmilling dive: the fit judges it by its advance ratio
        (85.0, 1250.0, 1320.0, "neither"),
    ],
)
def test_a_hunted_throttle_is_power_and_a_closed_one_is_none(
    bare: Airplane, kt: float, low: float, high: float, found: str
) -> None:
    """By the advance ratio of the slowest second: below 0.8 no propeller of these windmills (common practice)."""
    seconds: Any = type("S", (), {"rpm": np.tile([low, high], 8)})
    idle, powered = _throttle(seconds, bare, np.arange(16)[None, :], np.array([kt * KT_MPS]))
    assert (bool(idle[0]), bool(powered[0])) == (found == "closed", found == "pulling")


def test_slow_flight_by_a_hunting_hand_is_learned_from(bare: Airplane, files: list[Path], tmp_path: Path) -> None:
    """Full-flap minutes with the throttle swung ± 350 RPM every four seconds keep their windows."""
    rows = [line.split(",") for line in files[0].read_text().splitlines()]
    rpm, notch = (rows[0].index(name) for name in ("RPM", "Flap Notch"))
    for i, row in enumerate(rows[1:]):
        if row[notch] == "3":
            row[rpm] = f"{float(row[rpm]) + (350.0 if i % 8 < 4 else -350.0):.0f}"
    path = tmp_path / "hunted.csv"
    path.write_text("\n".join(map(",".join, rows)) + "\n")
    calm, hunted = (flown_of(read_flight(f, airplane=bare), bare, WEIGHT_LB * LB_KG, "typed") for f in (files[0], path))
    assert calm is not None
    assert hunted is not None
    assert (hunted.rows.notch == 3).sum() == (calm.rows.notch == 3).sum() > 5


def test_a_few_seconds_near_the_stall_do_not_cost_their_window(
    bare: Airplane, files: list[Path], tmp_path: Path
) -> None:
    """Full flaps at three quarters of the greatest lift: 94 % of it for five seconds in sixteen is slow flight, 97 %
    for twelve is none to learn from."""
    rows = [line.split(",") for line in files[0].read_text().splitlines()]
    speed, notch = (rows[0].index(name) for name in ("Indicated Airspeed (kt)", "Flap Notch"))
    stall = bare.stall_cas_mps(WEIGHT_LB * LB_KG, 3)
    counts = []
    for share, seconds in ((0.94, 5), (0.97, 12)):
        for i, row in enumerate(rows[1:]):
            if row[notch] == "3":
                here = share if i % 16 < seconds else 0.75
                row[speed] = f"{float(bare.calibration[3].ias(stall / np.sqrt(here))) / KT_MPS:.2f}"
        path = tmp_path / "slow.csv"
        path.write_text("\n".join(map(",".join, rows)) + "\n")
        flown = flown_of(read_flight(path, airplane=bare), bare, WEIGHT_LB * LB_KG, "typed")
        counts.append(0 if flown is None else int((flown.rows.notch == 3).sum()))
    assert counts[0] > 5
    assert counts[1] == 0


def test_rows_survive_being_kept(flights: list[Flown]) -> None:
    kept = Rows.from_lists(flights[0].rows.as_lists())
    for name in Rows.__dataclass_fields__:
        one, two = getattr(flights[0].rows, name), getattr(kept, name)
        assert one.dtype == two.dtype
        assert np.allclose(one, two, rtol=1e-3, atol=1e-3, equal_nan=True), name


def test_beyond_the_maximum_rpm_nothing_is_marginal(bare: Airplane, flights: list[Flown]) -> None:
    """Without a power table the engine's strength is a wide band; a propeller that would overspeed is beyond it all."""
    p = Performance(bare, learn(bare, [], flights))
    speeds = np.arange(60.0, 200.0, 2.0) * KT_MPS
    temp = float(standard_temperature_k(4000.0 * FT_M))
    found = level.level_flight(p, speeds, Condition(2150.0 * LB_KG, 4000.0 * FT_M, temp))
    over = found.rpm - found.rpm_90 > p.redline_rpm
    assert over.any()
    assert not found.marginal[over].any()
    assert found.marginal.any()


def test_one_flight_at_two_rates_is_one_and_two_flights_are_two(
    files: list[Path], flights: list[Flown], bare: Airplane, tmp_path: Path
) -> None:
    fast = lesson(tmp_path / "ten.csv", bare, 0, rate_hz=10.0)
    ten = flown_of(read_flight(fast, airplane=bare), bare)
    assert ten is not None
    assert ten.key != flights[0].key
    assert same_flight(ten, flights[0])
    assert not same_flight(ten, flights[1])  # the same hour of the same day, another flight
    undated = replace(ten, trace=replace(ten.trace, start_utc_s=float("nan")))
    assert same_flight(undated, flights[0])
    assert not same_flight(undated, flights[1])
    later = replace(ten, trace=replace(ten.trace, start_utc_s=ten.trace.start_utc_s + 86400.0))
    assert not same_flight(later, flights[0])


def test_a_satellite_track_of_a_flight_is_that_flight(flights: list[Flown]) -> None:
    """A warm day: heights 4 % greater and off by 60 m; a wind of 16 kt in the ground speed; no airspeed at all."""
    for own, other in (flights, flights[::-1]):
        track = replace(own.trace, altitude_m=1.04 * own.trace.altitude_m + 60.0, speed_mps=own.trace.speed_mps + 8.0)
        by_satellite = replace(own, key="another", trace=track)
        assert same_flight(by_satellite, own)
        assert not same_flight(by_satellite, other)


def test_without_rpm_there_are_no_rows_and_the_reason_is_said(bare: Airplane, tmp_path: Path) -> None:
    path = write_flight(tmp_path / "quiet.csv", TRUTH, 4, minutes=3, rpm_recorded=False)
    flight = read_flight(path, airplane=bare)
    assert flown_of(flight, bare) is None
    assert "RPM" in missing_for_rows(flight, bare)


def test_seconds_are_means_at_their_time_and_gaps_stay_open() -> None:
    """A ramp at 10 Hz comes back on the second; a silence of 5 s is not bridged, one of a second is."""
    time = np.arange(0.0, 30.0, 0.1)
    keep = ~((time > 10.05) & (time < 15.0)) & ~((time > 20.55) & (time < 21.45))
    found = at_seconds(time[keep], 3.0 * time[keep], np.arange(0.0, 29.0))
    known = np.isfinite(found) & (np.arange(29) > 0)  # half a second before the first sample is not known
    assert np.allclose(found[known], 3.0 * np.arange(29.0)[known], atol=0.25)
    assert not known[11:15].any()
    assert known[20:23].all()


def test_a_spike_is_taken_out_and_a_step_stays() -> None:
    values = np.concatenate([np.full(20, 2000.0), np.full(20, 2300.0)]) + np.tile([0.0, 4.0], 20)
    spiked = values.copy()
    spiked[8] = 9000.0
    assert np.allclose(despiked(spiked)[[8]], 2002.0, atol=5.0)
    assert np.allclose(despiked(values), values)


def test_gusts_leave_the_inertial_speed_alone() -> None:
    """Airspeed with gusts of 2 m/s over a steady ground velocity and wind: the speed kept is the motion's."""
    from types import SimpleNamespace

    rng = np.random.default_rng(5)
    n = 600
    heading, tas = np.linspace(0.0, 4.0 * np.pi, n), 45.0 + 3.0 * np.sin(np.arange(n) / 40.0)
    gust = np.convolve(rng.normal(0.0, 2.0, n + 8), np.ones(9) / 3.0, "valid")
    wind = (6.0, -3.0)
    s: Any = SimpleNamespace(
        time_s=np.arange(n), tas_mps=tas + gust, ground_east_mps=tas * np.sin(heading) + wind[0],
        ground_north_mps=tas * np.cos(heading) + wind[1], wind_east_mps=np.full(n, 7.0),
        wind_north_mps=np.full(n, -2.5),
    )  # fmt: skip
    rate = np.diff(quiet_tas_mps(s) - tas)
    assert np.std(rate) < 0.25 * np.std(np.diff(gust))
    assert abs(np.mean(quiet_tas_mps(s) - tas)) < 0.5


def test_without_a_flap_column_only_what_must_be_clean_counts(
    bare: Airplane, files: list[Path], tmp_path: Path
) -> None:
    """Flaps are inferred up above their limit speed and marked so; slower windows are left."""
    rows = [line.split(",") for line in files[0].read_text().splitlines()]
    column = rows[0].index("Flap Notch")
    path = tmp_path / "bare.csv"
    path.write_text("\n".join(",".join(c for i, c in enumerate(row) if i != column) for row in rows) + "\n")
    low = with_flap_limit(bare, 80)
    flown = flown_of(read_flight(path, airplane=low), low, WEIGHT_LB * LB_KG, "typed")
    assert flown is not None
    assert (flown.rows.notch == 0).all()
    assert (flown.rows.guessed == 1).all()
    assert (flown.rows.cas_mps > float(low.calibration[0].cas(80 * MPH_MPS)) - 1e-6).all()  # no pitch to tell more by


def with_flap_limit(airplane: Airplane, mph: float) -> Airplane:
    """The same airplane with a lower white arc."""
    data = airplane.file.model_dump(mode="json")
    for notch in data["flaps"]["notches"][1:]:
        notch["maximum_speed_kias"] = mph * MPH_MPS / KT_MPS
    return Airplane(AirplaneFile.model_validate(data))


def test_the_attitude_tells_flaps_up_from_down(bare: Airplane) -> None:
    """On the clean lift curve: up. Four degrees lower at the same lift: not up. Unknown pitch: only by speed."""
    bare = with_flap_limit(bare, 80)
    lift = np.linspace(0.25, 1.1, 60)
    cas = np.sqrt(0.3 / lift) * 100.0 * KT_MPS
    clean = 0.19 * lift - 0.03
    down = np.where(np.arange(60) % 3 == 0, -np.radians(4.0), 0.0)
    slow = ~surely_up(bare, cas)
    assert slow.sum() > 20
    found = inferred_up(bare, cas, clean + np.where(slow, down, 0.0), lift)
    assert found[slow & (down == 0.0)].all()
    assert not found[slow & (down < 0.0)].any()
    assert (inferred_up(bare, cas, np.full(60, np.nan), lift) == ~slow).all()


def test_a_flight_without_rpm_still_tells_its_climb_and_cruise(bare: Airplane, tmp_path: Path) -> None:
    """Climb at full throttle by the truth's rate within a fifth; level speeds within what was flown."""
    path = write_flight(tmp_path / "quiet.csv", TRUTH, 4, minutes=18, weight_lb=WEIGHT_LB, rpm_recorded=False)
    words = by_path(read_flight(path, airplane=bare), bare)
    climb = next(w for w in words if w.startswith("climbed"))
    truth = true_climb(TRUTH, 70.0 * KT_MPS, WEIGHT_LB, 4000.0)[1] / FPM_MPS
    assert float(climb.split()[1].replace(",", "")) == pytest.approx(truth, rel=0.25)
    assert any(w.startswith("cruised at") for w in words)
    assert by_path(replace(read_flight(path), columns={}), bare) == ()


def test_climbs_without_rpm_teach_the_full_throttle_climb_and_nothing_more(bare: Airplane, tmp_path: Path) -> None:
    """Full throttle within its band and far nearer than before; the RPM of slow flight stays as it was."""
    path = write_flight(tmp_path / "quiet.csv", TRUTH, 4, minutes=18, weight_lb=WEIGHT_LB, rpm_recorded=False)
    flown = flown_of(read_flight(path, airplane=bare), bare, WEIGHT_LB * LB_KG, "typed")
    assert flown is not None
    assert (flown.rows.kind == FULL_CLIMB).all()
    assert np.isnan(flown.rows.rpm).all()
    before, after = (Performance(bare, learn(bare, [], list(have))) for have in ((), (flown,)))
    at = Condition(WEIGHT_LB * LB_KG, 4000.0 * FT_M, float(standard_temperature_k(4000.0 * FT_M)))
    truth = true_climb(TRUTH, 70.0 * KT_MPS, WEIGHT_LB, 4000.0)[1]
    was, now = (climb(p, 70.0 * KT_MPS, at) for p in (before, after))
    assert abs(float(now.climb_rate_mps) - truth) < float(now.climb_rate_90_mps)
    assert abs(float(now.climb_rate_mps) - truth) < 0.5 * abs(float(was.climb_rate_mps) - truth)
    slow = [level.level_flight(p, 60.0 * KT_MPS, at) for p in (before, after)]
    assert float(slow[1].rpm) == pytest.approx(float(slow[0].rpm))
    assert float(slow[1].rpm_90) == pytest.approx(float(slow[0].rpm_90))
    kept = Rows.from_lists(flown.rows.as_lists())
    assert (kept.kind == FULL_CLIMB).all()


def test_climbs_without_rpm_change_nothing_where_a_chart_or_a_tachometer_knows_better(
    bare: Airplane, files: list[Path], tmp_path: Path
) -> None:
    """One flown at less than full throttle looks like a weaker engine: beside flights with RPM it has no say; a book
    that prints powers takes nothing from it."""
    path = write_flight(tmp_path / "quiet.csv", TRUTH, 4, minutes=18, weight_lb=WEIGHT_LB, rpm_recorded=False)
    quiet = flown_of(read_flight(path, airplane=bare), bare, WEIGHT_LB * LB_KG, "typed")
    loud = flown_of(read_flight(files[0], airplane=bare), bare, WEIGHT_LB * LB_KG, "typed")
    assert quiet is not None
    assert loud is not None
    alone, both = learn(bare, [], [loud]), learn(bare, [], [loud, quiet])
    assert (alone.own.theta == both.own.theta).all()
    assert (alone.own.cov == both.own.cov).all()
    assert repr(alone.engine) == repr(both.engine)
    charted = load_airplane(find_airplane_file("larkmoor_155"))
    assert flown_of(read_flight(path, airplane=charted), charted, WEIGHT_LB * LB_KG, "typed") is None
    before, after = learn(charted, [], []), learn(charted, [], [quiet])
    assert (before.own.theta == after.own.theta).all()
    assert repr(before.engine) == repr(after.engine)


def test_a_flap_setting_without_a_stall_speed_is_left_out(bare: Airplane, files: list[Path]) -> None:
    """The file prints no stall for notch 2: its windows go, the flight still teaches the rest."""
    data = bare.file.model_dump(mode="json")
    data["performance"]["stall"]["rows"] = [
        r for r in data["performance"]["stall"]["rows"] if r["flap_notch"] in (0, 3)
    ]
    short = Airplane(AirplaneFile.model_validate(data))
    flown = flown_of(read_flight(files[0], airplane=short), short, WEIGHT_LB * LB_KG, "typed")
    assert flown is not None
    assert {int(n) for n in np.unique(flown.rows.notch)} <= {0, 3}
    assert np.isfinite(learn(short, [], [flown]).own.theta).all()


@pytest.mark.parametrize(("higher_m", "faster_mps"), [(60.0, 0.0), (0.0, 6.0)])
def test_without_a_date_both_height_and_speed_must_agree(
    flights: list[Flown], higher_m: float, faster_mps: float
) -> None:
    """60 m are three times, 12 kt twice what tells two flights apart."""
    own = replace(flights[0], trace=replace(flights[0].trace, start_utc_s=float("nan")))
    other = replace(own.trace, altitude_m=own.trace.altitude_m + higher_m, speed_mps=own.trace.speed_mps + faster_mps)
    assert same_flight(replace(own, key="again"), own)
    assert not same_flight(replace(own, key="another", trace=other), own)


def test_a_few_windows_off_the_line_are_no_leaned_mixture(bare: Airplane, flights: list[Flown]) -> None:
    """Five windows 20 % below all others are stragglers."""
    engine = learn(bare, [], flights).engine
    flown = []
    for k, f in enumerate(flights):
        height = np.linspace(1200.0, 1500.0, len(f.rows))
        level = np.flatnonzero(np.abs(f.rows.rate_mps) < 1.0)[: 5 * (k == 0)]
        flow = 1e-6 + 1.2e-10 * power_of(replace(f, rows=replace(f.rows, altitude_m=height)), engine)
        flow[level] *= 0.8
        flown.append(replace(f, rows=replace(f.rows, altitude_m=height, flow_m3ps=flow)))
    found = fuel_line(flown, engine)
    assert found is not None
    assert found.leaner == 0.0


def test_what_a_flight_taught_is_read_again(flights: list[Flown], tmp_path: Path) -> None:
    """Beside the typed file; nothing before a flight was learned, and not of another airplane."""
    mine = tmp_path / "mine.toml"
    assert not read_knowledge(mine).flights
    note_learned(mine, flights[0])
    (found,) = read_knowledge(mine).flights
    assert (found.key, found.mass_kg) == (flights[0].key, pytest.approx(flights[0].mass_kg, abs=0.1))
    assert not read_knowledge(tmp_path / "other.toml").flights
