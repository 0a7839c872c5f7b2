"""How large a thin margin is, and over how long it is looked at: drawn flights, values worked out by hand.

What counts as thin is airwork's own (common practice, no source); the sums here are derived from what was drawn.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.debrief.first import _circles, _went_well
from airwork.debrief.first_margins import joined, said_first
from airwork.debrief.margins import Margin, gate, thin_margins
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade, Verdict
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.recording.flight import Column, Flight, GroundContact
from airwork.units import FT_M, KT_MPS
from approaches import TOUCH, approach, desk, landing

NONE = Grade({}, "", {}, (), ())
LARKMOOR = load_airplane("larkmoor_155")
MASS_KG = 950.0


def gate_s() -> float:
    """When the good approach passes 300 ft."""
    found = gate(desk(approach())[0], TOUCH, "landing")
    assert found is not None
    return found[0]


def at_gate(after: bool, **how: object) -> list[str]:
    """What is said of an approach that is drawn with what `how` gives after the gate (or before it) alone."""
    at = gate_s()
    drawn = {k: lambda t, v=v: np.where((t > at) == after, v[1], v[0]) for k, v in how.items()}  # type: ignore[misc]
    found = gate(desk(approach(**drawn))[0], TOUCH, "landing")  # type: ignore[arg-type]
    assert found is not None
    assert found[0] == pytest.approx(at, abs=0.11)
    return found[1]


@pytest.mark.parametrize("after", [True, False])
def test_bank_and_track_at_the_gate_are_means_about_that_moment(after: bool) -> None:
    """As long before as after: what begins or ends there counts half.

    40° of bank: 20°. A track 60° off: 30°.
    """
    (bank,) = at_gate(after, bank_deg=(0.0, 40.0))
    assert float(bank.split("°")[0]) == pytest.approx(20.0, abs=2.0)  # one of 20 samples is 2°
    if not after:  # what is rolled after the touch is the runway's
        (track,) = at_gate(after, track_deg=(0.0, 60.0))
        assert float(track.split("°")[0]) == pytest.approx(30.0, abs=3.0)


def test_the_gates_size_is_the_largest_excess() -> None:
    """Bank 30° is twice its 15°, 45° off the track three times its 15°; what is off together is told together."""
    crooked = lambda t: np.where(t < TOUCH - 10.0, 45.0, 0.0)  # noqa: E731
    banked = lambda t: np.where(t < TOUCH - 10.0, 30.0, 0.0)  # noqa: E731
    found = gate(desk(approach(track_deg=crooked, bank_deg=banked))[0], TOUCH, "landing")
    assert found is not None
    assert found[1] == ["45° off the runway's track", "30° of bank"]
    assert found[2] == pytest.approx(3.0, rel=1e-3)
    alone = gate(desk(approach(bank_deg=lambda t: np.where(t < TOUCH - 10.0, 10.0, 0.0)))[0], TOUCH, "landing")
    both = gate(desk(approach(track_deg=crooked, bank_deg=lambda t: np.full(t.size, 10.0)))[0], TOUCH, "landing")
    assert alone is not None
    assert both is not None
    assert (alone[1], both[1][1:]) == ([], ["10° of bank"])  # two thirds of the limit says something beside another


@pytest.mark.parametrize("share", [1.2, 1.5, 1.8])
def test_a_touch_far_above_the_stalling_speed(share: float) -> None:
    """1.3 times is the most; the rank is the share of it. The wheels meet the ground at a speed drawn."""
    stall = float(LARKMOOR.stall_cas_mps(MASS_KG, 0))
    evidence, _ = desk(approach(kt=share * stall / KT_MPS), airplane=LARKMOOR, mass_kg=MASS_KG)
    found = [m for m in thin_margins(evidence, [(landing(), NONE)]) if "stalling speed" in m.text]
    slowed = evidence.mean(evidence.flight["cas_mps"], TOUCH - 0.5, TOUCH + 0.5) / stall  # the roll has begun
    if share < 1.3:
        assert found == []
    else:
        assert found[0].text == f"Touched down at {slowed:.2f} times the stalling speed."
        assert found[0].rank == pytest.approx(100.0 * slowed / 1.3)
        assert (found[0].start_s, found[0].end_s) == (TOUCH - 2.0, TOUCH + 1.0)


def finding(quantity: str, verdict: Verdict, worst: float, low: float) -> Finding:
    return Finding(quantity, "", worst, "ft", None, verdict, "", low=low, high=-low, quantity=quantity)


def level(**columns: object) -> Flight:
    """Two minutes at 4,500 ft and 95 kt, the columns drawn as functions of the time; NaN where none are wanted."""
    t = np.arange(0.0, 120.0, 0.1)
    speed, zero = np.full(t.size, 95.0 * KT_MPS), np.zeros(t.size)
    values: dict[str, np.ndarray] = {
        "east_m": zero, "north_m": np.cumsum(speed) * 0.1, "altitude_m": np.full(t.size, 4500.0 * FT_M),
        "indicated_altitude_m": np.full(t.size, 4500.0 * FT_M), "groundspeed_mps": speed, "ias_mps": speed,
        "cas_mps": speed, "tas_mps": speed, "track_rad": zero, "heading_rad": zero, "pitch_rad": zero,
        "bank_rad": zero, "vertical_speed_mps": zero, "load_factor": np.ones(t.size), "wind_mps": zero,
        "wind_from_rad": zero,
    }  # fmt: skip
    values |= {name: np.asarray(what(t), dtype=float) for name, what in columns.items()}  # type: ignore[operator]
    return Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()}, source={"name": "drawn"})


@pytest.mark.parametrize(("g", "rank"), [(0.15, 72.0), (0.0, 90.0), (-0.25, 120.0), (-2.0, 180.0)])
def test_a_harder_push_ranks_higher(g: float, rank: float) -> None:
    """60 at a quarter of a g, 12 more for each tenth below it, and three times 60 at the most."""
    evidence, _ = desk(level(load_factor=lambda t: np.where(np.abs(t - 60.0) < 3.0, g, 1.0)))
    (found,) = [m for m in thin_margins(evidence, []) if m.text.startswith("Pushed")]
    assert found.rank == pytest.approx(rank)
    assert found.brief == f"pushed to {g:.1f} g".replace("-", "−")
    assert (found.start_s, found.end_s) == (pytest.approx(57.1, abs=0.15), pytest.approx(62.9, abs=0.15))


@pytest.mark.parametrize(("touched", "seen"), [(False, True), (True, False)])
def test_near_the_stall_close_to_the_ground_is_a_flare(touched: bool, seen: bool) -> None:
    """Without heights above ground: where the wheels met it tells it. Slow from 60 to 70 s, at that altitude."""
    slow = 1.05 * float(LARKMOOR.stall_cas_mps(MASS_KG, 0))
    drawn = lambda t: np.where((t >= 60.0) & (t < 70.0), slow, 95.0 * KT_MPS)  # noqa: E731
    flight = level(ias_mps=drawn, cas_mps=drawn)
    contacts = (GroundContact("landing", 110.0),) if touched else ()
    evidence, _ = desk(replace(flight, contacts=contacts), airplane=LARKMOOR, mass_kg=MASS_KG)
    assert any("above the stall" in m.text for m in thin_margins(evidence, [])) == seen


@pytest.mark.parametrize(("worst", "rank"), [(900.0, 100.0), (500.0, 180.0), (200.0, 180.0), (1500.0, None)])
def test_below_the_floor_by_more_ranks_higher(worst: float, rank: float | None) -> None:
    """Floor 1,500 ft: 60 times floor over height, three times at the most."""
    grade = Grade({}, "", {}, (finding("agl", "held" if rank is None else "not held", worst, 1500.0),), ())
    e = Episode("power_off_stall", 20.0, 60.0, 1.0)
    found = [m for m in thin_margins(desk(level())[0], [(e, grade)]) if "floor" in m.text]
    assert [m.rank for m in found] == ([] if rank is None else [pytest.approx(rank)])


def thin(start_s: float, end_s: float, text: str, rank: float = 1.0) -> Margin:
    return Margin(text, start_s, end_s, rank)


def test_what_was_thin_in_the_same_seconds_is_told_with_the_worst() -> None:
    """From a minute before it to ten seconds after it, two at the most; the next one is told as another."""
    worst = thin(200.0, 210.0, "Worst.")
    near = [thin(219.0, 225.0, "Nine after."), thin(120.0, 141.0, "A minute before."), thin(205.0, 206.0, "Third.")]
    far = [thin(220.0, 225.0, "Ten after."), thin(100.0, 140.0, "More before.")]
    assert joined([worst, *near[:2]]) == "Worst. Nine after. A minute before."
    assert joined([worst, *far[:1]]) == "Worst. Also: ten after."
    assert joined([worst, *far[1:]]) == "Worst. Also: more before."
    assert joined([worst, *near]) == "Worst. Nine after. A minute before. Also: third."
    assert said_first([worst, *near, *far]) == [worst, *near]
    assert said_first([worst, *far]) == [worst, far[0]]
    assert said_first([]) == []


def test_where_the_others_were_is_told_once_for_each_half_minute() -> None:
    """After the one told beside the worst: counted, and the clock of those more than 30 s from the ones before."""
    first = [thin(0.0, 1.0, "Worst."), thin(500.0, 501.0, "Other.")]
    rest = [thin(600.0, 601.0, "A."), thin(629.0, 630.0, "B."), thin(660.0, 661.0, "C.")]
    assert joined([*first, *rest]) == "Worst. Also: other. And 3 more: 10:00; 11:00."


@pytest.mark.parametrize(("weight", "well"), [(1.0, True), (1.1, False)])
def test_what_went_well_had_no_cause_of_weight(weight: float, well: bool) -> None:
    """A steep turn within 20 ft of its 100 ft: told, unless something worth a cause went wrong in it."""
    held = finding("altitude", "held", 20.0, -100.0)
    cause = Cause("late", "", 20.0, 30.0, weight)
    e = Episode("steep_turn", 20.0, 60.0, 1.0)
    told = _went_well(desk(level())[0], [(e, Grade({}, "", {}, (held,), (cause,)))], [])
    assert bool(told) == well


@pytest.mark.parametrize(("span", "seen"), [((10.0, 40.0), True), ((10.0, 75.0), False), ((70.0, 100.0), False),
                                            ((100.0, 110.0), True), (None, True)])  # fmt: skip
def test_a_circle_outside_any_maneuver_is_told(span: tuple[float, float] | None, seen: bool) -> None:
    """Round once and a half from 50 to 95 s at 30° of bank; one that a maneuver reaches into is that maneuver's."""
    turning = lambda t: np.clip(t - 50.0, 0.0, 45.0) * np.radians(12.0)  # noqa: E731
    bank = lambda t: np.where((t > 50.0) & (t < 95.0), np.radians(45.0), 0.0)  # noqa: E731
    evidence, _ = desk(level(heading_rad=lambda t: np.mod(turning(t), 2 * np.pi), bank_rad=bank,
                             track_rad=lambda t: np.mod(turning(t), 2 * np.pi)))  # fmt: skip
    episodes = [] if span is None else [Episode("steep_turn", *span, 1.0)]
    assert bool(_circles(evidence, episodes)) == seen
    if seen:
        assert _circles(evidence, episodes).startswith("1 circle outside any maneuver, 45° of bank")


@pytest.mark.parametrize(("over_kt", "g", "seen"), [(1.0, 1.6, False), (5.0, 1.6, True), (1.0, 2.2, True)])
def test_the_load_of_a_steep_turn_counts_only_well_above_maneuvering_speed(
    over_kt: float, g: float, seen: bool
) -> None:
    """A speed held to 3 kt is held; a hard pull counts at once."""
    plain = replace(desk(level())[0], airplane=LARKMOOR)
    limit = handbook_ias_mps(plain, "maneuvering")
    assert limit is not None
    speed = lambda t: np.full(t.size, limit + over_kt * KT_MPS)  # noqa: E731
    drawn = level(ias_mps=speed, load_factor=lambda t: np.where(np.abs(t - 60.0) < 10.0, g, 1.0))
    found = thin_margins(replace(desk(drawn)[0], airplane=LARKMOOR), [])
    assert any("above maneuvering speed" in m.text for m in found) is seen
