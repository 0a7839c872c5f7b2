"""Touch-and-go: from 200 ft above the runway over the touchdown and the new take-off to 200 ft.

In the data: the wheels meet the ground for some seconds, the speed stays well above taxiing, and it flies again.
Judged by the task `touch_and_go`: approach speed; touchdown point where the chosen point is known.
"""

from __future__ import annotations

from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import departing
from airwork.maneuvers.grading.causes.flaps import flaps_at_once
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_grade import approach_and_touchdown, given_up, power_in, surely_touched
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.contacts import SURE, departed, final_from, of_kind, rolled
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import arrival, departure
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, SetUp

PERHAPS = 0.6  # of a touch nothing shows but the height


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps: an approach, a short roll, and a takeoff from it."""
    ws.note_height("pattern altitude", ws.entry_m, "assumed", "1,000 ft above the field, [AFH] ch. 8; or as published")
    a = arrival.work_out(ws)
    vy = ws.book_cas("best_rate_of_climb", ws.conditions.ground_elevation_m) or 1.35 * ws.stall_cas_mps(0)
    climb = ws.on_dial(ws.ias(vy))
    notch = departure.takeoff_notch(ws.airplane)
    ws.note_speed("climb", climb, "handbook table", "best rate for today's weight and air")
    ws.note("flaps for the takeoff", float(notch), "notch", "handbook table", "takeoff")
    ws.use_power(240.0, 0.55)
    ws.use_power(60.0, 1.0)
    return ws.finish(
        steps=(
            f"Flaps {a.notch}, {ws.mark(a.approach_mps)}, {a.power.words}; stable by 300 ft or go around",
            At("Touch down in the first third, straight; else full stop or go around", "leveled"),
            f"Rolling straight: flaps to {notch}, trim for takeoff, carburetor heat cold, look at the runway left",
            f"Full throttle, right rudder, nose up when it flies, {ws.mark(climb)}",
        ),
        usual_errors=(
            "touchdown too late: runway runs out",
            "wrong lever: flaps and gear or mixture confused; look before touching",
            "trim forgotten: nose up hard with full power",
            "directional control lost while hands are busy",
        ),
        card_line=f"flaps {a.notch} · {ws.mark(a.approach_mps)} · then flaps {notch}, trim, full · climb "
        f"{ws.mark(climb)}",
        targets={**arrival.targets(a), "climb_ias_mps": climb},
        cautions=("Only where the runway is at least the landing roll plus the takeoff distance, with margin.",),
    )


def propose(view: View) -> list[Episode]:
    """Every touch-and-go; one that never slowed down on its wheels is half a go-around."""
    out = []
    for contact in of_kind(view, "touch_and_go"):
        start, end, sure = final_from(view, contact.index), departed(view, contact.off), rolled(view, contact)
        evidence = "touched the ground and flew on" if sure else "at the field's height, never slower: may have touched"
        out.append(episode(ROOM.kind, view, start, end, SURE if sure else PERHAPS, evidence=(evidence,),
                           phases=(("final", start, contact.index), ("roll", contact.index, contact.off),
                                   ("climb", contact.off, end)),
                           facts={"touch_s": float(view.time_s[contact.index]), "rolled": float(sure),
                                  "off_s": float(view.time_s[contact.off])}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Approach speed and stability, sink and speed at the touchdown; power and the line kept in the takeoff."""
    sheet = Sheet(episode, evidence)
    touch_s, off_s = episode.facts["touch_s"], episode.facts["off_s"]
    approach_and_touchdown(sheet, touch_s)
    sheet.cause(departing.less_than_before(sheet, touch_s, off_s))
    sheet.cause(departing.drifted(sheet, off_s, episode.end_s))
    if surely_touched(episode):
        return sheet.grade()
    begun = given_up(sheet, off_s)
    sheet.cause(flaps_at_once(sheet, begun, episode.end_s))
    sheet.cause(departing.slow_to_full(sheet, begun, power_in(sheet, off_s)))
    return sheet.grade()


ROOM = Room(
    "touch_and_go", "Touch-and-go", Family.CIRCUIT, set_up, arrival.fly, Heights(at_field_m=arrival.PATTERN_M),
    propose, grade, role=Role.RUNWAY, needs_engine=True, takes_off=True, lands=True,
    may_set=("flap_notch", "heading_mag_rad", "ias_mps", "line_rad"),
    facts=BriefFacts(aloud=("point on the runway beyond which the landing is full stop",)),
    slow_on_purpose=True,
    extent="200 ft above the touchdown → 200 ft above the lift-off",
)  # fmt: skip
