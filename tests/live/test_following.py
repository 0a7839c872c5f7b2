"""A flight followed from end to end: replayed, and over UDP from a simulator with drop-outs and nonsense between."""

from __future__ import annotations

import json
import math
import socket
import sys
import threading
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import airwork
from airwork.cli import main
from airwork.debrief import Debrief
from airwork.lesson.plan import Planned
from airwork.live.follower import Follower
from airwork.live.reading import Sample
from airwork.live.running import Running
from airwork.live.seeing import InHand, Seeing
from airwork.live.sources import Replay, Udp
from airwork.recording.marks import Mark, keep_mark, marks_path
from airwork.units import from_unit

sys.path.insert(0, str(Path(__file__).parents[2] / "tools"))
from feed_from_jsbsim import fly, line


@pytest.fixture(scope="module")
def replayed(plan: Planned, part: Path, tmp_path_factory: pytest.TempPathFactory) -> Running:
    """The part, replayed as fast as it is taken."""
    follower = Follower(plan, tmp_path_factory.mktemp("replayed") / "live.csv", time.time())
    follower.recorder.sync_s = 1e9
    running = Running(follower, stepped=True)
    Replay(part, 0.0, running.sample, running.end).start()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("airwork.live.running.EVERY_S", 40.0)  # as a slower machine looks: an eighth of the looks
        running.run()
    return running


@pytest.fixture(scope="module")
def debriefed(plan: Planned, part: Path) -> Debrief:
    """What the ground says of the same flight."""
    return airwork.debrief_flight(part, airplane=plan.airplane, lesson=plan.briefing)


def test_a_replay_gives_the_debrief_of_the_same_file(replayed: Running, plan: Planned, debriefed: Debrief) -> None:
    """Its own recording, debriefed: the same maneuvers, the same ends, the same verdicts."""
    wanted = debriefed.as_json()["episodes"]
    found = airwork.debrief_flight(replayed.follower.recording, airplane=plan.airplane, lesson=plan.briefing)
    found = found.as_json()["episodes"]
    assert len(wanted) >= 6
    assert [(e["kind"], e["start_s"], e["end_s"], e["met"]) for e in found] == [
        (e["kind"], e["start_s"], e["end_s"], e["met"]) for e in wanted
    ]


def test_what_was_seen_as_it_happened_is_what_the_debrief_finds(replayed: Running, debriefed: Debrief) -> None:
    """The same kinds, ends within 5 s, each known within half a minute of its end; and only then."""
    begun = debriefed.flight.start_utc_s
    wanted = [(g.episode.kind, begun + g.episode.end_s) for g in debriefed.episodes]
    seen = replayed.follower.seeing.ended
    same = [any(s.kind == kind and abs(s.end_s - end) <= 5.0 for s in seen) for kind, end in wanted]
    assert sum(same) >= 0.9 * len(wanted)
    assert all(s.known_s >= s.end_s for s in seen)


def test_what_was_told_in_flight_is_what_the_debrief_says(replayed: Running, debriefed: Debrief) -> None:
    """One judgement for both: a turn failed in the air and passed on the ground would be no help to anybody."""
    begun = debriefed.flight.start_utc_s
    ended = {(g.episode.kind, round(begun + g.episode.end_s)): g.verdict for g in debriefed.episodes}
    told = {(s.kind, round(s.end_s)): s.graded.verdict for s in replayed.follower.seeing.ended}
    assert len(told.keys() & ended.keys()) >= 0.8 * len(ended)
    assert {what: verdict for what, verdict in told.items() if what in ended and verdict != ended[what]} == {}


def test_an_exercise_stays_in_hand_until_it_ends(plan: Planned) -> None:
    """Half a maneuver is seen by one look and not by the next; its end, or half a minute without it, ends it."""
    seeing = Seeing(plan.standard, plan.airplane)
    seeing.in_hand = InHand("slow_flight", 0.9, 100.0, 150.0)
    straight, slow = ("straight_and_level", 90.0, 160.0), ("slow_flight", 101.0, 141.0)
    assert seeing._goes_on([], 160.0)
    assert seeing._goes_on([straight], 160.0)
    assert not seeing._goes_on([], 181.0)
    assert not seeing._goes_on([slow], 160.0)
    seeing.in_hand = InHand("straight_and_level", 0.9, 100.0, 150.0)
    assert not seeing._goes_on([], 160.0)


def test_the_screen_has_few_numbers_and_says_what_they_are_from(replayed: Running) -> None:
    screen = replayed.screen
    assert screen is not None
    assert 0 < len(screen.numbers) <= 3
    shown = {i.key: i for i in (*screen.numbers, *screen.more)}
    assert {"home", "tank", "edge", "floor", "glide", "wind"} <= set(shown)
    assert "home" in {i.key for i in screen.numbers}
    assert all(i.why for i in shown.values())
    assert "no primary instrument" in screen.caution
    json.dumps(screen.as_json())


