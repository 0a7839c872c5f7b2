"""Landing: from 200 ft above the runway over the touchdown to the end of the roll.

In the data: the wheels meet the ground and stay there. Not it: a low pass or a go-around (no contact), a touch-and-go.
Judged by the task `landing`: approach speed; touchdown point where the chosen point is known.
"""

from __future__ import annotations

from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_grade import approach_and_touchdown
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.contacts import SURE, final_from, of_kind, rolled_out
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import arrival
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
    ws.note_height("pattern altitude", ws.entry_m, "assumed", "1,000 ft above the field, [AFH] ch. 8; or as published")
    a = arrival.work_out(ws)
    ws.use_power(90.0, a.power.ratio)
    flaps = "flaps up" if a.notch == 0 else f"flaps {a.notch}"
    return ws.finish(
        steps=(
            "Before-landing checks: fuel, mixture, carburetor heat, belts; wind and runway",
            f"{flaps} by final in steps, each below its speed; {ws.mark(a.approach_mps)}, {a.power.words}, trim",
            "Aim point still in the windshield: pitch for speed, power for path; wing low against drift",
            arrival.STABLE,
            "Flare at 10 to 20 ft, power off, hold it off; main wheels first, straight; back pressure, brakes as "
            "needed",
        ),
        usual_errors=(
            "unstable approach continued: go around",
            "speed too high: float; too low: drop or a hard landing",
            "flare too high or too late; looking too near",
            "drift not taken out; no back pressure after touchdown",
        ),
        card_line=f"{flaps} · {ws.mark(a.approach_mps)} + half gust · {a.power.words} · "
        f"{ws.airplane.book.rate(a.sink_mps)}",
        targets=arrival.targets(a),
    )


def propose(view: View) -> list[Episode]:
    """Every landing to a full stop or to taxiing."""
    out = []
    for contact in of_kind(view, "landing"):
        start, end = final_from(view, contact.index), rolled_out(view, contact.index)
        out.append(episode(ROOM.kind, view, start, end, SURE, evidence=("the wheels met the ground",),
                           phases=(("final", start, contact.index), ("roll", contact.index, end)),
                           facts={"touch_s": float(view.time_s[contact.index])}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Approach speed and stability, sink and speed at the touchdown."""
    sheet = Sheet(episode, evidence)
    approach_and_touchdown(sheet, episode.facts["touch_s"])
    return sheet.grade()


ROOM = Room(
    "landing", "Landing", Family.ARRIVAL, set_up, arrival.fly, Heights(at_field_m=arrival.PATTERN_M), propose, grade,
    role=Role.RUNWAY, lands=True, worth=1.2,  # the wheels are sure
    plots=("vertical_speed",), everyday=True,
    may_set=("flap_notch", "heading_mag_rad", "ias_mps", "line_rad"),
    slow_on_purpose=True,
    extent="200 ft above the touchdown → rolling at 16 kt",
)  # fmt: skip
