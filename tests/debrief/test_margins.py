"""Thin margins near the ground: the gate of an approach, the touch, bank and sink low down; beside each a good one.

The gate is [AFH] chapter 9's: stable by 300 ft or go around; 1,000 fpm and the other sizes are airwork's own (common
practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from airwork.debrief import debrief, landing_margins
from airwork.debrief.debrief import evidence_of
from airwork.debrief.landing_margins import held_low, low_away, low_for_long
from airwork.debrief.margins import thin_margins
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Cause, Episode, Grade
from airwork.maneuvers.grading.gate import gate
from airwork.maneuvers.grading.handbook import approach_speed
from airwork.maneuvers.grading.runway_ends import RunwayEnd
from airwork.maneuvers.grading.runway_grade import approach_and_touchdown
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight, GroundContact
from airwork.standards import load_standard
from airwork.units import FPM_MPS, FT_M, KT_MPS, LB_KG
from approaches import TOUCH, approach, desk, landing
from flightbuilder import Builder

NONE = Grade({}, "", {}, (), ())
AT_GATE = 42.5  # s: 300 ft on a path of 3.5° at 65 kt


def margins(*, wanted_kt: float | None = None, runways: tuple[RunwayEnd, ...] = (), **how: object) -> dict[str, float]:
    """Texts of the thin margins → rank."""
    targets = {} if wanted_kt is None else {"landing": {"ias_mps": wanted_kt * KT_MPS}}
    evidence, _ = desk(approach(**how), targets=targets, runways=runways)  # type: ignore[arg-type]
    return {m.text: m.rank for m in thin_margins(evidence, [(landing(), NONE)])}


def only(found: dict[str, float], words: str) -> float:
    """The rank of the one margin with these words."""
    (rank,) = [rank for text, rank in found.items() if words in text]
    return rank


def test_a_good_approach_has_no_thin_margin() -> None:
    """On speed, on the line, 3.5°, 120 fpm."""
    assert margins(wanted_kt=65.0) == {}


@pytest.mark.parametrize(("flown", "words"), [(78.0, "13 kt fast"), (58.0, "7 kt slow")])
def test_the_speed_at_the_gate(flown: float, words: str) -> None:
    """More than 10 kt fast or 5 kt slow at 300 ft, and landed."""
    assert only(margins(kt=flown, wanted_kt=65.0), words) >= 100.0


@pytest.mark.parametrize("flown", [73.0, 61.5])
def test_not_a_speed_within_the_gate(flown: float) -> None:
    """8 kt fast, 3.5 kt slow: the standard's business, not the gate's."""
    assert margins(kt=flown, wanted_kt=65.0) == {}


@pytest.mark.parametrize(("off", "seen"), [(25.0, True), (-25.0, True), (12.0, False)])
def test_the_track_at_the_gate_against_the_roll(off: float, seen: bool) -> None:
    """25° off to either side is said, 12° is not."""
    turn = lambda t: np.where(t < 80.0, off, 0.0)  # noqa: E731
    found = margins(track_deg=turn)
    assert any("25° off the runway's track" in text for text in found) == seen


@pytest.mark.parametrize(("bank", "seen"), [(22.0, True), (-22.0, True), (12.0, False)])
def test_the_bank_at_the_gate(bank: float, seen: bool) -> None:
    """22° to either side is said."""
    found = margins(bank_deg=lambda t: np.where(np.abs(t - AT_GATE) < 6.0, bank, 0.0))
    assert any("22° of bank" in text for text in found) == seen


def test_sink_at_the_gate_and_low_down() -> None:
    """A path of 10° at 65 kt is 1,160 fpm: at the gate, and below 500 ft."""
    found = margins(path_deg=10.0)
    assert only(found, "sinking 1,1") > 100.0
    assert only(found, "Sinking 1,1") > 100.0


def test_the_gate_is_at_its_height_and_counts_only_what_is_flown_there() -> None:
    """The moment is where 300 ft were passed; 40° of bank high above it is no business of the gate."""
    evidence, _ = desk(approach(bank_deg=lambda t: np.where(t < 40.0, 40.0, 0.0)))
    found = gate(evidence, TOUCH, "landing")
    assert found is not None
    at_s, said, size = found
    assert np.interp(at_s, evidence.flight.time_s, evidence.flight["agl_m"]) / 0.3048 == pytest.approx(300.0, abs=5.0)
    assert said == []
    assert size == 0.0


@pytest.mark.parametrize("first", range(0, 40, 5))
def test_of_a_coarse_recording_the_gate_takes_the_least_that_may_have_been(first: int) -> None:
    """A fix in four seconds, heights of 25 ft: rolling out onto final just then, nobody knows how far it had come."""
    rolling_out = lambda t: np.interp(t, [AT_GATE - 3.0, AT_GATE + 2.0], [70.0, 0.0])  # noqa: E731
    whole = approach(track_deg=rolling_out)
    (fine,) = gate(desk(whole)[0], TOUCH, "landing")[1]
    assert 15.0 < float(fine.split("°")[0]) < 40.0
    kept = slice(first, None, 40)
    columns = {k: replace(c, values=c.values[kept]) for k, c in whole.columns.items()}
    read = np.round(columns["indicated_altitude_m"].values / 7.62) * 7.62
    columns |= dict.fromkeys(("altitude_m", "indicated_altitude_m"), Column(read, "measured", error=3.81))
    coarse = gate(desk(replace(whole, time_s=whole.time_s[kept], columns=columns))[0], TOUCH, "landing")
    assert coarse is not None
    assert all(float(words.split("°")[0]) <= float(fine.split("°")[0]) for words in coarse[1])


@pytest.mark.parametrize(("notch", "over_kt", "told"), [(0.0, 14.0, True), (3.0, 14.0, False), (0.0, 0.0, False)])
def test_flaps_left_up_stand_beside_what_was_not_stable(notch: float, over_kt: float, told: bool) -> None:
    """As many knots above the file's speed for the flaps set, up or full; a good final with the flaps up says nothing.

    Source: [AFH] ch. 9, a no-flap approach is flown at its own, higher speed.
    """
    airplane = load_airplane("larkmoor_155")
    slow = approach(flap_notch=lambda t: np.full(t.size, notch))
    wanted = approach_speed(desk(slow, airplane=airplane)[0], 40.0, 50.0)
    assert wanted is not None
    fast = approach(kt=wanted.ias_mps / KT_MPS + over_kt, flap_notch=lambda t: np.full(t.size, notch))
    evidence, sheet = desk(fast, airplane=airplane)
    texts = [m.text for m in thin_margins(evidence, [(landing(), NONE)])]
    assert any("flaps up" in text for text in texts) is told
    assert any("kt fast" in text or "mph fast" in text for text in texts) is (over_kt > 0.0)
    approach_and_touchdown(sheet, TOUCH)
    (speed,) = (f for f in sheet.grade().findings if f.quantity == "ias")
    assert ("flaps up on final" in speed.why) is (notch == 0.0)


@pytest.mark.parametrize(
    ("stands", "touches", "rises", "told"),
    [(2.0, -4.0, False, True), (2.0, 0.5, False, False), (2.0, 6.0, True, False), (2.0, -4.0, True, False),
     (11.0, 4.0, False, False)],
)  # fmt: skip
def test_the_nose_wheel_first(stands: float, touches: float, rises: bool, told: bool) -> None:
    """The nose 6° lower at the wheels than it stands; not flat on three, held off, rising yet, nor a tail wheel's.

    Source: [AFH] ch. 9: the main wheels touch first, the nose wheel is held off.
    """
    flared = touches + 8.0 if rises else touches
    pitch = lambda t: np.radians(np.interp(t, [TOUCH, TOUCH + 0.5, TOUCH + 2.0], [touches, flared, stands]))  # noqa: E731
    assert any("Touched on the nose wheel" in text for text in margins(pitch_rad=pitch)) is told


def test_a_nose_held_off_after_what_was_taken_for_the_touch_was_no_nose_wheel() -> None:
    """Rounded out nose low, floated with the nose coming up to 10°: slower on its nose wheel it lies flat."""
    floated = lambda t: np.radians(np.interp(t, [TOUCH, TOUCH + 9.0, TOUCH + 10.0], [-4.0, 10.0, 2.0]))  # noqa: E731
    assert not any("nose wheel" in text for text in margins(pitch_rad=floated))


@pytest.mark.parametrize("slipped", [True, False])
def test_a_slip_is_meant_to_sink(slipped: bool) -> None:
    """[AFH] ch. 9: a slip loses height without gaining speed; 1,160 fpm at the gate and below it are no thin margin."""
    slip = Episode("forward_slip", 30.0, TOUCH - 6.0, 1.0, facts={"slipped": 1.0})
    evidence, _ = desk(approach(path_deg=10.0))
    evidence = replace(evidence, episodes=(slip, landing()) if slipped else (landing(),))
    found = [m.text for m in thin_margins(evidence, [(e, NONE) for e in evidence.episodes])]
    assert any("1,1" in text for text in found) is not slipped


@pytest.mark.parametrize("bank", [0.0, 22.0])
def test_a_school_counts_the_gate_that_a_debrief_tells(bank: float) -> None:
    """One rule: what stands with a landing's numbers is what its first line says."""
    evidence, sheet = desk(approach(bank_deg=lambda t: np.where(np.abs(t - AT_GATE) < 6.0, bank, 0.0)))
    approach_and_touchdown(sheet, TOUCH)
    told = any("Final at 300 ft" in m.text for m in thin_margins(evidence, [(landing(), NONE)]))
    assert (sheet.grade().measured["faults_at_gate"] > 0.0) is told is (bank > 0.0)


