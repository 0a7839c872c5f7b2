"""The arbiter on hand-made proposals: greatest total worth, what may lie inside what, what fills the rest."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.debrief.arbiter import best_story
from airwork.debrief.certainty import Given
from airwork.debrief.weighing import MOMENT_S, clash, cleared_for, weighed, worth
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Phase


def one(kind: str, start: float, end: float, score: float = 0.9, **facts: float) -> Episode:
    """A proposal."""
    return Episode(kind, start, end, score, facts=facts)


def kinds(story: list[Episode]) -> list[str]:
    """Kinds in order."""
    return [e.kind for e in story]


def test_the_whole_explains_better_than_its_parts() -> None:
    """A lazy eight against the two turns and the climbs it is made of."""
    parts = [one("level_turn", 0, 35, 1.0), one("level_turn", 40, 75, 1.0), one("climb", 0, 20)]
    story = best_story([*parts, one("lazy_eight", 0, 75, 0.8)])
    assert kinds(story) == ["lazy_eight"]


def test_a_doubtful_whole_does_not_beat_sure_parts() -> None:
    """Two certain steep turns against an unsure pair of S-turns over the same time."""
    story = best_story([one("steep_turn", 0, 36, 1.0), one("steep_turn", 40, 76, 1.0), one("s_turns", 0, 76, 0.5)])
    assert kinds(story) == ["steep_turn", "steep_turn"]


def test_a_stall_may_lie_inside_slow_flight_held_before_it() -> None:
    """Both are told; a stall's own slowing is not slow flight as well."""
    slow = Episode("slow_flight", 0, 130, 0.9, (Phase("entry", 0, 20), Phase("established", 20, 90)))
    story = best_story([slow, one("power_off_stall", 85, 120, 0.97)])
    assert kinds(story) == ["slow_flight", "power_off_stall"]
    brief = Episode("slow_flight", 0, 60, 0.5, (Phase("entry", 0, 20), Phase("established", 20, 30)))
    assert kinds(best_story([brief, one("power_off_stall", 0, 58, 0.95)])) == ["power_off_stall"]


def test_a_moments_overlap_goes_to_the_earlier_one() -> None:
    """One maneuver's recovery runs into the next one's entry: both stay, side by side."""
    a, b = best_story([one("power_off_stall", 0, 65), one("power_on_stall", 60, 110)])
    assert b.start_s == a.end_s == 65


@pytest.mark.parametrize(("recovers_s", "ends", "begins"), [(50.0, 60.0, 60.0), (62.0, 65.0, 65.0)])
def test_a_roll_in_ends_a_recovery(recovers_s: float, ends: float, begins: float) -> None:
    """A steep turn is held to its own entry (FAA-S-ACS-6C, V.A): speeding up out of slow flight cuts nothing off it.

    What was still flown slow when it was rolled in keeps its time.
    """
    phases = (Phase("entry", 0, 20), Phase("established", 20, recovers_s), Phase("recovery", recovers_s, 65))
    slow, turn = best_story([Episode("slow_flight", 0, 65, 0.9, phases), one("steep_turn", 60, 100)])
    assert (slow.end_s, turn.start_s) == (ends, begins)
    assert slow.phases[-1].end_s == ends


def test_plain_flying_fills_what_is_left_over() -> None:
    """A climb cut by a maneuver in its middle comes back as two climbs; a short rest is dropped."""
    story = best_story([one("climb", 0, 200), one("steep_turn", 80, 116, 1.0), one("straight_and_level", 190, 230)])
    assert kinds(story) == ["climb", "steep_turn", "climb", "straight_and_level"]
    assert (story[0].start_s, story[0].end_s) == (0, 80)


