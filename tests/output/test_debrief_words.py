"""Words of the fuel record where the airplane's file is short of a limit."""

from airwork.output.debrief_words import _leaned


def test_leaning_without_a_limit_in_the_file_is_said_without_one() -> None:
    """The airplane file may print no highest power for leaning; found on a flight of such an airplane."""
    row = {"start_s": 60.0, "end_s": 360.0, "flow_share_of_full_rich": 0.9, "power_pct": 70}
    ((name, words),) = _leaned([row])
    assert name == "leaned"
    assert "limit" not in words
    ((_, words),) = _leaned([{**row, "limit_pct": 75, "above_limit": False}])
    assert "below the 75 % limit" in words