def test_a_recording_that_begins_below_the_gate_says_nothing() -> None:
    """No gate seen, no gate judged."""
    evidence, _ = desk(approach(path_deg=0.5))
    assert gate(evidence, TOUCH, "landing") is None


@pytest.mark.parametrize(("lowest_ft", "praised"), [(150.0, True), (20.0, False)])
def test_a_bad_approach_broken_off_is_the_positive_line(lowest_ft: float, praised: bool) -> None:
    """The same bank at the gate, and a go-around: good, and no margin of the flying; out of the flare it came late."""
    banked = approach(
        bank_deg=lambda t: np.where((t > AT_GATE - 6.0) & (t < TOUCH), 25.0, 0.0),
        agl_m=lambda t: 0.0 * t + lowest_ft * FT_M,
    )
    away = Episode("go_around", 70.0, 100.0, 1.0, facts={"lowest_s": TOUCH})
    evidence, _ = desk(banked, away)
    good = [m for m in thin_margins(evidence, [(away, NONE)]) if m.good]
    if not praised:
        assert good == []
        return
    (found,) = good
    assert found.text == "A go-around from a final not stable at 300 ft"  # what was wrong is no part of the praise
    assert found.rank == 0.0
    wrong = replace(NONE, causes=(Cause("Flaps.", "Next.", 75.0, 95.0, 2.0, "flaps left out", "late"),))
    assert not [m for m in thin_margins(evidence, [(away, wrong)]) if m.good]  # no praise of what went wrong