def test_a_lone_half_circle_clears_only_when_a_maneuver_follows() -> None:
    """The same 180°: a clearing turn before slow flight; with nothing soon after it, a turn back."""
    turn = [one("clearing_turn", 0, 36, 0.5, turns=1.0), one("level_turn", 0, 36, 1.0, change_rad=3.14)]
    assert kinds(best_story([*turn, one("slow_flight", 45, 160)])) == ["clearing_turn", "slow_flight"]
    assert kinds(best_story([*turn, one("steep_turn", 900, 930)])) == ["steep_turn"]
    assert kinds(best_story(turn)) == []
    assert kinds(best_story(turn, ["level_turn"])) == ["level_turn"]
    begun = one("clearing_turn", 0, 36, 0.5, turns=1.0, begun=1.0)  # and given up
    assert kinds(best_story([begun, turn[1]])) == ["clearing_turn"]
    pair = [one("clearing_turn", 0, 50, 1.0, turns=2.0, exact=1.0, begun=share) for share in (0.0, 1.0)]
    assert [kinds(best_story([e])) for e in pair] == [[], ["clearing_turn"]]


def test_a_level_turn_goes_well_round_or_is_turned_again() -> None:
    """A full circle beside some other exercise; a half circle where another follows it within a minute and a half."""
    round_, steep = one("level_turn", 0, 60, 1.0, change_rad=6.28), one("steep_turn", 900, 930)
    assert kinds(best_story([round_, steep])) == ["level_turn", "steep_turn"]
    assert kinds(best_story([round_])) == []
    for share, told in ((0.9, ["level_turn"]), (0.2, [])):  # cut out of a lesson: most of a short recording
        lone = one("level_turn", 0, 53, 1.0, change_rad=4.2, of_flight=share)
        assert kinds(best_story([lone])) == told
    half = one("level_turn", 0, 36, 1.0, change_rad=3.1, sign=1.0)
    back = one("level_turn", 80, 115, 1.0, change_rad=3.2, sign=-1.0)
    assert kinds(best_story([half, back])) == ["level_turn", "level_turn"]
    assert kinds(best_story([half, one("level_turn", 200, 235, 1.0, change_rad=3.2, sign=-1.0)])) == []


def test_half_circles_one_way_with_legs_between_are_a_hold() -> None:
    """Two circuits of a hold, right turns, a minute's legs (the standard hold, [AIM] 5-3-8, from memory); beside a
    stall, or as often to the left, they were practiced."""
    hold = [one("level_turn", a, a + 60.0, 1.0, change_rad=3.1, sign=1.0) for a in (0.0, 120.0, 240.0, 360.0)]
    assert kinds(best_story(hold)) == []
    assert kinds(best_story(hold, ("level_turn",))) == ["level_turn"] * 4
    assert kinds(best_story([*hold, one("power_off_stall", 600.0, 640.0, 0.9)])).count("level_turn") == 4
    both = [replace(e, facts={**e.facts, "sign": 1.0 if k % 2 else -1.0}) for k, e in enumerate(hold)]
    assert kinds(best_story(both)) == ["level_turn"] * 4


def test_whole_circles_one_way_out_where_they_began_are_practiced() -> None:
    circles = [one("level_turn", a, a + 60.0, 1.0, change_rad=6.2, sign=1.0) for a in (0.0, 90.0, 180.0)]
    assert kinds(best_story(circles)) == ["level_turn"] * 3


@pytest.mark.parametrize(
    ("turned_deg", "signs", "kept"),
    [((298.0, 331.0, 593.0), (1.0, 1.0, 1.0), 0), ((360.0, 360.0, 720.0), (1.0, 1.0, 1.0), 3),
     ((298.0, 331.0, 593.0), (1.0, -1.0, 1.0), 3), ((298.0, 331.0), (1.0, 1.0), 2)],
    ids=["out anywhere", "out where they began", "to both sides", "two of them"],
)  # fmt: skip
def test_circles_at_one_place_after_another_are_a_look(
    turned_deg: tuple[float, ...], signs: tuple[float, ...], kept: int
) -> None:
    """Photographs: round one house and the next, always with it on the pilot's side."""
    flown = [
        one("turns_around_point", 500.0 * k, 500.0 * k + 150.0, 1.0, circles=deg / 360.0, sign=sign)
        for k, (deg, sign) in enumerate(zip(turned_deg, signs, strict=True))
    ]
    assert len(best_story(flown)) == kept
    assert len(best_story(flown, ("turns_around_point",))) == len(flown)
    assert len(best_story([*flown, one("steep_turn", 3000.0, 3035.0, 0.9)])) == len(flown) + 1


