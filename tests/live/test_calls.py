"""What is said: few, ranked, none repeated within a minute, each silenced, silence when it is low or in a stall."""

from __future__ import annotations

from airwork.live.calls import APART_S, CALLS, Calls


def test_the_most_urgent_comes_first_and_others_keep_their_distance() -> None:
    calls = Calls()
    calls.want("graded", "Steep turn: held", 0.0)
    calls.want("fuel", "Turn for home now.", 0.0)
    calls.want("tank", "Change tank now: right.", 0.0)
    assert [c.key for c in (calls.next(0.0), calls.next(1.0), calls.next(APART_S)) if c] == ["fuel", "tank"]


def test_nothing_is_repeated_within_a_minute_and_what_stays_so_not_for_longer() -> None:
    for key, wanted in (("mixture", [0, 60, 120]), ("tank", [0, 300])):
        calls, said = Calls(), []
        for now in range(0, 150 if key == "mixture" else 400, 5):
            calls.want(key, "Full rich.", float(now))
            said += [now] if calls.next(float(now)) else []
        assert said == wanted


def test_quiet_lets_only_what_is_urgent_through() -> None:
    calls = Calls()
    for key in CALLS:
        calls.want(key, key, 0.0)
    said = [c for t in range(12) if (c := calls.next(float(t), quiet=True))]
    assert said
    assert all(c.rank == 0 for c in said)


def test_a_silenced_call_is_not_said_and_an_old_one_neither() -> None:
    calls = Calls(silenced={"fuel"})
    calls.want("fuel", "Turn for home now.", 0.0)
    calls.want("next", "Next: steep turn", 0.0)
    assert calls.next(60.0) is None