def test_the_gate_of_a_go_around_is_above_the_field() -> None:
    """Broken off at 138 ft as asked: the turn to final ended 438 ft above the field, at 300 ft it was stable."""
    turned = approach(bank_deg=lambda t: np.where(np.abs(t - AT_GATE) < 3.0, 25.0, 0.0),
                      agl_m=lambda t: 0.0 * t + 138.0 * FT_M)  # fmt: skip
    away = Episode("go_around", 70.0, 100.0, 1.0, facts={"lowest_s": TOUCH})
    assert thin_margins(desk(turned, away)[0], [(away, NONE)]) == []


@pytest.mark.parametrize(("beyond_m", "praised"), [(-500.0, True), (-2800.0, False)])
def test_power_taken_far_from_any_runway_is_no_approach_broken_off(beyond_m: float, praised: bool) -> None:
    """A practiced engine failure given up at 110 ft, 9,100 ft short of the field: no final was left in good time."""
    here = {"latitude_rad": lambda t: np.full(t.size, 0.8), "longitude_rad": lambda t: np.full(t.size, 0.1),
            "agl_m": lambda t: np.full(t.size, 110.0 * FT_M)}  # fmt: skip
    banked = approach(bank_deg=lambda t: np.where((t > AT_GATE - 6.0) & (t < TOUCH), 25.0, 0.0), **here)
    away = Episode("go_around", 70.0, 100.0, 1.0, facts={"lowest_s": TOUCH})
    evidence, _ = desk(banked, away, runways=(runway(beyond_m, 0.0),))
    assert any(m.good for m in thin_margins(evidence, [(away, NONE)])) == praised


