"""A recording debriefed on its way into the logbook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from airwork.logbook.recordings import Packing
    from airwork.recording.flight import Flight


def debrief_recording(
    path: Path, aimed: tuple[str, str], packing: Packing | None = None
) -> tuple[dict[str, Any], Flight]:
    """The debrief as its JSON holds it, and the clean Flight.

    Parameters
    ----------
    aimed : the standard's name or file, and an airplane file or its id ("" for none).
    packing : the recording being packed meanwhile, to be told of its columns.
    """
    from airwork.airplane import find_airplane_file, load_airplane
    from airwork.debrief import debrief
    from airwork.recording import read_flight
    from airwork.standards import load_standard

    standard_name, airplane_file = aimed
    airplane = load_airplane(find_airplane_file(airplane_file)) if airplane_file else None
    clean = read_flight(path, airplane=airplane)
    if packing is not None:
        packing.was_read(clean)
    return debrief(clean, standard=load_standard(standard_name), airplane=airplane).as_json(), clean