def test_what_stands_alone_in_a_flight_is_claimed_only_where_it_is_clear() -> None:
    """The same doubtful half circle: claimed after a clearing turn, beside another exercise or where the lesson asks
    for it, not in a flight with nothing else in it; a clear one always. The certainty knows."""
    given = Given()
    turn = one("steep_turn", 60, 100, 0.62)
    assert kinds(best_story([turn], given=given)) == []
    assert kinds(best_story([turn], ("steep_turn",), given)) == ["steep_turn"]
    assert kinds(best_story([one("clearing_turn", 10, 50, 0.9, back=1.0), turn], given=given)) == [
        "clearing_turn",
        "steep_turn",
    ]
    assert kinds(best_story([turn, one("chandelle", 300, 350, 0.9)], given=given)) == ["steep_turn", "chandelle"]
    assert kinds(best_story([one("steep_turn", 60, 90, 0.95)], given=given)) == ["steep_turn"]


def test_the_lesson_tips_a_close_call_and_no_more() -> None:
    """Equal evidence: the kind of the lesson wins; a sure maneuver is not talked away."""
    pair = [one("chandelle", 0, 40, 0.82), one("lazy_eight", 0, 40, 0.8)]
    assert kinds(best_story(pair)) == ["chandelle"]
    assert kinds(best_story(pair, ("lazy_eight",))) == ["lazy_eight"]
    assert kinds(best_story([one("steep_turn", 0, 36, 0.95)], ("slow_flight",))) == ["steep_turn"]


def test_what_was_shortened_into_the_next_is_part_of_it() -> None:
    """A draw of the property below: the steep turn's end cuts a slow flight of ten seconds past the stall's start."""
    story = best_story([one("steep_turn", 139, 258), one("slow_flight", 256, 266), one("power_on_stall", 257, 267)])
    assert kinds(story) == ["steep_turn", "power_on_stall"]


def test_a_pattern_contains_its_landing_and_cuts_at_the_maneuver_before() -> None:
    """The landing lies beside the pattern; S-turns that reach into its beginning shorten it."""
    story = best_story([one("traffic_pattern", 100, 300, 0.9), one("landing", 300, 340, 0.95), one("s_turns", 0, 130)])
    assert kinds(story) == ["s_turns", "traffic_pattern", "landing"]
    assert story[1].start_s == 130


PROPOSALS = st.lists(
    st.builds(
        lambda kind, start, length, score: one(kind, start, start + length, score),
        st.sampled_from(["steep_turn", "chandelle", "slow_flight", "power_on_stall", "level_turn", "glide"]),
        st.floats(0, 500), st.floats(10, 120), st.floats(0.05, 1.0),
    ),
    max_size=14,
)  # fmt: skip


@given(PROPOSALS)
@settings(max_examples=50, deadline=None)
def test_the_story_is_consistent_whatever_is_proposed(proposals: list[Episode]) -> None:
    """In order, nothing below its threshold, no two more than a moment apart from what may lie inside another."""
    story = best_story(proposals)
    for a, b in itertools.combinations(story, 2):
        inside = a.kind == "slow_flight" and b.kind == "power_on_stall" and b.end_s <= a.end_s + 0.01
        if not inside:
            assert min(a.end_s, b.end_s) - max(a.start_s, b.start_s) <= MOMENT_S
    for e in story:
        assert e.score >= room(e.kind).accepted - 1e-9


@given(PROPOSALS)
@settings(max_examples=30, deadline=None)
def test_no_other_choice_is_worth_much_more(proposals: list[Episode]) -> None:
    """Against every subset of up to nine flat proposals: the schedule's worth is the greatest."""
    flat = [e for e in proposals if e.kind not in ("slow_flight", "power_on_stall")][:8]  # weighed by the story around
    flat = [replace(e, facts={"change_rad": 6.3}) for e in flat]
    flat.append(one("steep_turn", 900.0, 940.0, 1.0))  # an exercise, so that its turns are no mere changes of course
    allowed = [e for e in flat if e.score >= room(e.kind).accepted]
    best = 0.0
    for size in range(len(allowed) + 1):
        for chosen in itertools.combinations(allowed, size):
            if not any(clash(a, b) for a, b in itertools.combinations(chosen, 2)):
                best = max(best, sum(worth(e) for e in chosen))
    said = {(e.kind, e.end_s, e.score) for e in best_story(flat)}  # starts may have been trimmed
    whole = {(p.kind, p.end_s, p.score): worth(p) for p in sorted(flat, key=worth)}
    assert sum(whole[key] for key in said) == pytest.approx(best, rel=1e-6)