@pytest.mark.parametrize(
    ("kind", "above_ft", "near", "told"),
    [("glide", 330.0, False, True), ("glide", 520.0, False, False), ("glide", 330.0, True, False),
     ("go_around", 330.0, False, True), ("landing", 330.0, False, False), ("descent", 330.0, False, False)],
)  # fmt: skip
def test_low_at_idle_away_from_every_runway(
    kind: str, above_ft: float, near: bool, told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """14 CFR 91.119 (c): 500 ft above the surface but for takeoff or landing; nearer a runway it is an approach."""
    monkeypatch.setattr(landing_margins, "runway_ends_near", lambda lat, lon: (runway(0.0, 0.0),) if near else ())
    evidence, _ = desk(approach(), runways=(runway(0.0, 0.0),))
    n = len(evidence.flight)
    new = {"latitude_rad": np.full(n, 0.7), "longitude_rad": np.full(n, -1.5), "agl_m": np.full(n, above_ft * FT_M)}
    flight = evidence.flight.with_columns({k: Column(v, "measured") for k, v in new.items()})
    view = build_view(flight)
    assert view is not None
    made = replace(evidence, flight=flight, view=replace(view, agl_m=np.full(view.n, above_ft * FT_M)))
    found = list(low_away(made, [Episode(kind, 20.0, 60.0, 1.0)]))
    assert bool(found) is told
    assert all("500 ft is the least" in m.text for m in found)


@pytest.mark.parametrize("grave", [True, False])
def test_what_no_standard_has_a_number_for_is_said_first(grave: bool) -> None:
    """A stall held, a steep bank low in the pattern say so of themselves; other reasons stand where they are."""
    cause = Cause("The text.", "Next.", 20.0, 29.0, 1.5, "a name", "decision", grave=grave)
    evidence, _ = desk(approach())
    grade = replace(NONE, causes=(cause,))
    assert [m.text for m in thin_margins(evidence, [(landing(), grade)])] == (["The text."] if grave else [])


@pytest.mark.parametrize("off", [100.0, -100.0, 30.0])
def test_a_base_leg_is_no_final(off: float) -> None:
    """Away while still across the runway's track: no final was broken off; 30° off it was one."""
    away = Episode("go_around", 70.0, 100.0, 1.0, facts={"lowest_s": TOUCH})
    high = lambda t: np.full(t.size, 110.0 * FT_M)  # noqa: E731
    evidence, _ = desk(approach(track_deg=lambda t: np.where(t < 80.0, off, 0.0), agl_m=high), away)
    assert [m.good for m in thin_margins(evidence, [(away, NONE)])] == ([True] if off == 30.0 else [])


@pytest.mark.parametrize(("swing", "seen"), [(15.0, True), (-15.0, True), (6.0, False)])
def test_a_swing_as_the_wheels_touch(swing: float, seen: bool) -> None:
    """15° within three seconds, to either side."""
    nose = lambda t: np.interp(t, [TOUCH + 0.3, TOUCH + 2.0], [0.0, swing])  # noqa: E731
    found = margins(heading_deg=nose)
    assert any("The nose swung 15°" in text for text in found) == seen


@pytest.mark.parametrize(
    ("bank", "path", "kind", "seen"),
    [(68.0, 25.0, "landing", True), (-68.0, 25.0, "landing", True), (68.0, 5.0, "landing", False),
     (50.0, 25.0, "landing", False), (68.0, 25.0, "unusual_attitude", False)],
)  # fmt: skip
def test_a_spiral_dive_is_said_first(bank: float, path: float, kind: str, seen: bool) -> None:
    """68° with the nose low, to either side; neither a steep descent in a turn nor what an instructor set up for it."""
    whole = approach(path_deg=path, kt=120.0, bank_deg=lambda t: np.where(np.abs(t - 30.0) < 5.0, bank, 0.0))
    evidence, _ = desk(whole)
    e = Episode(kind, 20.0, 45.0, 1.0) if kind != "landing" else landing()
    told = [m.text for m in thin_margins(evidence, [(e, NONE)]) if "spiral dive" in m.text]
    assert bool(told) == seen
    assert all(abs(float(text[15:17]) - 68.0) < 6.0 and "120 kt" in text for text in told)


@pytest.mark.parametrize(("pitch", "bank"), [(-80.0, 70.0), (-30.0, 178.0)])
def test_the_back_of_a_loop_is_no_spiral_dive(pitch: float, bank: float) -> None:
    """Nose straight down, or the wings past the vertical: aerobatics or an upset, and said so."""
    at = lambda size: lambda t: np.where(np.abs(t - 30.0) < 5.0, size, 0.0)  # noqa: E731
    found = [
        m.text
        for m in thin_margins(
            desk(approach(path_deg=25.0, kt=120.0, bank_deg=at(bank), pitch_deg=at(pitch)))[0], [(landing(), NONE)]
        )
        if "of bank" in m.text
    ]
    assert len(found) == 1
    assert found[0].endswith("aerobatics, or an upset.")


def by_positions(fly: Callable[[Builder], None]) -> list[str]:
    """What is said of a dive from the positions of a flight between minutes of level flight."""
    b = Builder(altitude_ft=6500.0, speed_kt=100.0, skill=1.0, wind_kt=8.0)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    fly(b)
    b.hold(60.0, ft=b.alt_ft, kt=100.0)
    found = debrief(b.flight(rate_hz=1.0, gps_only=True), standard=load_standard("private"))
    graded = [(g.episode, g.grade) for g in found.episodes]
    evidence = evidence_of(found)
    assert evidence is not None
    return [m.text for m in thin_margins(evidence, graded) if "spiral dive" in m.text]


def test_a_dive_in_a_turn_is_told_from_positions_and_not_as_a_fault() -> None:
    """Heights and the rate of turn show it without an airspeed; whether it was set up they don't."""
    (text,) = by_positions(lambda b: b.spiral_dive(held_s=6.0))
    assert "or one set up to recover from" in text


@pytest.mark.parametrize(
    "fly", [Builder.steep_turn, Builder.steep_spiral, lambda b: b.emergency_descent(3000.0)]
)  # fmt: skip
def test_what_is_flown_steep_or_low_on_purpose_is_no_dive(fly: Callable[[Builder], None]) -> None:
    """45° level, 40° at idle, 30 to 45° in an emergency descent (FAA-S-ACS-6C, V.A, IX.A)."""
    assert by_positions(fly) == []


@pytest.mark.parametrize(("pushed_s", "told"), [(30.0, True), (60.0, False), (None, False)])
def test_a_warning_back_for_a_moment_is_told_beside_the_push_before_it(pushed_s: float | None, told: bool) -> None:
    """0.05 g and at once a pull until the warning sounds is one recovery; 30 s apart, or by itself, it stays below."""
    load = lambda t: np.where(np.abs(t - (pushed_s or -9.0)) < 0.6, 0.05, 1.0)  # noqa: E731
    evidence, _ = desk(approach(load_factor=load))
    moment = Cause("The warning came on again, for a moment.", "Next.", 33.0, 33.5, 0.5, "again", "too big")
    stall = Episode("power_on_stall", 20.0, 70.0, 1.0)
    found = [m.text for m in thin_margins(evidence, [(stall, replace(NONE, causes=(moment,)))])]
    assert (moment.text in found) == told
    assert any(text.startswith("Pushed") for text in found) == (pushed_s is not None)


@pytest.mark.parametrize(("g", "seen"), [(0.05, True), (0.5, False)])
def test_a_push_toward_0_g(g: float, seen: bool) -> None:
    """0.05 g for a second is said; half a g is not."""
    found = margins(load_factor=lambda t: np.where(np.abs(t - 30.0) < 0.6, g, 1.0))
    assert any("Pushed to 0.1 g" in text or "Pushed to 0.0 g" in text for text in found) == seen


def runway(beyond_m: float, right_m: float) -> RunwayEnd:
    """A runway to the north whose threshold lies so that the touch is so far beyond it and beside it."""
    radius = 6_371_000.0
    return RunwayEnd("XX", "36", 0.8 - beyond_m / radius, 0.1 - right_m / radius / np.cos(0.8), 0.0, 900.0, 23.0)


@pytest.mark.parametrize(
    ("beyond", "right", "words"),
    [(200.0, 0.0, ""), (-30.0, 0.0, "98 ft short of the threshold of runway 36"),
     (-450.0, 0.0, "1,476 ft short of the threshold of runway 36"),
     (200.0, 40.0, "131 ft right of the center line"), (200.0, -40.0, "131 ft left of the center line"),
     (-8.0, 4.0, ""), (600.0, 0.0, "1,969 ft down runway 36, 984 ft of it to go"), (420.0, 0.0, "")],
)  # fmt: skip
def test_where_it_touched_on_the_published_runway(beyond: float, right: float, words: str) -> None:
    """Short by 30 m, beside by 40, 600 down 900; within the 15 m the data are good to nothing is said."""
    here = {"latitude_rad": lambda t: np.full(t.size, 0.8), "longitude_rad": lambda t: np.full(t.size, 0.1)}
    found = margins(runways=(runway(beyond, right),), **here)
    assert [text for text in found if "runway 36" in text] == ([] if not words else [t for t in found if words in t])
    assert bool(words) == bool(found)


@pytest.mark.parametrize(("beyond", "told"), [(-100.0, False), (-400.0, True)])
def test_where_it_touched_by_a_satellites_heights_is_a_guess(beyond: float, told: bool) -> None:
    """5 m of height are 5 / tan 3° = 95 m of a final, and a flare is flatter: 100 m short is nothing, 400 m is."""
    here = {"latitude_rad": lambda t: np.full(t.size, 0.8), "longitude_rad": lambda t: np.full(t.size, 0.1)}
    evidence, _ = desk(approach(**here), runways=(runway(beyond, 0.0),))
    columns = {
        k: c for k, c in evidence.flight.columns.items() if k not in ("indicated_altitude_m", "pressure_altitude_m")
    }
    evidence = replace(evidence, flight=replace(evidence.flight, columns=columns))
    assert evidence.altitude_is_satellite
    found = [m.text for m in thin_margins(evidence, [(landing(), NONE)])]
    assert any("short of the threshold" in text for text in found) == told


@pytest.mark.parametrize(("seconds", "seen"), [(0.5, False), (1.2, True)])
def test_a_push_lasts_or_is_a_bump(seconds: float, seen: bool) -> None:
    """Half a second at 0 g, in the mean over a third of one, is turbulence: nothing is said."""
    found = margins(load_factor=lambda t: np.where(np.abs(t - 30.0) <= seconds / 2.0, 0.0, 1.0))
    assert any(text.startswith("Pushed") for text in found) == seen


@pytest.mark.parametrize("over", [1.03, 1.08])
def test_a_limit_passed_by_more_ranks_higher(over: float) -> None:
    """Each hundredth beyond a limit of the airplane's file adds a tenth to its rank; at the limit nothing is said."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    flight, airplane = b.flight(), load_airplane("larkmoor_155")
    flap, most = airplane.flap_notches[2].max_ias_mps, airplane.limits.max_rpm
    assert flap
    assert most

    def ranks(by: float) -> dict[str, float]:
        made = {"ias_mps": by * flap, "cas_mps": by * flap, "flap_notch": 2.0, "rpm": by * most}
        new = flight.with_columns({k: Column(np.full(len(flight), v), "measured") for k, v in made.items()})
        evidence = evidence_of(debrief(new, standard=load_standard("private"), airplane=airplane))
        assert evidence is not None
        return {m.text: m.rank for m in thin_margins(evidence, [])}

    found = ranks(over)
    assert only(found, "with flaps 2 for 2 min; the limit is") == pytest.approx(
        60.0 * (1.0 + 10.0 * (over - 1.0)), rel=1e-6
    )
    assert only(found, "rpm for 2 min; the limit is") == pytest.approx(60.0 * (1.0 + 10.0 * (over - 1.0)), rel=1e-6)
    assert not [text for text in ranks(1.0) if "the limit is" in text]


@pytest.mark.parametrize(
    ("bank_deg", "g", "fpm", "kt", "words"),
    [(38.0, 1.27, -1500.0, 112.0, ""), (0.0, 2.5, -1500.0, 112.0, "above maneuvering"), (0.0, 1.4, -1500.0, 112.0, ""),
     (45.0, 1.41, 0.0, 112.0, ""), (38.0, 1.27, -1500.0, 134.0, "structural cruise"),
     (0.0, 1.0, 0.0, 95.0, "")],
    ids=["steady in the bank, down", "pulled, wings level", "eased out", "a steep turn", "in the yellow arc", "slow"],
)  # fmt: skip
def test_the_load_a_turn_asks_for_is_no_pull(bank_deg: float, g: float, fpm: float, kt: float, words: str) -> None:
    """1/cos 38° = 1.27: an emergency descent banks 30 to 45° (FAA-S-ACS-6C, IX.A) and is flown fast. Maneuvering speed
    limits full or abrupt control ([PHAK] ch. 5), not 1.41 g of 3.8 (14 CFR 23.337, normal category, amendment 23-48,
    from memory); beyond structural cruise only smooth air is allowed ([PHAK] ch. 8)."""
    b = Builder(altitude_ft=6500.0, speed_kt=kt)
    b.level_ft = 6500.0
    b.hold(60.0, kt=95.0)
    flight, airplane = b.flight(), load_airplane("larkmoor_155")
    n, held = len(flight), (flight.time_s > 20.0) & (flight.time_s < 45.0)
    down = np.cumsum(np.where(held, fpm * 0.00508, 0.0)) * float(np.median(np.diff(flight.time_s)))
    altitude = flight.columns["altitude_m"].values + down
    speed = np.where(held, kt, 95.0) * 0.514444
    made = {
        "ias_mps": speed, "cas_mps": speed, "bank_rad": np.where(held, np.radians(bank_deg), 0.0),
        "load_factor": np.where(held, g, 1.0), "altitude_m": altitude, "indicated_altitude_m": altitude,
        "vertical_speed_mps": np.where(held, fpm * 0.00508, 0.0),
    }  # fmt: skip
    new = flight.with_columns({k: Column(np.asarray(v, dtype=float), "measured") for k, v in made.items()})
    evidence = evidence_of(debrief(new, standard=load_standard("private"), airplane=airplane))
    assert evidence is not None
    assert n == len(evidence.flight)
    said = [m.text for m in thin_margins(evidence, []) if "above" in m.text]
    assert bool(said) == bool(words)
    assert all(words in text for text in said)


def test_a_sink_that_the_vertical_speed_never_shows_is_the_altimeters_noise() -> None:
    """1,150 fpm by the altitude's slope, 950 by the vertical speed beside it: not surely more than 1,000."""
    whole = approach(path_deg=float(np.degrees(np.arctan(1150.0 * FPM_MPS / (65.0 * KT_MPS)))))
    slower = np.maximum(whole["vertical_speed_mps"], -950.0 * FPM_MPS)
    for column, told in ((whole.columns["vertical_speed_mps"].values, True), (slower, False)):
        evidence, _ = desk(whole.with_columns({"vertical_speed_mps": Column(column, "measured")}))
        assert any("inking" in m.text for m in thin_margins(evidence, [(landing(), NONE)])) is told


@pytest.mark.parametrize("first", range(5))
@pytest.mark.parametrize("recorded", [True, False])
@pytest.mark.parametrize(("fpm", "told"), [(960.0, False), (1350.0, True)])
def test_a_sink_of_an_altitude_in_steps_is_told_where_it_is_sure(
    fpm: float, told: bool, recorded: bool, first: int
) -> None:
    """Two fixes a second, heights of 25 ft (as a transponder sends them: ICAO Annex 10 vol. IV, from memory): what may
    have been less than 1,000 fpm isn't said, with the vertical speed recorded or without, and no more than it was."""
    whole = approach(path_deg=float(np.degrees(np.arctan(fpm * FPM_MPS / (65.0 * KT_MPS)))))
    kept = slice(first, None, 5)
    columns = {k: replace(c, values=c.values[kept]) for k, c in whole.columns.items()}
    read = np.round(columns["indicated_altitude_m"].values / 7.62) * 7.62
    columns |= dict.fromkeys(("altitude_m", "indicated_altitude_m"), Column(read, "measured"))
    if not recorded:
        columns["vertical_speed_mps"] = replace(columns["vertical_speed_mps"], known="derived")
    evidence, _ = desk(replace(whole, time_s=whole.time_s[kept], columns=columns))
    found = [m.text for m in thin_margins(evidence, [(landing(), NONE)]) if "inking" in m.text]
    assert bool(found) is told
    said = [int(x.replace(",", "")) for text in found for x in re.findall(r"inking ([\d,]+) fpm", text)]
    assert all(1000 < x < 1.03 * fpm for x in said)


@pytest.mark.parametrize(("agl_ft", "seconds", "touch_s", "fpm", "told"), [
    (330.0, 100.0, None, 0.0, True), (520.0, 100.0, None, 0.0, False), (330.0, 25.0, None, 0.0, False),
    (330.0, 100.0, 400.0, 0.0, False), (330.0, 100.0, 560.0, 0.0, True), (80.0, 100.0, None, 0.0, False),
    (330.0, 100.0, None, -450.0, False),
])  # fmt: skip
def test_level_below_500_ft_is_told_but_for_takeoff_and_landing(
    agl_ft: float, seconds: float, touch_s: float | None, fpm: float, told: bool
) -> None:
    """14 CFR 91.119 (c): 500 ft, which takeoff and landing are excepted from; half a minute of it, not a descent."""
    t = np.arange(0.0, 700.0, 0.5)
    low = (t >= 300.0) & (t < 300.0 + seconds)
    down = np.cumsum(np.where(low, fpm * FPM_MPS, 0.0)) * 0.5 + 1500.0
    speed, zero = np.full(t.size, 90.0 * KT_MPS), np.zeros(t.size)
    values = {
        "east_m": zero, "north_m": np.cumsum(speed) * 0.5, "altitude_m": down, "indicated_altitude_m": down,
        "groundspeed_mps": speed, "ias_mps": speed, "tas_mps": speed, "track_rad": zero, "heading_rad": zero,
        "bank_rad": zero, "agl_m": np.where(low, agl_ft, 900.0) * FT_M,
    }  # fmt: skip
    contacts = () if touch_s is None else (GroundContact("landing", touch_s),)
    flight = Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()}, contacts=contacts)
    found = [m.text for m in held_low(desk(flight)[0], [])]
    assert [x.startswith("Flown for ") and "330 ft above the ground: 500 ft is the least" in x for x in found] == (
        [True] if told else []
    )


