"""What is known now, how old it is, and what is said when it is late, gone, absurd or in dispute."""

from __future__ import annotations

import math

import pytest

from airwork.live.reading import Sample
from airwork.live.watch import GONE_S, LATE_S, Watch


def feed(watch: Watch, at: float, source: str = "sim", **values: float) -> list[str]:
    return [e.text for e in watch.take(Sample(source, at, math.nan, values))[1]]


def test_a_value_grows_old_gray_and_goes_and_is_never_carried_on() -> None:
    watch = Watch()
    feed(watch, 0.0, indicated_altitude_m=1000.0, ias_mps=50.0)
    for at, state in ((0.5, "fresh"), (LATE_S, "fresh"), (LATE_S + 0.1, "late"), (GONE_S + 0.1, "gone")):
        found = watch.get("indicated_altitude_m", at)
        assert found is not None
        assert (found.value, found.state) == (1000.0, state)
        assert found.age_s == pytest.approx(at)
        assert math.isnan(watch.value("indicated_altitude_m", at)) == (state != "fresh")
    assert [e.text for e in watch.tick(3.0)] == ["no altitude for 3 s", "no airspeed for 3 s"]
    assert watch.tick(4.0) == []
    feed(watch, 5.0, indicated_altitude_m=1010.0)
    assert [e.text for e in watch.tick(5.1)] == ["altitude is back"]


def test_an_absurd_value_is_not_used_and_said_once() -> None:
    """Out of any light airplane's range, or faster than it can change."""
    watch = Watch()
    feed(watch, 0.0, indicated_altitude_m=1000.0, ias_mps=50.0)
    assert feed(watch, 0.1, indicated_altitude_m=4000.0) == ["altitude is absurd; not used"]
    assert feed(watch, 0.2, indicated_altitude_m=90_000.0) == []
    assert feed(watch, 0.3, ias_mps=math.nan, indicated_altitude_m=1001.0) == ["airspeed is absurd; not used"]
    assert watch.value("indicated_altitude_m", 0.3) == 1001.0
    assert watch.value("ias_mps", 0.3) == 50.0


def test_a_simulator_put_elsewhere_is_believed_when_it_stays_there() -> None:
    watch = Watch()
    feed(watch, 0.0, latitude_rad=0.7, longitude_rad=0.1)
    for k in range(1, 30):
        feed(watch, 0.1 * k, latitude_rad=0.8, longitude_rad=0.1)
    assert watch.value("latitude_rad", 3.0) == 0.8


def test_sources_that_disagree_are_named_and_the_first_is_shown() -> None:
    watch, said = Watch(), []
    for k in range(60):
        said += feed(watch, 0.1 * k, "gps", indicated_altitude_m=1000.0)
        said += feed(watch, 0.1 * k + 0.05, "sim", indicated_altitude_m=1100.0)
    assert said == ["sim and gps disagree on altitude; gps is shown"]
    found = watch.get("indicated_altitude_m", 6.0)
    assert found is not None
    assert found.value == 1000.0


def test_sources_that_agree_are_silent_and_the_second_stands_in_for_the_first() -> None:
    watch = Watch()
    for k in range(60):
        assert feed(watch, 0.1 * k, "gps", indicated_altitude_m=1000.0) == []
        assert feed(watch, 0.1 * k + 0.05, "sim", indicated_altitude_m=1010.0) == []
    feed(watch, 9.0, "sim", indicated_altitude_m=1020.0)
    assert watch.value("indicated_altitude_m", 9.1) == 1020.0