def test_a_long_slowing_before_a_break_is_no_better_a_stall() -> None:
    """A minute and a half of slowing down, then slow flight held, a break at its end: the slow flight."""
    slow = Episode("slow_flight", 40, 115, 1.0, (Phase("entry", 40, 70), Phase("established", 70, 95)))
    stall = one("power_on_stall", 0, 98, 0.87)
    cleared = one("clearing_turn", -40, -5, 1.0, back=1.0)
    assert kinds(best_story([cleared, slow, stall])) == ["clearing_turn", "slow_flight"]


def test_two_turns_on_the_same_way_are_not_lifted_as_a_half_circle_alone_is() -> None:
    """Half a circle to clear the air is doubtful by itself and made surer by what follows it. Two 90° turns to one side
    are not: they took the place of the true pair, there and back, because they last longer."""
    on = one("clearing_turn", 0.0, 60.0, 0.62, turns=2.0, back=0.0)
    pair = one("clearing_turn", 30.0, 75.0, 0.85, turns=2.0, back=1.0)
    story = best_story([on, pair, one("steep_turn", 85.0, 120.0, 0.9)])
    assert [(e.kind, e.start_s) for e in story] == [("clearing_turn", 30.0), ("steep_turn", 85.0)]


def test_slowing_down_may_begin_in_the_clearing_turn_before() -> None:
    """A stall whose entry reaches back into the turn that cleared the air for it: both are, the stall from there on."""
    turn = one("clearing_turn", 0.0, 36.0, 1.0, turns=2.0, back=1.0)
    stall = replace(
        one("power_on_stall", 8.0, 99.0, 1.0), phases=(Phase("entry", 8.0, 70.0), Phase("recovery", 70.0, 99.0))
    )
    story = best_story([turn, stall])
    assert [(e.kind, e.start_s) for e in story] == [("clearing_turn", 0.0), ("power_on_stall", 36.0)]
    assert [(p.name, p.start_s) for p in story[1].phases] == [("entry", 36.0), ("recovery", 70.0)]


@pytest.mark.parametrize(("into_s", "entry_s", "apart"), [(11.0, 30.0, True), (11.0, 5.0, False), (17.0, 30.0, False)])
def test_slowing_down_may_begin_well_before_the_turn_is_over(into_s: float, entry_s: float, apart: bool) -> None:
    """Eight seconds of the two at the most are both, and twice that while the later is being entered."""
    turn = one("steep_turn", 0.0, 100.0)
    slow = replace(
        one("slow_flight", 100.0 - into_s, 300.0), phases=(Phase("entry", 100.0 - into_s, 100.0 - into_s + entry_s),)
    )
    assert clash(turn, slow) is not apart
    assert clash(slow, turn) is not apart