@pytest.mark.parametrize(("lowest_ft", "times", "step_s", "told"), [
    (60.0, 6, 0.5, True), (60.0, 1, 0.5, False), (520.0, 6, 0.5, False), (-90.0, 6, 0.5, False), (300.0, 6, 0.5, False),
    (60.0, 6, 12.0, False),
])  # fmt: skip
def test_up_and_down_below_500_ft_is_told_where_it_adds_up(
    lowest_ft: float, times: int, step_s: float, told: bool
) -> None:
    """14 CFR 91.119 (c): none of it level for half a minute; lower than the field lies other land, and between rows
    12 s apart it may have touched."""
    t = np.arange(0.0, 850.0, step_s)
    swing = 0.5 * (1.0 - np.cos(2.0 * np.pi * (t - 200.0) / 50.0))
    down = (t >= 200.0) & (t < 200.0 + 50.0 * times)
    agl = np.where(down, 650.0 - (650.0 - lowest_ft) * swing, 650.0) * FT_M
    speed, zero = np.full(t.size, 90.0 * KT_MPS), np.zeros(t.size)
    values = {
        "east_m": zero, "north_m": speed * t, "altitude_m": agl + 90.0, "indicated_altitude_m": agl + 90.0,
        "groundspeed_mps": speed, "ias_mps": speed, "tas_mps": speed, "track_rad": zero, "heading_rad": zero,
        "bank_rad": zero, "agl_m": agl,
    }  # fmt: skip
    flight = Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()})
    found = [m.text for m in low_for_long(desk(flight)[0], [])]
    assert [x.endswith("500 ft is the least but where hardly anyone lives.") for x in found] == [True] * told


