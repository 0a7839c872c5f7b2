"""Certainty is a probability: its formula, guard, second-best story, and the fit against a reference library."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.debrief.arbiter import best_story
from airwork.debrief.certainty import FEATURES, Given, Weights, doubted, features, probability, rival, sure, trained
from airwork.debrief.debrief import proposals_of
from airwork.debrief.weighing import alone
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.seeing.view_building import build_view
from flightbuilder import Builder

BENCH = Path(__file__).parents[2] / "bench"
PLAIN = Weights(
    {"always": 0.5, "score": 1.0, "competition": 0.5, "cleared": 1.0, "followed": 0.0, "alone": 0.0, "length": 0.0,
     "position": 0.0, "coarse": 0.0},
    {"steep_turn": {"always": -0.25}, "level_turn": {}, "glide": {}}, frozenset({"glide"}),
)  # fmt: skip


def one(kind: str, start: float, end: float, score: float = 0.9, **facts: float) -> Episode:
    return Episode(kind, start, end, score, facts=facts)


def test_the_probability_is_the_logistic_of_shared_and_own_weights() -> None:
    """By hand: score 0.5 gives ln(0.52/0.52) = 0; uncontested competition 4 · 0.5; always 0.5 − 0.25."""
    turn = one("steep_turn", 0.0, 40.0, 0.5)
    x = features(turn, [turn], Given())
    assert dict(zip(FEATURES, x, strict=True))["competition"] == 4.0
    assert dict(zip(FEATURES, x, strict=True))["length"] == pytest.approx(math.log(40.0 / 60.0))
    long = features(one("steep_turn", 0.0, 90.0), [], Given())
    assert dict(zip(FEATURES, long, strict=True))["length"] == 0.0  # more than a minute says nothing more
    assert probability("steep_turn", x, 0.5, PLAIN) == pytest.approx(1.0 / (1.0 + math.exp(-(0.25 + 2.0))))


def test_a_better_score_is_surer_and_a_better_rival_makes_it_less_so() -> None:
    def p(score: float, other: float) -> float:
        turn, level = one("steep_turn", 0.0, 40.0, score), one("level_turn", 1.0, 40.0, other)
        return probability("steep_turn", features(turn, [turn, level], Given()), score, trained())

    assert p(0.5, 0.6) < p(0.7, 0.6) < p(0.95, 0.6)
    assert p(0.8, 1.0) < p(0.8, 0.6) < p(0.8, 0.3)


@pytest.mark.parametrize("kind", ["glide", "eights_along_road"])
def test_a_kind_seldom_seen_wrong_or_never_trained_is_no_surer_than_its_score(kind: str) -> None:
    alone = one(kind, 0.0, 90.0, 0.62)
    assert probability(kind, features(alone, [alone], Given()), 0.62, PLAIN) == 0.62


def test_what_lies_inside_is_no_rival() -> None:
    """A landing in its pattern, a stall in slow flight, the next maneuver's entry: both can be. But what looks like a
    stall may be the slow flight alone."""
    landing, pattern = one("landing", 300.0, 360.0), one("traffic_pattern", 100.0, 330.0)
    assert rival(landing, [landing, pattern]) is None
    slow, stall = one("slow_flight", 0.0, 100.0), one("power_off_stall", 60.0, 110.0)
    assert rival(slow, [slow, stall]) is None
    assert rival(stall, [slow, stall]) is rival(stall, [slow, stall], [stall]) is slow
    told = rival(stall, [slow, stall], [replace(slow, end_s=110.0), stall])
    assert told == replace(slow, start_s=60.0)  # both told: what slow flight says of these minutes, not of all of it
    before = replace(slow, start_s=-90.0, end_s=20.0)
    assert rival(stall, [slow, stall], [before, stall]) is slow  # another slow flight is not around it
    turn, after = one("steep_turn", 0.0, 40.0), one("chandelle", 35.0, 80.0)
    assert rival(turn, [turn, after]) is None


def test_a_long_slow_flight_does_not_outweigh_the_stall_at_its_end_by_its_length() -> None:
    """Both told: as sure after 100 s of slow flight as after 300; slow flight not told counts with all of it."""
    stall = one("power_on_stall", 300.0, 320.0)

    def against(seconds: float, told: bool) -> float:
        slow = one("slow_flight", 320.0 - seconds, 320.0)
        x = features(stall, [slow, stall], Given(), [slow, stall] if told else [stall])
        return float(x[FEATURES.index("competition")])

    assert against(100.0, True) == against(300.0, True) > against(100.0, False) > against(300.0, False)


def test_the_second_best_story_is_told_where_the_first_is_unsure_and_only_there() -> None:
    turn, level = one("steep_turn", 0.0, 40.0, 0.55), one("level_turn", 1.0, 40.0, 0.9, change_rad=6.3)
    (said,) = sure([turn], [turn, level], Given(), PLAIN)
    assert said.score < 0.8
    assert said.instead is not None
    assert (said.instead.kind, said.instead.start_s, said.instead.end_s) == ("level_turn", 1.0, 40.0)
    assert said.score + said.instead.score <= 1.0 + 1e-9
    (said,) = sure([one("steep_turn", 0.0, 40.0, 1.0)], [one("steep_turn", 0.0, 40.0, 1.0), level], Given(), PLAIN)
    assert said.score > 0.8
    assert said.instead is None


def test_what_stands_alone_in_a_flight_is_less_sure() -> None:
    """1 − Σ score² of the other exercises: one of 0.6 leaves 0.64, two leave 0.28. A clearing turn later, a level one,
    what lies over it are no company; a stall inside slow flight and the slow flight are, and a clearing turn before."""
    turn = one("steep_turn", 100.0, 140.0, 0.7)

    def lone(*others: Episode) -> float:
        return alone(turn, [turn, *others], [turn, *others])

    assert lone() == 1.0
    assert lone(one("power_off_stall", 300.0, 350.0, 0.6)) == pytest.approx(0.64)
    assert lone(one("power_off_stall", 300.0, 350.0, 0.6), one("chandelle", 400.0, 450.0, 0.6)) == pytest.approx(0.28)
    assert lone(one("power_off_stall", 300.0, 350.0, 1.0)) == 0.0
    assert lone(one("clearing_turn", 300.0, 350.0, back=1.0), one("level_turn", 400.0, 440.0)) == 1.0
    assert lone(one("power_off_stall", 120.0, 160.0)) == 1.0
    assert lone(one("clearing_turn", 40.0, 90.0, back=1.0)) == 0.0
    slow, stall = one("slow_flight", 0.0, 100.0, 1.0), one("power_off_stall", 60.0, 110.0, 1.0)
    assert alone(stall, [slow, stall], []) == alone(slow, [slow, stall], []) == 0.0
    x = dict(zip(FEATURES, features(turn, [turn], Given(), [turn]), strict=True))
    assert x["alone"] == 1.0
    assert trained().shared["alone"] < 0.0


def test_a_look_round_is_surer_before_what_it_cleared_the_air_for() -> None:
    """On a trip turns there and back happen; what is claimed soon after them makes a clearing turn of them."""
    look = one("clearing_turn", 0.0, 40.0, 0.9, turns=2.0, back=1.0)
    turn, late = one("steep_turn", 60.0, 100.0), one("steep_turn", 135.0, 170.0)

    def followed(story: list[Episode]) -> float:
        return float(features(look, [look, turn, late], Given(), story)[FEATURES.index("followed")])

    assert followed([look, turn]) == 1.0
    assert followed([look]) == followed([look, late]) == 0.0
    assert followed([look, one("climb", 60.0, 100.0)]) == 0.0
    assert trained().shared["followed"] > 0.0


def test_what_a_lesson_asks_for_is_as_sure_as_its_room_says() -> None:
    """The weights were learned from flights without a plan."""
    weak = Weights({**PLAIN.shared, "always": -2.5}, PLAIN.kinds, frozenset())
    turn = one("steep_turn", 0.0, 40.0, 0.75)
    (plain,) = sure([turn], [turn], Given(), weak)
    (asked,) = sure([turn], [turn], Given(lesson=("steep_turn",)), weak)
    assert plain.score < 0.75
    assert asked.score == 0.75


def test_what_model_and_room_doubt_and_nobody_cleared_for_is_not_claimed() -> None:
    weak = Weights({**PLAIN.shared, "always": -5.0}, PLAIN.kinds, frozenset())
    turn, clear = one("steep_turn", 40.0, 80.0, 0.6), one("steep_turn", 40.0, 80.0, 0.71)
    cleared = one("clearing_turn", 0.0, 35.0, 0.95)
    assert sure([turn], [turn], Given(), weak) == []
    assert [e.score < 0.5 for e in sure([clear], [clear], Given(), weak)] == [True]  # its room is rather sure
    assert [e.score < 0.5 for e in sure([turn], [turn, cleared], Given(), weak)] == [True]
    climb = one("climb", 50.0, 120.0, 0.5)  # plain flying is no claim
    assert sure([climb], [climb], Given(), weak) == [climb]


def test_the_second_best_is_told_where_the_best_is_not_claimed() -> None:
    """34° round a full circle: rather no steep turn, but then surely a level one; not where that can't stand."""
    steep, level = one("steep_turn", 40.0, 80.0, 0.6), one("level_turn", 40.0, 80.0, 0.95)
    weights = Weights(
        {**PLAIN.shared, "competition": 0.0}, {"steep_turn": {"always": -5.0}, "level_turn": {}}, frozenset()
    )
    (claimed,) = sure([steep], [steep, level], Given(), weights)
    assert (claimed.kind, claimed.score > 0.5) == ("level_turn", True)
    assert claimed.instead is None or claimed.instead.kind == "steep_turn"
    after = one("chandelle", 60.0, 110.0, 0.95)
    assert "level_turn" not in [e.kind for e in sure([steep, after], [steep, level, after], Given(), weights)]


