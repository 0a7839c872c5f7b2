"""Which maneuvers can be looked for in a recording: by the kind of aircraft and by how often it was fixed."""

from __future__ import annotations

from airwork.maneuvers import rooms
from airwork.maneuvers.declared import Role, Room
from airwork.recording.craft import WORDS, craft_of
from airwork.recording.flight import Flight

OFTEN_S = 2.0  # fixes this often hide nothing


def looked_for(flight: Flight, *, airplane_named: bool) -> list[Room]:
    """The rooms that may claim something.

    Parameters
    ----------
    airplane_named : an airplane file was given: then it is an airplane, whatever it looks like.
    """
    craft = craft_of(flight)
    out = [one for one in rooms() if one.seen_at_s >= flight.step_s]
    if airplane_named:
        return out
    if craft.engine is False:
        out = [one for one in out if not one.needs_engine]
    return out if craft.trains else [one for one in out if one.role is not Role.EXERCISE]


def limits(flight: Flight, *, airplane_named: bool) -> list[str]:
    """What isn't looked for, and why, in a sentence each."""
    craft, out = craft_of(flight), []
    if not craft.trains and not airplane_named:
        out.append(
            f"By its path this is {WORDS[craft.kind]} ({craft.why}): exercises of light airplanes are not looked for. "
            "If it is an airplane, name its file."
        )
    hidden = [one.title.lower() for one in rooms() if one.seen_at_s < flight.step_s and one.propose is not None]
    if hidden and flight.step_s > OFTEN_S:
        shown = ", ".join(hidden[:6]) + (" and others" if len(hidden) > 6 else "")
        out.append(f"One fix in {flight.step_s:.2g} s: {shown} can't be seen in it.")
    return out