def test_sinking_is_told_only_below_500_ft() -> None:
    """1,200 fpm at 2,000 ft is a descent."""
    high = lambda t: np.where(t < 20.0, -1200.0 * FPM_MPS, -2.0)  # noqa: E731
    assert not [text for text in margins(vertical_speed_mps=high) if text.startswith("Sinking")]


@pytest.mark.parametrize(("warned", "mass_lb", "said"), [
    (None, None, "above the stall at the greatest weight for"), (None, 2200.0, "above the stall for"),
    ((61.0, 63.0), None, "The stall warning sounded for 2 s, with no stall meant."), ((90.0, 92.0), None, None),
    ((0.0, 0.0), None, "above the stall at the greatest weight for"),
])  # fmt: skip
def test_near_the_stall_says_what_is_known_of_it(
    warned: tuple[float, float] | None, mass_lb: float | None, said: str | None
) -> None:
    """Level at 49.5 kt at altitude, near the demo airplane's stall: a warning that was silent then speaks against it,
    one that was silent all the flight may not have been connected.

    It is to begin at least 5 kt above the stall: 14 CFR 23.207 (amendment 23-62, from memory).
    """
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    flight = b.flight()
    part = flight.span(60.0, 66.0)
    ias = flight.columns["ias_mps"].values.copy()
    ias[part] = 49.5 * KT_MPS
    new = {"ias_mps": Column(ias, "measured"), "cas_mps": Column(ias, "measured")}
    if warned is not None:
        sounds = np.zeros(len(flight))
        sounds[flight.span(*warned)] = float(warned[1] > warned[0])
        new["stall_warning"] = Column(sounds, "measured")
    else:
        flight = replace(flight, columns={k: v for k, v in flight.columns.items() if k != "stall_warning"})
    found = debrief(flight.with_columns(new), standard=load_standard("private"), airplane=load_airplane("larkmoor_155"),
                    mass_kg=None if mass_lb is None else mass_lb * LB_KG)  # fmt: skip
    evidence = evidence_of(found)
    assert evidence is not None
    texts = [m.text for m in thin_margins(evidence, [])]
    assert [said is not None and said in t for t in texts if "stall" in t] == ([] if said is None else [True])


