"""The arbiter on hand-made proposals: greatest total worth, what may lie inside what, what fills the rest."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.debrief.arbiter import best_story
from airwork.debrief.certainty import Given
from airwork.debrief.weighing import MOMENT_S, clash
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
    half, back = one("level_turn", 0, 36, 1.0, change_rad=3.1), one("level_turn", 80, 115, 1.0, change_rad=3.2)
    assert kinds(best_story([half, back])) == ["level_turn", "level_turn"]
    assert kinds(best_story([half, one("level_turn", 200, 235, 1.0, change_rad=3.2)])) == []


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
@settings(max_examples=150, deadline=None)
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
@settings(max_examples=60, deadline=None)
def test_no_other_choice_is_worth_much_more(proposals: list[Episode]) -> None:
    """Against every subset of up to nine flat proposals: the schedule's worth is the greatest."""
    from airwork.debrief.weighing import clash, worth

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
