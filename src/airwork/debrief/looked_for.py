"""Which maneuvers can be looked for in a recording: by the kind of aircraft and by how often it was fixed."""

from __future__ import annotations

import numpy as np

from airwork.airplane import Airplane
from airwork.maneuvers import rooms
from airwork.maneuvers.declared import Role, Room
from airwork.recording.craft import NO_FLIGHT, WORDS, Craft, craft_of
from airwork.recording.flight import Flight

OFTEN_S = 2.0  # fixes this often hide nothing
FAST_PERCENT = 75.0  # flown faster than the airplane's limit for a quarter of the flight: another one


def silent(flight: Flight, airplane: Airplane | None = None) -> bool:
    """Nothing is claimed of it: it did not fly, or whether an airplane did doesn't show and none was named."""
    kind = craft_of(flight).kind
    return kind in NO_FLIGHT or (kind == "unsure" and airplane is None)


def looked_for(flight: Flight, airplane: Airplane | None = None) -> list[Room]:
    """The rooms that may claim something.

    Parameters
    ----------
    airplane : whose file was named: it overrules what the path looks like, not what the recording is sure of.
    """
    craft = craft_of(flight)
    if silent(flight, airplane):
        return []
    out = [one for one in rooms() if one.seen_at_s >= flight.step_s]
    if craft.engine is False:
        out = [one for one in out if not one.needs_engine]
    return out if _trains(craft, flight, airplane) else [one for one in out if one.role is not Role.EXERCISE]


def _trains(craft: Craft, flight: Flight, airplane: Airplane | None) -> bool:
    if craft.trains or airplane is None or craft.kind in (*NO_FLIGHT, "shuttle"):  # what tows is a light airplane too
        return craft.trains
    speed, never = flight.get("cas_mps"), airplane.limits.never_exceed_ias_mps
    if craft.kind == "fast" and speed is not None and never is not None:
        return bool(np.nanpercentile(speed, FAST_PERCENT) < never)
    return craft.kind != "sailplane" or not craft.heard


def has_a_standard(flight: Flight, airplane: Airplane | None = None) -> bool:
    """The standards at hand are for light airplanes: what flies without an engine, or a jet, is not held against them.

    A named airplane's file overrules what the path looks like, not what the recording is sure of.
    """
    craft = craft_of(flight)
    if craft.kind == "fast":
        return _trains(craft, flight, airplane)
    gliding = craft.kind == "sailplane" or (craft.engine is False and craft.heard)
    return not gliding or (airplane is not None and not craft.heard)


def may_be_graded(flight: Flight, airplane: Airplane | None = None) -> bool:
    """It flew, and a standard at hand is for what it is."""
    return has_a_standard(flight, airplane) and not silent(flight, airplane)


def limits(flight: Flight, airplane: Airplane | None = None) -> list[str]:
    """What isn't looked for, and why, in a sentence each."""
    craft, out = craft_of(flight), []
    if not _trains(craft, flight, airplane):
        remedy = " If it is an airplane, name its file." if airplane is None else f" It can't be {airplane.name}."
        if craft.kind == "ground" and any(
            c.known == "measured" for n in ("ias_mps", "rpm") if (c := flight.columns.get(n))
        ):
            remedy = ""  # an airplane, by its instruments; naming it changes nothing
        if craft.kind == "shuttle":
            remedy = ""  # an airplane anyway, whichever
        missing = "nothing is" if silent(flight, airplane) else "exercises of light airplanes are not"
        out.append(f"By its recording this is {WORDS[craft.kind]} ({craft.why}): {missing} looked for.{remedy}")
    elif craft.engine is False:
        by = f"path ({craft.why})" if craft.why else "recording"
        out.append(f"No engine by its {by}: what needs one is not looked for.")
    hidden = [one.named for one in rooms() if one.seen_at_s < flight.step_s and one.propose is not None]
    if hidden and flight.step_s > OFTEN_S:
        shown = ", ".join(hidden[:6]) + (" and others" if len(hidden) > 6 else "")
        out.append(f"One fix in {flight.step_s:.2g} s: {shown} can't be seen in it.")
    return out