@pytest.mark.parametrize(
    ("around", "flaps", "told"),
    [("", None, True), ("traffic_pattern", None, False), ("traffic_pattern", 0.0, True)],
)
def test_on_the_way_to_a_landing_flaps_nobody_recorded_may_be_out(around: str, flaps: float | None, told: bool) -> None:
    """The demo airplane stalls at 54 KCAS clean at its greatest weight, at 46 with full flaps."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    airplane = load_airplane("larkmoor_155")
    clean, full = (float(airplane.stall_cas_by_notch_mps(airplane.max_takeoff_mass_kg)[k]) for k in (0, -1))
    flight = b.flight()
    slow = np.zeros(len(flight), dtype=bool)
    slow[flight.span(60.0, 66.0)] = True
    ias = np.where(slow, max(clean + 1.0 * KT_MPS, full + 5.5 * KT_MPS), flight.columns["ias_mps"].values)
    new = {"ias_mps": ias, "cas_mps": ias} | ({} if flaps is None else {"flap_notch": np.full(len(flight), flaps)})
    left_out = {"stall_warning"} | ({"flap_notch", "flap_deg"} if flaps is None else set())
    flight = replace(flight, columns={k: v for k, v in flight.columns.items() if k not in left_out})
    made = flight.with_columns({k: Column(v, "measured") for k, v in new.items()})
    evidence = evidence_of(debrief(made, standard=load_standard("private"), airplane=airplane))
    assert evidence is not None
    graded = [(Episode(around, 50.0, 110.0, 0.95), NONE)] if around else []
    assert any("above the stall" in m.text for m in thin_margins(evidence, graded)) is told


@pytest.mark.parametrize(
    ("bank_deg", "g", "root"), [(47.0, 1.47, "power"), (10.0, 1.5, "back pressure"), (0.0, 1.0, "target not set")]
)
def test_near_the_stall_in_a_steady_steep_turn_it_was_the_speed(bank_deg: float, g: float, root: str) -> None:
    """1/cos 47° = 1.47 g is what holds the turn level: flown too slowly, not pulled too hard. At 10° it is a pull."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    flight = b.flight()
    slow = np.zeros(len(flight), dtype=bool)
    slow[flight.span(60.0, 66.0)] = True
    ias = np.where(slow, 48.0 * float(np.sqrt(g)) * KT_MPS, flight.columns["ias_mps"].values)
    new = {
        "ias_mps": ias, "cas_mps": ias, "stall_warning": slow.astype(float), "load_factor": np.where(slow, g, 1.0),
        "bank_rad": np.where(slow, np.radians(bank_deg), 0.0),
    }  # fmt: skip
    made = flight.with_columns({k: Column(v, "measured") for k, v in new.items()})
    found = debrief(made, standard=load_standard("private"), airplane=load_airplane("larkmoor_155"))
    evidence = evidence_of(found)
    assert evidence is not None
    assert [m.root for m in thin_margins(evidence, []) if "stall warning" in m.text] == [root]