@pytest.mark.parametrize(
    ("kind", "lesson", "others", "factor"),
    [
        ("chandelle", (), [], 1.0),
        ("chandelle", ("chandelle",), [], 1.12),
        ("chandelle", ("lazy_eight",), [], 0.94),
        ("climb", ("lazy_eight",), [], 1.0),  # on the way, lesson or none
        ("steep_turn", (), [one("clearing_turn", 0.0, 60.0, 0.85)], 1.3),
        ("steep_turn", (), [one("clearing_turn", 0.0, 60.0, 0.84)], 1.0),  # not sure enough
        ("steep_turn", (), [one("clearing_turn", 0.0, 10.0, 0.85)], 1.3),  # a minute and a half before
        ("steep_turn", (), [one("clearing_turn", 0.0, 9.0, 0.85)], 1.0),
        ("steep_turn", (), [one("clearing_turn", 0.0, 108.0, 0.85)], 1.3),  # or still going round
        ("steep_turn", (), [one("clearing_turn", 0.0, 109.0, 0.85)], 1.0),
        ("chandelle", (), [one("clearing_turn", 0.0, 60.0, 0.9)], 1.0),
        ("glide", (), [one("forward_slip", 90.0, 110.0)], 0.75),  # 10 of its 40 s are a slip
        ("glide", (), [one("forward_slip", 90.0, 110.0), one("forward_slip", 120.0, 130.0)], 0.5),
        ("glide", (), [one("forward_slip", 10.0, 90.0), one("steep_turn", 100.0, 140.0)], 1.0),
        ("glide", (), [one("forward_slip", 90.0, 150.0)], 0.0),
    ],
)
def test_the_story_around_a_proposal_weighs_its_score(
    kind: str, lesson: tuple[str, ...], others: list[Episode], factor: float
) -> None:
    """From 100 to 140 s, by the factors the rooms declare."""
    e = one(kind, 100.0, 140.0, 0.5)
    assert weighed(e, [e, *others], lesson).score == pytest.approx(0.5 * factor)
    assert weighed(replace(e, score=0.9), [e, *others], lesson).score == pytest.approx(min(0.9 * factor, 1.0))


@pytest.mark.parametrize(
    ("turns", "begins_s", "score", "kind", "clears"),
    [
        (2.0, 130.0, 0.4, "steep_turn", True), (2.0, 130.1, 0.4, "steep_turn", False),  # within a minute and a half
        (2.0, 100.0, 0.39, "steep_turn", False), (2.0, 100.0, 0.9, "climb", False),
        (1.0, 85.0, 0.9, "steep_turn", True), (1.0, 85.1, 0.9, "steep_turn", False),  # half of that for a half circle
        (2.0, 32.0, 0.9, "steep_turn", True), (2.0, 31.9, 0.9, "steep_turn", False),  # while it still goes round
    ],
)  # fmt: skip
def test_a_turn_clears_for_what_begins_soon_after_it(
    turns: float, begins_s: float, score: float, kind: str, clears: bool
) -> None:
    """A clearing turn to 40 s."""
    turn, other = one("clearing_turn", 0.0, 40.0, turns=turns), one(kind, begins_s, begins_s + 30.0, score)
    assert cleared_for(turn, other) is clears
    entering = replace(other, start_s=20.0, phases=(Phase("entry", 20.0, 41.0),))  # slowing down in the turn
    assert cleared_for(turn, entering) is (kind == "steep_turn" and score >= 0.4)
    assert not cleared_for(turn, replace(entering, phases=(Phase("entry", 20.0, 40.0),)))


@pytest.mark.parametrize(
    ("facts", "follows", "share"),
    [
        ({"turns": 1.0}, True, 1.75), ({"turns": 1.0}, False, 0.0), ({"turns": 1.0, "begun": 0.5}, False, 0.875),
        ({"turns": 2.0}, True, 1.0), ({"turns": 2.0, "begun": 0.5}, False, 0.0),
        ({"turns": 2.0, "begun": 0.5, "exact": 0.5}, False, 0.25),
    ],
)  # fmt: skip
def test_a_clearing_turn_is_worth_what_came_after_it(facts: dict[str, float], follows: bool, share: float) -> None:
    """Nothing without it, but for what was begun: all of it after a half circle, an exact pair by how exact."""
    turn = one("clearing_turn", 0.0, 40.0, 0.5, **facts)
    others = [one("steep_turn", 60.0, 100.0)] if follows else []
    assert weighed(turn, [turn, *others], ()).score == pytest.approx(0.5 * share)


def test_what_a_proposal_is_worth_grows_with_length_and_the_square_of_its_score() -> None:
    """A minute of a stall says all it can; a level turn's second 0.45 of a chandelle's."""
    assert worth(one("chandelle", 0.0, 40.0, 0.5)) == pytest.approx(room("chandelle").worth * 10.0)
    assert worth(one("chandelle", 0.0, 120.0, 1.0)) == pytest.approx(room("chandelle").worth * 120.0)
    assert worth(one("power_off_stall", 0.0, 59.0, 1.0)) == pytest.approx(room("power_off_stall").worth * 59.0)
    assert worth(one("power_off_stall", 0.0, 200.0, 1.0)) == pytest.approx(room("power_off_stall").worth * 60.0)