def test_what_is_not_claimed_leaves_its_time_to_plain_flying() -> None:
    glide, descent = one("glide", 0.0, 90.0, 0.46), one("descent", 0.0, 90.0, 0.9)
    assert [e.kind for e in best_story([glide, descent], given=Given())] == ["descent"]
    assert [e.kind for e in best_story([glide, descent], ("glide",), Given())] == ["glide"]


def test_without_what_is_given_the_rooms_own_scores_stay() -> None:
    story = best_story([one("steep_turn", 0.0, 40.0, 0.83)])
    assert [e.score for e in story] == [0.83]


def test_the_weights_that_ship_are_made_by_the_command_and_whole() -> None:
    shipped = trained()
    assert set(shipped.shared) == set(FEATURES)
    assert shipped.shared["score"] > 0.0
    assert shipped.shared["competition"] > 0.0
    for kind, own in shipped.kinds.items():
        assert shipped.shared["score"] + own["score"] > 0.0, kind  # a better pattern is never less likely


def test_what_ships_is_byte_for_byte_what_the_kept_cases_give(monkeypatch: pytest.MonkeyPatch) -> None:
    """The cases beside the bench, and the weights in the package, come from one command."""
    monkeypatch.syspath_prepend(str(BENCH))
    certainty = pytest.importorskip("certainty")
    made_by, lines = certainty.kept_cases()
    cases = certainty.read_cases(lines)
    assert certainty.SHIPPED.read_text(encoding="utf-8") == certainty.weights_text(cases, made_by)
    assert certainty.lines_of(cases) == [line for line in lines[1:] if not line.startswith("#")]
    claimed = [case for case in cases if case[3] >= certainty.OF_NO_LESSON]
    assert len(claimed) > 1000
    assert sum(right == 0.0 for _, _, right, _ in claimed) >= 60
    sys.modules.pop("certainty", None)