def test_a_touch_short_of_the_threshold_is_shown_from_five_seconds_before_to_one_after() -> None:
    here = {"latitude_rad": lambda t: np.full(t.size, 0.8), "longitude_rad": lambda t: np.full(t.size, 0.1)}
    evidence, _ = desk(approach(**here), runways=(runway(-30.0, 0.0),))
    (found,) = [m for m in thin_margins(evidence, [(landing(), NONE)]) if "short of the threshold" in m.text]
    assert (found.start_s, found.end_s) == (pytest.approx(TOUCH - 5.0), pytest.approx(TOUCH + 1.0))


@pytest.mark.parametrize(("kind", "text"), [
    ("landing", r"The stall warning sounded for 2 s from [\d,]+ ft above the ground on, down to 5\d mph: go around"),
    ("slow_flight", ""),
])  # fmt: skip
def test_a_warning_on_the_way_to_the_wheels_is_said_first(kind: str, text: str) -> None:
    """Above the flare no landing is slow on purpose; slow flight is."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    flight = b.flight()
    ias, sounds = flight.columns["ias_mps"].values.copy(), np.zeros(len(flight))
    ias[flight.span(60.0, 66.0)], sounds[flight.span(61.0, 63.0)] = 49.5 * KT_MPS, 1.0
    new = {
        "ias_mps": Column(ias, "measured"),
        "cas_mps": Column(ias, "measured"),
        "stall_warning": Column(sounds, "measured"),
    }
    found = debrief(flight.with_columns(new), standard=load_standard("private"), airplane=load_airplane("larkmoor_155"))
    evidence = evidence_of(found)
    assert evidence is not None
    graded = [(Episode(kind, 40.0, 100.0, 1.0), Grade({}, "", {}, (), ()))]
    said = [m for m in thin_margins(evidence, graded) if "stall" in m.text]
    assert [bool(re.match(text, m.text)) and m.rank > 300.0 for m in said] == [True] * bool(text)