def test_few_things_were_said_and_none_twice_in_a_minute(replayed: Running) -> None:
    said = replayed.follower.calls.said
    assert said
    assert len(said) <= 20  # of twenty minutes
    for key in {c.key for c in said} - {"graded", "data"}:
        times = [c.at_s for c in said if c.key == key]
        assert all(b - a >= 60.0 for a, b in pairwise(times)), key


def test_the_command_ends_in_debrief_and_logbook(
    short: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("airwork.live.running.EVERY_S", 25.0)
    book = str(tmp_path / "book.sqlite")
    assert main(["logbook", "add", "student", "Ann Example", "--data", book]) == 0
    assert main(["logbook", "add", "instructor", "Ike Teacher", "--data", book]) == 0
    options = [
        "--file",
        str(short),
        "--speed",
        "0",
        "--no-page",
        "--into",
        "live.csv",
        "--student",
        "Ann",
        "--data",
        book,
    ]
    assert main(["follow", "demo", *options, "--instructor", "Ike"]) == 0
    out = capsys.readouterr().out
    assert "recorded: live.csv" in out
    assert "Takeoff" in out
    assert "entered" in out
    assert main(["follow", "demo", *options]) == 2
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--no-page"], "nothing to follow"),
        (["--no-page", "--tcp", "here"], "HOST:PORT"),
        (["--no-page", "--udp", "99999"], "99999"),
        (["--no-page", "--silence", "all"], "no call 'all'"),
        (["--no-page", "--file", "nowhere.csv"], "nowhere.csv"),
    ],
)
def test_what_cannot_be_followed_is_one_line(
    options: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["follow", "demo", *options]) == 2
    err = capsys.readouterr().err
    assert says in err
    assert err.count("\n") == 1