@pytest.mark.parametrize(("length_s", "into_s", "both"), [(20.0, 4.0, True), (20.0, 4.1, False), (100.0, 8.0, True),
                                                           (100.0, 8.1, False)])  # fmt: skip
def test_a_fifth_of_the_shorter_or_eight_seconds_may_be_both(length_s: float, into_s: float, both: bool) -> None:
    a, b = one("steep_turn", 0.0, 100.0), one("chandelle", 100.0 - into_s, 100.0 - into_s + length_s)
    assert clash(a, b) is clash(b, a) is not both


def test_plain_flying_comes_back_only_where_it_lasts() -> None:
    """26 s of a climb before a maneuver are one, 25 s none; patterns that overlap are put side by side."""
    for free_s, told in ((26.0, ["climb", "steep_turn"]), (25.9, ["steep_turn"])):
        story = best_story([one("climb", 80.0 - free_s, 116.0), one("steep_turn", 80.0, 116.0, 1.0)])
        assert kinds(story) == told
    cut = replace(one("climb", 0.0, 200.0), phases=(Phase("entry", 0.0, 20.0), Phase("established", 20.0, 200.0)))
    before, _, after = best_story([cut, one("steep_turn", 80.0, 116.0, 1.0)])
    assert [(p.name, p.start_s, p.end_s) for p in before.phases] == [("entry", 0.0, 20.0), ("established", 20.0, 80.0)]
    assert [(p.name, p.start_s, p.end_s) for p in after.phases] == [("established", 116.0, 200.0)]
    patterns = [one("traffic_pattern", 0.0, 200.0), one("traffic_pattern", 150.0, 300.0)]
    assert [(e.start_s, e.end_s) for e in best_story(patterns)] == [(0.0, 200.0), (200.0, 300.0)]
    assert len(best_story([patterns[0], replace(patterns[1], end_s=226.0)])) == 1


@pytest.mark.parametrize(("score", "end_s", "kept"), [(0.9, 140.0, ["s_turns", "traffic_pattern"]),
                                                      (0.9, 201.0, ["traffic_pattern"])])  # fmt: skip
def test_a_pattern_gives_way_to_a_maneuver_before_its_middle_alone(score: float, end_s: float, kept: list[str]) -> None:
    """From 100 to 300 s: what ends before 200 s cuts its start, what reaches further is part of it."""
    story = best_story([one("traffic_pattern", 100.0, 300.0), one("s_turns", 20.0, end_s, score)])
    assert kinds(story) == kept


def test_a_stall_at_the_end_of_slow_flight_is_inside_it_where_it_is_clear() -> None:
    """Begun while established, and sure by three quarters; the slow flight then lasts to the stall's end."""
    slow = Episode("slow_flight", 0.0, 130.0, 1.0, (Phase("entry", 0.0, 20.0), Phase("established", 20.0, 90.0)))
    for start_s, score, both in ((85.0, 0.75, True), (85.0, 0.74, False), (129.0, 0.9, True)):
        stall = one("power_off_stall", start_s, start_s + 35.0, score)
        assert kinds(best_story([slow, stall])) == (["slow_flight", "power_off_stall"] if both else ["slow_flight"])
    story = best_story([slow, one("power_off_stall", 110.0, 145.0, 0.97)])
    assert [(e.kind, e.end_s) for e in story] == [("slow_flight", 145.0), ("power_off_stall", 145.0)]


@pytest.mark.parametrize(("apart_s", "turned", "kept"), [(89.0, 2.61, 2), (91.0, 2.61, 0), (89.0, 2.59, 0)])
def test_half_circles_belong_together_within_a_minute_and_a_half(apart_s: float, turned: float, kept: int) -> None:
    """150° is nearly half a circle; less is a turn on the way. Beside a steep turn: it is a lesson."""
    pair = [
        one("level_turn", a, a + 40.0, 1.0, change_rad=turned, sign=1.0 if a else -1.0) for a in (0.0, 40.0 + apart_s)
    ]
    assert kinds(best_story([*pair, one("steep_turn", 400.0, 440.0)])).count("level_turn") == kept


