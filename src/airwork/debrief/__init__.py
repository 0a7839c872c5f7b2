"""The debrief: arbiter over what the rooms propose, grades, causes, the record of the flight, one JSON contract.

`debrief(flight, standard=...)` gives a `Debrief`; `Debrief.as_json()` follows `debrief.schema.json` in this folder.
"""

from airwork.debrief.debrief import Debrief, Graded, debrief, recognize
from airwork.debrief.plan import LessonPlan, plan_from_json, plan_json, plan_of

__all__ = ["Debrief", "Graded", "LessonPlan", "debrief", "plan_from_json", "plan_json", "plan_of", "recognize"]