def test_a_simulator_flown_over_udp_amid_nonsense_is_recorded_whole(plan: Planned, tmp_path: Path) -> None:
    """JSBSim flies two steep turns into it: each sixth line lost, doubled, late, torn or absurd, all else recorded.

    What the simulator itself knew is the truth: airspeed, and one turn to each side at 45° through 340°.
    """
    follower = Follower(plan, tmp_path / "udp.csv", time.time())
    running = Running(follower)
    came: list[bytes] = []

    def deliver(name: str, heard: bytes) -> None:
        running.deliver(name, heard)
        came.append(heard)

    source, sent = Udp(0, deliver, "127.0.0.1"), 0
    source.start()
    loop = threading.Thread(target=running.run)
    loop.start()
    out = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    place, begun = plan.lesson.place, plan.lesson.start_utc_s
    lines, truth, lost = [], [], 0
    for k, (at, fdm) in enumerate(fly(math.degrees(place.latitude_rad), math.degrees(place.longitude_rad), 6500.0)):
        if at > 230.0:
            break
        lines.append(line(fdm, begun + at))
        truth.append((at, fdm["velocities/vc-kts"], fdm["attitude/phi-deg"]))
        spoilt = [lines[k]]
        if k % 6 == 5:
            spoilt = ([], [lines[k]] * 2, [lines[max(k - 40, 0)]], [lines[k][: len(lines[k]) // 2]],
                      [lines[k].replace(b'"ias_kt": ', b'"ias_kt": 9')])[(k // 6) % 5]  # fmt: skip
            lost += lines[k] not in spoilt
        for one in spoilt:
            out.sendto(one, ("127.0.0.1", source.port))
            sent += 1
        while sent - len(came) > 50:  # more would not fit into what a machine with much else to do keeps for it
            time.sleep(0.001)
    deadline = time.monotonic() + 240.0
    while follower.watch.counts["samples"] < len(lines) - lost and time.monotonic() < deadline:
        time.sleep(0.05)
    out.close()
    source.stop()
    running.end()
    loop.join(timeout=240.0)
    flight = airwork.read_flight(tmp_path / "udp.csv")
    assert len(flight) >= len(lines) - lost - 5
    assert running.bad_lines()
    assert follower.late > 30
    seconds, knots, bank = np.array(truth).T
    flown = np.interp(flight.time_s, seconds, from_unit(knots, "kt"))
    assert np.nanpercentile(np.abs(flight["ias_mps"] - flown), 95) < 0.5
    assert np.nanmax(flight["ias_mps"]) < 1.02 * from_unit(knots.max(), "kt")
    rolled_out = seconds[np.flatnonzero(np.diff((np.abs(bank) > 20.0).astype(int)) == -1)]
    steep = [s.end_s - begun for s in follower.seeing.ended if s.kind == "steep_turn"]
    assert steep == pytest.approx(rolled_out.tolist(), abs=6.0)


def test_a_mark_is_told_in_the_debrief_with_its_maneuver(short: Path, tmp_path: Path) -> None:
    """Kept beside the recording; a torn line and one of another day are passed over."""
    flight = tmp_path / "live.csv"
    flight.write_bytes(short.read_bytes())
    begun = airwork.read_flight(flight).start_utc_s
    takeoff = next(g.episode for g in airwork.debrief_flight(flight).episodes if g.episode.kind == "takeoff")
    keep_mark(flight, Mark(begun + round(takeoff.end_s) + 3.0, "late rotation"))
    keep_mark(flight, Mark(begun + 86_400.0, "another day"))
    with marks_path(flight).open("a") as torn:
        torn.write('{"utc": "2026-')
    told = [note for note in airwork.debrief_flight(flight).notes if note.startswith("Marked")]
    assert len(told) == 1
    assert "late rotation" in told[0]
    assert "Takeoff" in told[0]


def test_whatever_fails_in_flight_the_recording_goes_on(
    plan: Planned, short: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recognition and card broken on purpose: said, and every row is there."""

    def broken(*_: object, **__: object) -> None:
        raise IndexError("on purpose")

    follower = Follower(plan, tmp_path / "live.csv", time.time())
    follower.recorder.sync_s = 1e9
    monkeypatch.setattr(follower.seeing, "look", broken)
    monkeypatch.setattr(follower.card, "items", broken)
    running = Running(follower, stepped=True)
    Replay(short, 0.0, running.sample, running.end).start()
    running.run()
    assert len(airwork.read_flight(tmp_path / "live.csv")) == len(airwork.read_flight(short))
    assert any("the recording goes on" in event.text for _, event in follower._events)


@pytest.mark.parametrize(("feet", "said"), [((3700, 6500, 4700), True), ((3700, 4250, 4200), False)])
def test_the_floor_is_called_from_working_above_it_on(
    plan: Planned, tmp_path: Path, feet: tuple[int, ...], said: bool
) -> None:
    """In the middle of the area, floor 4,300 ft: climbing to it is no matter, sinking below it later is."""
    latitude, longitude = plan.flight.flat.lat_lon_rad(0.0, 0.0)
    follower = Follower(plan, tmp_path / "live.csv", 0.0)
    ways = [altitude for a, b in pairwise((*feet, feet[-1] - 450)) for altitude in range(a, b, 10 if b > a else -10)]
    for now, altitude in enumerate(ways):
        values = {"latitude_rad": latitude, "longitude_rad": longitude, "track_rad": 0.0, "ias_mps": 45.0,
                  "groundspeed_mps": 45.0, "indicated_altitude_m": from_unit(altitude, "ft"), "bank_rad": 0.0,
                  "vertical_speed_mps": -2.0 if now > len(ways) / 2 else 2.0}  # fmt: skip
        follower.take(Sample("sim", float(now), math.nan, values))
        follower.tick(float(now) + 0.1)
    follower.close()
    assert any(call.key == "floor" for call in follower.calls.said) == said


def test_nothing_of_the_area_alarms_before_one_works_in_it(plan: Planned, tmp_path: Path) -> None:
    """On the ramp and climbing out floor, edge and glide are plain; once above the floor in the area, low is red."""
    latitude, longitude = plan.flight.flat.lat_lon_rad(0.0, 0.0)
    follower = Follower(plan, tmp_path / "live.csv", 0.0)

    def levels(now: float, feet: float, mps: float) -> dict[str, str]:
        values = {"latitude_rad": latitude, "longitude_rad": longitude, "track_rad": 0.0, "ias_mps": mps,
                  "groundspeed_mps": mps, "indicated_altitude_m": from_unit(feet, "ft"), "bank_rad": 0.0}  # fmt: skip
        follower.take(Sample("sim", now, math.nan, values))
        screen = follower.tick(now + 0.1)
        return {i.key: i.level for i in (*screen.numbers, *screen.more)}

    for now, feet, mps in ((0.0, 3700.0, 0.0), (60.0, 4000.0, 45.0), (120.0, 4350.0, 45.0)):
        shown = levels(now, feet, mps)
        assert [shown[k] for k in ("edge", "floor", "glide")] == ["plain"] * 3, feet
    assert levels(300.0, 6500.0, 45.0)["floor"] == "plain"
    assert levels(400.0, 4100.0, 45.0)["floor"] == "act"
    follower.close()