@pytest.mark.parametrize(("degrees", "kept"), [
    ((180.0, 188.0, 172.0, 360.0), 4), ((180.0, 188.0, 165.0, 345.0, 272.0), 5), ((235.0, 244.0, 240.0, 246.0), 0),
    ((194.0, 283.0), 0), ((197.0, 256.0, 200.0, 360.0, 355.0, 374.0, 170.0), 0),
])  # fmt: skip
def test_turns_alone_in_a_flight_are_practiced_where_most_end_on_a_heading(degrees: Sequence[float], kept: int) -> None:
    """Turns to headings are rolled out within 10° (FAA-S-ACS-6C, VIII.D); the ends of survey lines, of circles round an
    object and of the way home lie anywhere. Asked for by a lesson they are level turns however they ended.
    """
    turns = [
        one("level_turn", 100.0 * k, 100.0 * k + 50.0, 1.0, change_rad=math.radians(d), sign=(-1.0) ** k)
        for k, d in enumerate(degrees)
    ]
    assert len(best_story(turns)) == kept
    assert len(best_story(turns, lesson=["level_turn"])) == len(degrees)


@pytest.mark.parametrize(("other", "turned", "kept"), [
    (one("steep_turn", 300.0, 340.0, 0.6), 3.94, True), (one("steep_turn", 300.0, 340.0, 0.6), 3.92, False),
    (one("climb", 300.0, 340.0, 0.9), 3.94, False),
])  # fmt: skip
def test_beside_an_exercise_five_eighths_of_a_circle_are_meant(other: Episode, turned: float, kept: bool) -> None:
    """225°: a turn back or for home is less."""
    turn = one("level_turn", 0.0, 50.0, 1.0, change_rad=turned)
    assert ("level_turn" in kinds(best_story([turn, other]))) is kept


def test_a_break_while_slowing_down_is_not_inside_the_slow_flight_that_follows() -> None:
    """Established from 20 s on: what begins before that is no stall out of it."""
    slow = Episode("slow_flight", 0.0, 130.0, 1.0, (Phase("entry", 0.0, 20.0), Phase("established", 20.0, 90.0)))
    for start_s, told in ((19.0, ["slow_flight"]), (20.0, ["slow_flight", "power_off_stall"])):
        assert kinds(best_story([slow, one("power_off_stall", start_s, start_s + 35.0)])) == told


@pytest.mark.parametrize(
    ("circles", "end_s", "kept"),
    [(1.05, 110.0, False), (1.05, 98.0, False), (2.0, 110.0, True), (1.05, 60.0, True)],
    ids=["onto the downwind leg", "seconds before it", "twice round", "long before it"],
)
def test_one_circle_onto_the_downwind_leg_joined_the_pattern(circles: float, end_s: float, kept: bool) -> None:
    """A turn for spacing or to join, at pattern height; turns around a point are one and better two (AFH ch. 7) and end
    where they were begun, not in the traffic."""
    circle = one("turns_around_point", end_s - 60.0, end_s, 1.0, circles=circles)
    turn = one("level_turn", end_s - 60.0, end_s, 1.0, change_rad=6.3)
    pattern = one("traffic_pattern", 100.0, 300.0, downwind_start_s=100.0, downwind_end_s=160.0)
    story = best_story([circle, turn, pattern, one("landing", 300.0, 340.0, 0.95)])
    assert ("turns_around_point" in kinds(story)) == kept
    assert "level_turn" not in kinds(story)
    assert "traffic_pattern" in kinds(story)


@pytest.mark.parametrize(("kind", "less"), [("takeoff", False), ("traffic_pattern", False), ("steep_turn", True)])
def test_a_lesson_makes_no_takeoff_less_sure(kind: str, less: bool) -> None:
    """It lists airwork; what else was practiced is a little less likely."""
    e = Episode(kind, 0.0, 60.0, 0.9)
    assert (weighed(e, [e], ["slow_flight"]).score < 0.9) is less
