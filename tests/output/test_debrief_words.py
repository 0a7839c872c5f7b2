"""Words of the fuel record where the airplane's file is short of a limit."""

from airwork.output.debrief_words import _leaned, as_read


def test_leaning_without_a_limit_in_the_file_is_said_without_one() -> None:
    """The airplane file may print no highest power for leaning; found on a flight of such an airplane."""
    row = {"start_s": 60.0, "end_s": 360.0, "flow_share_of_full_rich": 0.9, "power_pct": 70}
    ((name, words),) = _leaned([row])
    assert name == "leaned"
    assert "limit" not in words
    ((_, words),) = _leaned([{**row, "limit_pct": 75, "above_limit": False}])
    assert "below the 75 % limit" in words


def test_a_sentence_speaks_of_airspeed_as_the_dial_does_and_of_the_wind_in_knots() -> None:
    """1 kt is 1852 m in an hour, 1 mph 1609.344 m."""
    assert as_read("The speed settled at 73 kt, 9 kt below the 82 kt wanted.", "mph") == (
        "The speed settled at 84 mph, 10 mph below the 94 mph wanted."
    )
    assert as_read("The speed settled at 73 kt.", "kt") == "The speed settled at 73 kt."
    assert as_read("The wind of 18 kt was not allowed for.", "mph") == "The wind of 18 kt was not allowed for."
    assert as_read("2.5 kt over the stall.", "mph") == "2.5 kt over the stall."
