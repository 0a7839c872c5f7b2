"""The page where the arbiter is not sure: the second-best story, taken by one press."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from airwork.web.answers import _environment


@pytest.mark.parametrize("teaches", [True, False])
def test_one_press_takes_the_second_best_story(teaches: bool) -> None:
    """The form sends what the correction needs: the claim it replaces, and the other's kind and limits."""
    instead = {"kind": "level_turn", "title": "Level turn", "start_s": 60.0, "end_s": 99.0, "sure": "20%"}
    maneuver = {
        "index": 0, "number": 3, "kind": "steep_turn", "title": "Steep turn", "start_s": 58.0, "end_s": 98.0,
        "instead": instead,
    }  # fmt: skip
    account = SimpleNamespace(teaches=teaches, role="instructor", name="", person="")
    page = _environment.get_template("_maneuver_tools.html").render(
        m=maneuver, marks={}, about=SimpleNamespace(id="x", flight_id=""), token="t", account=account, instructors=[],
        signed=False, kinds=[], scale={}, targets={}, said={}, problem=None,
    )  # fmt: skip
    assert ("it was the level turn: grade anew" in page) is teaches
    if not teaches:
        return
    form = page[: page.index("it was the level turn")].rpartition("<form")[2]
    assert 'action="/debriefs/x/correct#m3"' in form
    for name, value in (("was_kind", "steep_turn"), ("was_start_s", "58.0"), ("kind", "level_turn"), ("end", "1:39")):
        assert f'name="{name}" value="{value}"' in form
    page = _environment.get_template("_maneuver_tools.html").render(
        m={**maneuver, "instead": None}, marks={}, about=SimpleNamespace(id="x", flight_id=""), token="t",
        account=account, instructors=[], signed=False, kinds=[], scale={}, targets={}, said={}, problem=None,
    )  # fmt: skip
    assert "it was the" not in page