def test_flights_are_judged_by_what_the_others_teach(monkeypatch: pytest.MonkeyPatch) -> None:
    """Steep turns right in every flight but one: that one is not known to itself, so it is said to be right too."""
    monkeypatch.syspath_prepend(str(BENCH))
    certainty = pytest.importorskip("certainty")
    turn = one("steep_turn", 0.0, 40.0, 0.99)
    x = features(turn, [turn], Given())
    lines = ["kind,...\n"]
    for k in range(20):
        lines += [f"# flight_{k}\n", *certainty.lines_of([("steep_turn", x, float(k != 3), 1.0)] * 12)]
    said = certainty.cross_text(lines)
    assert said[0] == "full data"
    assert said[1].startswith("certainty of 240 claims: AUC 0.")
    assert float(said[1].split("AUC ")[1].split(",")[0]) < 0.5  # its own flight's claims would have taught better
    sys.modules.pop("certainty", None)


def test_the_fit_is_the_one_a_reference_library_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same penalized likelihood given to scipy.optimize.minimize (BFGS), on cases drawn from a known logistic."""
    from scipy.optimize import minimize

    monkeypatch.syspath_prepend(str(BENCH))
    certainty = pytest.importorskip("certainty")
    rng = np.random.default_rng(5)
    kinds = ["steep_turn", "level_turn"]
    cases = []
    for _ in range(400):
        x = np.concatenate([[1.0], rng.normal(size=len(FEATURES) - 1)])
        right = float(rng.random() < 1.0 / (1.0 + np.exp(-(0.4 + 1.2 * x[1] + 0.7 * x[2]))))
        cases.append((kinds[int(rng.integers(0, 2))], x, right, float(rng.choice([0.33, 1.0]))))
    found = certainty.fit(cases, kinds)
    at = certainty.columns_of(kinds)

    def loss(beta: np.ndarray) -> float:
        total = 0.0
        for kind, x, right, weight in cases:
            z = sum((beta[at["", f]] + (beta[at[kind, f]] if (kind, f) in at else 0.0)) * v
                    for f, v in zip(FEATURES, x, strict=True))  # fmt: skip
            total += weight * (np.logaddexp(0.0, z) - right * z)
        ridge = [certainty.SHARED_RIDGE if kind == "" else certainty.KIND_RIDGE for kind, _ in at]
        return float(total + 0.5 * np.sum(np.array(ridge) * beta**2))

    reference = minimize(loss, np.zeros(len(at)), method="L-BFGS-B").x
    assert [found[name] for name in at] == pytest.approx(reference.tolist(), abs=0.01)
    sys.modules.pop("certainty", None)


def test_what_an_instructor_puts_right_is_a_label(monkeypatch: pytest.MonkeyPatch) -> None:
    """A steep turn said to be a level turn: the claim is wrong, the level turn of the same minutes right; a maneuver
    taken out is wrong, one whose limits alone were moved right."""
    monkeypatch.syspath_prepend(str(BENCH))
    certainty = pytest.importorskip("certainty")
    b = Builder(altitude_ft=4500.0, speed_kt=105.0, wind_kt=8.0, skill=0.7, seed=3)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.steep_turn(bank_deg=36.0)
    b.hold(60.0)
    flight = b.flight(rate_hz=5.0)
    (turn,) = [e for e in best_story(proposals_of(build_view(flight))) if e.kind == "steep_turn"]
    was = {"was_kind": "steep_turn", "was_start_s": turn.start_s, "start_s": turn.start_s, "end_s": turn.end_s}

    def labels(kind: str) -> list[tuple[str, float]]:
        return [(k, right) for k, _, right, _ in certainty.labels_of(flight, [{**was, "kind": kind}])]

    assert labels("") == [("steep_turn", 0.0)]
    assert labels("steep_turn") == [("steep_turn", 1.0)]
    assert labels("level_turn") == [("steep_turn", 0.0), ("level_turn", 1.0)]
    sys.modules.pop("certainty", None)


def test_the_second_best_story_reaches_json_document_and_page() -> None:
    """As "72%, or level turn (20%)"; the schema takes it; the page's form sends just what the correction needs."""
    import json
    from dataclasses import replace
    from importlib import resources

    import jsonschema

    from airwork.debrief import debrief
    from airwork.output.debrief_doc import make_debrief_doc
    from airwork.standards import load_standard

    b = Builder(altitude_ft=4500.0, speed_kt=105.0, wind_kt=8.0, skill=0.7, seed=3)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.steep_turn()
    b.hold(60.0)
    found = debrief(b.flight(rate_hz=5.0), standard=load_standard("private"))
    at = next(k for k, g in enumerate(found.episodes) if g.episode.kind == "steep_turn")
    was = found.episodes[at].episode
    unsure = replace(was, score=0.72, instead=one("level_turn", was.start_s + 1.0, was.end_s, 0.2))
    episodes = list(found.episodes)
    episodes[at] = replace(episodes[at], episode=unsure)
    found = replace(found, episodes=tuple(episodes))
    data = json.loads(json.dumps(found.as_json()))
    schema = json.loads(resources.files("airwork.debrief").joinpath("debrief.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(data)
    assert data["episodes"][at]["instead"]["kind"] == "level_turn"
    assert all("instead" not in e for k, e in enumerate(data["episodes"]) if k != at)
    doc = make_debrief_doc(found)
    part = next(m for m in doc.maneuvers if m.kind == "steep_turn")
    assert part.confidence.startswith("recognized with confidence 72%, or level turn (20%): ")
    assert part.instead is not None
    assert part.instead.title == "Level turn"


def as_likely(**kinds: float) -> Weights:
    """Weights by which a claim of each kind is right with this probability, whatever speaks for it."""
    own = {kind: {"always": math.log(p / (1.0 - p))} for kind, p in kinds.items()}
    return Weights(dict.fromkeys(FEATURES, 0.0), own, frozenset())


@pytest.mark.parametrize(
    ("p", "q", "told"),
    [(0.79, 0.15, 0.15), (0.81, 0.15, None), (0.79, 0.30, 0.21), (0.79, 0.06, 0.06), (0.79, 0.04, None)],
)
def test_a_second_story_is_told_below_four_in_five_and_from_one_in_twenty(
    p: float, q: float, told: float | None
) -> None:
    """No more likely than what the first leaves."""
    turn, level = one("steep_turn", 0.0, 40.0, 0.75), one("level_turn", 0.0, 40.0, 0.9)
    (said,) = sure([turn], [turn, level], Given(), as_likely(steep_turn=p, level_turn=q))
    assert said.score == pytest.approx(p)
    assert (said.instead and said.instead.score) == (None if told is None else pytest.approx(told))


@pytest.mark.parametrize(("p", "score", "cleared", "gone"), [
    (0.49, 0.69, False, True), (0.51, 0.69, False, False), (0.49, 0.71, False, False), (0.69, 0.49, False, True),
    (0.71, 0.49, False, False), (0.49, 0.69, True, False),
])  # fmt: skip
def test_rather_wrong_and_doubted_is_not_claimed(p: float, score: float, cleared: bool, gone: bool) -> None:
    """Below a half by one and below seven tenths by the other, unless the air was cleared for it."""
    x = np.zeros(len(FEATURES))
    x[FEATURES.index("cleared")] = float(cleared)
    assert doubted(p, score, x) is gone


@pytest.mark.parametrize(("p", "position", "cleared", "gone"), [
    (0.09, 1.0, 0.0, True), (0.11, 1.0, 0.0, False), (0.09, 1.0, 1.0, False), (0.09, 0.0, 0.0, False),
])  # fmt: skip
def test_by_positions_alone_what_is_hardly_likely_is_not_claimed(
    p: float, position: float, cleared: float, gone: bool
) -> None:
    """One in ten, whatever its room says; an airspeed or a clearing turn leaves it to both."""
    x = np.zeros(len(FEATURES))
    x[FEATURES.index("cleared")], x[FEATURES.index("position")] = cleared, position
    assert doubted(p, 0.9, x) is gone


@pytest.mark.parametrize(
    ("q", "score", "claimed"), [(0.51, 0.71, "level_turn"), (0.49, 0.71, None), (0.51, 0.69, None)]
)
def test_the_second_story_takes_the_place_of_one_not_claimed_where_it_is_surer(
    q: float, score: float, claimed: str | None
) -> None:
    turn, level = one("steep_turn", 0.0, 40.0, 0.6), one("level_turn", 0.0, 40.0, score)
    found = sure([turn], [turn, level], Given(), as_likely(steep_turn=0.3, level_turn=q))
    assert [e.kind for e in found] == ([] if claimed is None else [claimed])


def test_no_claim_is_surer_than_ninety_nine_in_a_hundred() -> None:
    turn = one("steep_turn", 0.0, 40.0, 0.9)
    assert [e.score for e in sure([turn], [turn], Given(), as_likely(steep_turn=0.999))] == [0.99]


@pytest.mark.parametrize(("start_s", "end_s", "is_rival"), [(20.0, 60.0, True), (21.0, 61.0, False), (25.0, 35.0, True),
                                                            (-30.0, 20.0, True), (-30.0, 19.0, False)])  # fmt: skip
def test_a_rival_is_half_in_the_others_minutes(start_s: float, end_s: float, is_rival: bool) -> None:
    """From 0 to 40 s: at least half of the shorter of the two."""
    turn, level = one("steep_turn", 0.0, 40.0), one("level_turn", start_s, end_s)
    assert (rival(turn, [turn, level]) is level) is is_rival


def test_what_is_recorded_counts_by_its_step_and_kind() -> None:
    """The logarithm of the step above a second, four at the most; of certain and impossible claims four either way."""
    turn = one("steep_turn", 0.0, 40.0, 1.0)
    for step_s, coarse in ((0.1, 0.0), (1.0, 0.0), (math.e, 1.0), (1000.0, 4.0)):
        x = dict(zip(FEATURES, features(turn, [turn], Given(True, step_s)), strict=True))
        assert (x["coarse"], x["position"], x["score"], x["always"]) == (pytest.approx(coarse), 1.0, 4.0, 1.0)
    x = dict(zip(FEATURES, features(replace(turn, score=0.0), [turn], Given()), strict=True))
    assert (x["score"], x["position"]) == (-4.0, 0.0)
    short = dict(zip(FEATURES, features(one("steep_turn", 0.0, 30.0), [], Given()), strict=True))
    assert short["length"] == pytest.approx(math.log(0.5))
