"""How fair the verdicts and how true the reasons are, against an examiner with perfect instruments: one table.

    python bench/grading.py --seed 40 --flights 40 --keep FOLDER      # to tune by
    python bench/grading.py --seed 90000 --flights 80 --keep FOLDER   # to judge by: a seed nobody has looked at

Precise pilots fly exercises with one planted fault or none, with commanded climbs, descents and turns
(`flying/planted.py`); `--wild` adds the ordinary lessons of both generators, from precise to poor pilots. Each verdict
is held against `examiner.py`, which sees the true state and what was commanded. The lesson's speeds are given;
altitudes, headings and banks are not. A verdict is "clear" when the examiner's stays the same with every limit moved
by what a recorder resolves. A fault counts where its effect is worth telling: past two fifths of a tolerance.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import examiner
import numpy as np
from flying.flight import Flown
from flying.kinematic_lessons import draw_kinematic_plan
from flying.plan import draw_plan
from flying.simulator import Crashed

from airwork.debrief import LessonPlan, debrief
from airwork.errors import AirworkError
from airwork.logbook.questions import wilson
from airwork.recording import read_flight
from airwork.standards import load_standard
from airwork.units import FT_M, KT_MPS
from flying import export, kinematic_lessons, lessons, planted_field, planted_flights

NUDGE = {"ft": 4.0 * FT_M, "kt": 0.4 * KT_MPS, "deg": 0.4 * examiner.DEG}
WORTH = 0.4  # of a tolerance
HALF = 0.5
OUT = ("not held", "briefly out and corrected")
# A planted fault and the reasons that name it: the first is its own, others are its direct consequence, told truly.
NAMES: dict[tuple[str, str], tuple[str, ...]] = {
    ("steep_turn", "too_steep"): ("too steep", "altitude with bank"),
    ("steep_turn", "too_shallow"): ("too shallow",),
    ("steep_turn", "late_back_pressure"): ("back pressure late", "nose low"),
    ("steep_turn", "nose_dropped"): ("nose low", "back pressure late", "speed from height"),
    ("steep_turn", "kept_back_pressure"): ("back pressure kept", "nose high"),
    ("steep_turn", "no_power"): ("no power added", "power left in"),
    ("steep_turn", "late_roll_out"): ("roll-out late",),
    ("steep_turn", "early_roll_out"): ("roll-out early",),
    ("steep_turn", "bank_grew"): ("bank grew", "altitude with bank"),
    ("steep_turn", "feet_off"): ("ball out",),
    ("level_turn", "nose_dropped"): ("nose low", "back pressure late"),
    ("level_turn", "late_back_pressure"): ("back pressure late", "nose low"),
    ("level_turn", "feet_off"): ("ball out",),
    ("slow_flight", "power_left"): ("power left alone", "altitude let go"),
    ("slow_flight", "chasing"): ("chased", "out of trim"),
    ("slow_flight", "too_fast"): ("too fast",),
    ("slow_flight", "too_slow"): ("too slow",),
    ("slow_flight", "altitude_bias"): ("settled off",),
    ("slow_flight", "feet_off"): ("ball out", "torque"),
    ("climb", "late_level_off"): ("level-off late",),
    ("climb", "too_slow"): ("too slow",),
    ("climb", "too_fast"): ("too fast",),
    ("climb", "chasing"): ("chased", "out of trim"),
    ("descent", "late_level_off"): ("level-off late",),
    ("descent", "too_slow"): ("too slow",),
    ("descent", "too_fast"): ("too fast",),
    ("power_off_stall", "late_nose"): ("nose late",),
    ("power_off_stall", "late_power"): ("power late",),
    ("power_off_stall", "again"): ("again",),
    ("power_off_stall", "dived"): ("dived",),
    ("power_off_stall", "heading_let_go"): ("turned away", "torque"),
    ("power_on_stall", "late_nose"): ("nose late",),
    ("power_on_stall", "again"): ("again",),
    ("power_on_stall", "dived"): ("dived",),
    ("power_on_stall", "heading_let_go"): ("turned away", "torque"),
    ("turns_around_point", "wind_neglected"): ("wind neglected",),
    ("turns_around_point", "altitude_drift"): ("nose low",),
    ("takeoff", "too_fast"): ("too fast",),
    ("takeoff", "too_slow"): ("too slow",),
    ("go_around", "too_fast"): ("too fast",),
    ("go_around", "too_slow"): ("too slow",),
    ("go_around", "sank_on"): ("sank on",),
    ("go_around", "flaps_at_once"): ("flaps at once", "flap sink"),
    ("traffic_pattern", "too_fast"): ("too fast",),
    ("traffic_pattern", "sagged"): ("nose low",),
    ("traffic_pattern", "overshot"): ("final overshot", "steep in the pattern"),
    ("touch_and_go", "too_fast"): ("too fast", "floated"),
    ("touch_and_go", "too_slow"): ("too slow",),
    ("landing", "too_fast"): ("too fast", "floated"),
    ("landing", "too_slow"): ("too slow",),
    ("landing", "high"): ("approach high",),
    ("landing", "low"): ("approach low",),
    ("landing", "late_flare"): ("flare late", "bounced"),
    ("landing", "balloon"): ("flare early",),
}
UNSEEN_IN_POSITION = {"feet_off", "too_fast", "too_slow", "chasing", "no_power", "late_power", "late_nose", "again",
                      "dived", "flaps_at_once", "sank_on"}  # fmt: skip
ALWAYS_FELT = {"again", "dived", "late_nose", "late_power", "wind_neglected"}
# No tolerance measures them; these are felt where the true state shows them.
FELT_IF_TRUE = {"again": "again", "dived": "dived", "wind_neglected": "wind neglected", "sank_on": "sank on!",
                "overshot": "final overshot!", "flaps_at_once": "flaps at once!",
                "high": "approach high", "low": "approach low", "late_flare": "flare late",
                "balloon": "flare early"}  # fmt: skip
SLIP_DEG = 3.0  # a ball's width, about: less is no fault
# The quantity a fault spoils.
SHOWS_IN = {
    "too_steep": "bank", "too_shallow": "bank", "late_back_pressure": "altitude", "nose_dropped": "altitude",
    "kept_back_pressure": "altitude", "no_power": "ias", "late_roll_out": "rollout_heading",
    "altitude_drift": "altitude",
    "early_roll_out": "rollout_heading", "bank_grew": "bank", "power_left": "altitude", "chasing": "ias",
    "too_fast": "ias", "too_slow": "ias", "altitude_bias": "altitude", "late_level_off": "level_off_altitude",
    "heading_let_go": "heading", "feet_off": "none", "sagged": "pattern_altitude", "overshot": "none",
    "sank_on": "none", "flaps_at_once": "none", "high": "none", "low": "none", "late_flare": "none",
    "balloon": "none",
}  # fmt: skip


@dataclass
class Tally:
    """Counts for one kind of recording."""

    verdicts: Counter[tuple[str, str, str]] = field(default_factory=Counter)  # quantity, truth, said
    clear: Counter[tuple[str, str]] = field(default_factory=Counter)
    slow: Counter[str] = field(default_factory=Counter)  # altitude of slow flights that truly and clearly held it
    unjudged: int = 0
    unseen: int = 0
    planted: Counter[str] = field(default_factory=Counter)
    named: Counter[str] = field(default_factory=Counter)
    broke: Counter[str] = field(default_factory=Counter)
    broke_named: Counter[str] = field(default_factory=Counter)
    reasons: int = 0
    first: Counter[str] = field(default_factory=Counter)  # flights: the first lines name the main planted fault
    false_reasons: Counter[str] = field(default_factory=Counter)
    lines: list[str] = field(default_factory=list)


def limits_of(standard: Any, kind: str) -> dict[str, tuple[float, float]]:
    """Quantity → (low, high), SI, open sides infinite."""
    inf = float("inf")
    return {
        c.quantity: (-inf if c.low is None else c.low, inf if c.high is None else c.high)
        for c in standard.task(kind).criteria
        if c.has_limit
    }


def units_of(standard: Any, kind: str) -> dict[str, str]:
    return {c.quantity: c.unit for c in standard.task(kind).criteria}


def examined(flown: Flown, standard: Any) -> list[dict[str, Any]]:
    """Every exercise of a flight with the examiner's verdicts."""
    first = float(flown.columns["time_s"][0])
    airplane = airplane_of(flown.airplane)
    steep_kt = None
    if airplane is not None:
        ratio = float(np.median(flown.columns["density_kgpm3"])) / 1.225
        height_m = (1.0 - ratio ** (1.0 / 4.2559)) / 2.25577e-5  # in the standard atmosphere
        with suppress(AirworkError):  # outside the handbook's table: Vy alone counts
            cas = airplane.speed_cas_mps("best_angle_of_climb", float(flown.columns["mass_kg"].mean()), height_m)
            steep_kt = float(airplane.ias_from_cas_mps(cas, 0)) / KT_MPS
    rows = []
    for mark in sorted(flown.marks, key=lambda m: m.start_s):
        if not mark.intended:
            continue
        limits, units = limits_of(standard, mark.kind), units_of(standard, mark.kind)
        if steep_kt is not None and mark.kind == "go_around":
            mark.targets["vx_kt"] = steep_kt
        try:
            verdicts = examiner.examine(flown.columns, mark, limits)
        except examiner.NothingFlownError:
            continue
        except KeyError:
            if "fault" in mark.notes:
                raise
            continue  # an ordinary lesson's mark without what was commanded
        nominal = {c.quantity: c.nominal for c in standard.task(mark.kind).criteria}.get("bank")
        another = 0.0 if nominal is None else mark.targets.get("bank_deg", 0.0) - float(np.degrees(nominal))
        if abs(another) > 0.5:
            verdicts.pop("bank", None)  # another bank was asked for, and nobody said so
        for quantity, said in verdicts.items():
            nudge = NUDGE.get(units[quantity], 0.0)
            wide = {q: (lo - nudge, hi + nudge) for q, (lo, hi) in limits.items()}
            narrow = {q: (lo + nudge, hi - nudge) for q, (lo, hi) in limits.items()}
            same = {examiner.examine(flown.columns, mark, lim)[quantity]["verdict"] for lim in (wide, narrow)}
            low, high = limits[quantity]
            size = min(abs(x) for x in (low, high) if 0.0 < abs(x) < float("inf"))
            said |= {"clear": same == {said["verdict"]}, "effect": (said["beyond"] + size) / size}
        fault_s = mark.notes.get("fault_s", (mark.start_s, mark.end_s))
        facts = examiner.facts(flown.columns, mark) if mark.notes.get("fault") is not None else []
        if mark.kind == "power_on_stall" and airplane is not None:
            little = examiner.power_at_the_stall_w(flown.columns, mark) < 0.65 * airplane.rated_power_w
            facts = [*facts, *["little power"] * little]
        rows.append({
            "kind": mark.kind, "start_s": mark.start_s - first, "end_s": mark.end_s - first,
            "another_bank_deg": another if abs(another) > 5.0 else 0.0,
            "fault": mark.notes.get("fault"), "size": mark.notes.get("size", 0.0), "targets": mark.targets,
            "slip_deg": float(np.degrees(examiner.slipped(flown.columns, mark.start_s + 3.0, mark.end_s - 3.0))),
            "broke": mark.notes.get("full_break", True),
            "facts": facts,
            "fault_s": [s - first for s in fault_s], "verdicts": verdicts,
        })  # fmt: skip
    return rows


def make(job: tuple[str, int, str, str]) -> str:
    """Fly one and keep recordings and verdicts; the file's stem, "" where every pilot bent it."""
    what, seed, folder, standard_name = job
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    if what == "planted":
        plan = planted_flights.draw(seed)
    elif what == "field":
        plan = planted_field.draw(seed)
    elif what == "driven":
        plan = draw_kinematic_plan(seed, ("private_test", "stalls", "mixed")[seed % 3])
    else:
        plan = draw_plan(
            seed, ("private_test", "stalls", "first_hours")[seed % 3], airplanes=planted_flights.AIRPLANES[:3]
        )
    done = place / f"{plan.name}.{standard_name}.json"
    if done.exists():
        return plan.name
    fly = {
        "planted": planted_flights.fly,
        "field": planted_field.fly,
        "driven": kinematic_lessons.fly,
        "wild": lessons.fly,
    }[what]
    try:
        flown = fly(plan)
    except Crashed:
        return ""
    export.write(flown, place, ("panel", "gps"))
    rows = examined(flown, load_standard(standard_name))
    mass_kg = float(flown.columns["mass_kg"].mean())
    kept = {"airplane": plan.airplane, "elevation_m": plan.day.elevation_m, "mass_kg": mass_kg, "rows": rows}
    done.write_text(json.dumps(kept))
    return plan.name


def lesson_of(rows: list[dict[str, Any]]) -> LessonPlan:
    """The lesson as flown: order and speeds."""
    targets: dict[str, dict[str, float]] = {}
    for row in rows:
        if "ias_kt" in row["targets"]:
            targets.setdefault(row["kind"], {})["ias_mps"] = row["targets"]["ias_kt"] * KT_MPS
    return LessonPlan(title="bench", order=tuple(r["kind"] for r in rows), targets=targets)


def overlap(a: Any, b: Any) -> float:
    both = min(a["end_s"], b["end_s"]) - max(a["start_s"], b["start_s"])
    union = max(a["end_s"], b["end_s"]) - min(a["start_s"], b["start_s"])
    return max(0.0, both) / union if union > 0 else 0.0


def airplane_of(name: str) -> Any:
    from flying.invented import FILES

    from airwork.airplane import load_airplane

    path = FILES / f"{name}.toml"
    return load_airplane(path) if path.exists() else None


def score(job: tuple[str, str, str]) -> dict[str, Any]:
    """Debrief one flight's two recordings; rows of what was said, matched."""
    stem, folder, standard_name = job
    place, standard = Path(folder), load_standard(standard_name)
    kept = json.loads((place / f"{stem}.{standard_name}.json").read_text())
    airplane = airplane_of(kept["airplane"])
    plan = lesson_of(kept["rows"])
    out: dict[str, Any] = {"name": stem, "rows": kept["rows"]}
    for what, ending in (("full", ".csv"), ("position", "_gps.csv")):
        flight = read_flight(
            place / f"{stem}{ending}",
            airplane=airplane if what == "full" else None,
            ground_elevation_m=kept["elevation_m"],
        )
        found = debrief(flight, standard=standard, airplane=airplane if what == "full" else None, briefing=plan,
                        mass_kg=kept["mass_kg"])  # fmt: skip
        data = found.as_json()["episodes"]
        names = {(c.name, e): c.quantity for e in standard.tasks for c in standard.task(e).criteria}
        said = []
        for row in kept["rows"]:
            best = max(data, key=lambda e: (e["kind"] == row["kind"]) * overlap(row, e), default=None)
            if best is None or best["kind"] != row["kind"] or overlap(row, best) < HALF:
                said.append(None)
                continue
            said.append({
                "verdicts": {names[c["name"], row["kind"]]: [c["verdict"], c["worst"], c["why"]]
                             for c in best["criteria"] if (c["name"], row["kind"]) in names},
                "causes": [[c["name"], c["text"], c["start_s"], c["end_s"], c["weight"]] for c in best["causes"]],
            })  # fmt: skip
        out[what] = said
        out[f"{what}_first"] = [[x.heading, x.text, x.start_s, x.end_s] for x in found.first]
    return out


ERRORS = ("first", "pattern", "main error", "to polish")
# What a thin margin says of a planted fault.
MARGIN_WORDS = {"too_fast": "fast", "too_slow": "slow", "high": "inking", "late_flare": "swung", "again": "warning",
                "dived": "Pushed"}  # fmt: skip


# What a fault comes from, by the roots a debrief is told in: late, power, too big, back pressure, target, feet, wind.
ROOTS = {
    "too_steep": "target", "too_shallow": "target", "too_fast": "target", "too_slow": "target",
    "altitude_bias": "target", "high": "target", "low": "target",
    "late_back_pressure": "back pressure", "nose_dropped": "back pressure", "kept_back_pressure": "back pressure",
    "bank_grew": "back pressure", "altitude_drift": "back pressure", "sagged": "back pressure",
    "no_power": "power", "late_roll_out": "late", "early_roll_out": "late", "power_left": "power",
    "late_level_off": "late", "late_nose": "late", "late_power": "late", "sank_on": "late", "late_flare": "late",
    "chasing": "too big", "again": "too big", "dived": "too big", "flaps_at_once": "too big", "balloon": "too big",
    "feet_off": "feet", "heading_let_go": "feet", "wind_neglected": "wind", "overshot": "wind",
}  # fmt: skip
# What was true whatever was planted (`examiner.facts`), if it is an error by itself: its root and where it shows.
FACT_ROOTS = {
    "roll-out late": ("late", "rollout_heading"), "level-off late": ("late", "level_off_altitude"),
    "power late": ("late", ""), "no power added": ("power", "ias"), "bank grew": ("back pressure", "bank"),
    "power left in": ("power", "ias"), "again": ("too big", ""), "dived": ("too big", ""),
    "turned away": ("feet", "heading"),
    "wind neglected": ("wind", ""), "final overshot!": ("wind", ""),
    "sank on!": ("late", ""), "flare late": ("late", ""), "flare early": ("too big", ""), "swung": ("feet", ""),
    "approach high": ("target", ""), "approach low": ("target", ""), "flaps at once!": ("too big", ""),
}  # fmt: skip
FACTS_UNSEEN = ("power late", "no power added", "power left in", "again", "dived", "swung",
                "flaps at once!")  # fmt: skip
MOST_SIZE, EACH_FURTHER, TO_AND_FRO, SAME_RANK = 3.0, 0.5, 0.2, 0.9
# A limit passed, out of the standard, inside it or briefly out: the reference's classes.
LIMIT, STANDARD, BRIEF = 60.0, 30.0, 5.0
WEIGHTY = 24.0  # above it an error is out of the standard, or felt without one
Felt = tuple[float, dict[str, Any], dict[str, Any]]  # effect, the exercise, what was said of it


def places_of(result: dict[str, Any], what: str) -> list[tuple[str, float, str, Felt]]:
    """Every error of a flight as (root, rank, its name, where): planted, or seen in the true state.

    The rank as the reference has it: class by size over the tolerance, 3 at most, a fifth for flying to and fro.
    """
    out = []
    for row, said in zip(result["rows"], result[what], strict=True):
        if said is None:
            continue
        found = []
        effect = felt_effect(row, what)
        if effect is not None:
            found.append((ROOTS[row["fault"]], effect, row["fault"], SHOWS_IN.get(row["fault"], "")))
        for fact in row["facts"]:
            root, about = FACT_ROOTS.get(fact, ("", ""))
            if (what == "position" and fact in FACTS_UNSEEN) or (about and about == SHOWS_IN.get(row["fault"])):
                continue  # not to be seen, or the planted fault itself
            if root and (effect is None or root != ROOTS[row["fault"]]):
                verdict = row["verdicts"].get(about)
                found.append((root, 1.0 if verdict is None else verdict["effect"], fact.rstrip("!"), about))
        if off_deg := row.get("another_bank_deg"):  # nobody said that it was asked for: it is told, and rightly
            found.append(("target", abs(off_deg) / 5.0, "too steep" if off_deg > 0.0 else "too shallow", ""))
        for root, size, name, about in found:
            if size < WORTH:
                continue
            judged = row["verdicts"].get(about)
            out_of_it = STANDARD if judged is None or judged["verdict"] == "not held" else BRIEF
            if name in ("again", "dived"):
                out_of_it = BRIEF if name == "again" and "again, not for a moment" not in row["facts"] else LIMIT
            rank = out_of_it * min(size, MOST_SIZE)
            rank *= TO_AND_FRO if name == "chasing" else 1.0
            out.append((root, rank, name, (size, row, said)))
    return out


def ranked_roots(places: list[tuple[str, float, str, Felt]]) -> dict[str, float]:
    """What each root weighs: its greatest error, and half of each further one."""
    ranks: dict[str, list[float]] = {}
    for root, rank, _, _ in places:
        ranks.setdefault(root, []).append(rank)
    return {root: EACH_FURTHER * sum(found) + (1.0 - EACH_FURTHER) * max(found) for root, found in ranks.items()}


def numberless(text: str) -> str:
    """A sentence without its numbers: repeats are told with the range of theirs."""
    return re.sub(r"[−+]?\d[\d,.]*(?: to [−+]?\d[\d,.]*)?", "#", text.lower())


def told_first(row: dict[str, Any], said: dict[str, Any], lines: list[list[Any]], fault: str) -> bool:
    """The lines said first name a fault of an exercise: the planted one, or a fact's name."""
    own = NAMES.get((row["kind"], fault), (fault,))
    texts = [numberless(c[1].split(". ")[0].rstrip("."))[4:50] for c in said["causes"] if c[0] in own]
    told = " ".join(x[1] for x in lines)
    named = any(f"({name})" in told for name in own if any(c[0] == name for c in said["causes"]))
    named |= any(text and text in numberless(told) for text in texts)
    margin = MARGIN_WORDS.get(fault, "")
    near = [x for x in lines if x[2] is not None and x[2] < row["end_s"] + 5.0 and x[3] > row["start_s"] - 5.0]
    return named or bool(margin and any(margin in x[1] for x in near))


def count_first(result: dict[str, Any], what: str, tally: Tally) -> None:
    """Do the lines said first name the planted fault that cost most, and one of the root that weighs most?

    Where nothing was planted: do they name an error?
    """
    felt = [
        (effect, row, said) for row, said in zip(result["rows"], result[what], strict=True)
        if said is not None and (effect := felt_effect(row, what)) is not None
    ]  # fmt: skip
    lines = [x for x in result[f"{what}_first"] if x[0] in ERRORS]
    if not felt:
        tally.first["none planted"] += 1
        named = [x for x in lines if x[0] != "first"]
        tally.first["none planted, none named"] += not named
        if named:
            tally.lines.append(f"0 {result['name']}: nothing to be felt; told {named[0][1][:150]}")
        return
    _, row, said = max(felt, key=lambda f: f[0])
    tally.first["planted"] += 1
    tally.first["planted, named"] += told_first(row, said, lines, row["fault"])
    places = places_of(result, what)
    ranks = ranked_roots(places)
    most = max(ranks.values(), default=0.0)
    top = [root for root, rank in ranks.items() if rank >= SAME_RANK * most]
    by_rank = any(told_first(row, said, lines, name) for root, _, name, (_, row, said) in places if root in top)
    tally.first["by rank"] += by_rank
    weighty = most >= WEIGHTY
    tally.first["weighty"] += weighty
    tally.first["weighty, named"] += weighty and by_rank
    if not by_rank:
        listed = "; ".join(f"{root} {w[1]['kind']} {name} {n:.2f} {[c[0] for c in w[2]['causes']]}"
                           for root, n, name, w in places)  # fmt: skip
        told = " | ".join(x[1][:170] for x in lines)
        tally.lines.append(f"1 {result['name']} {top}: not in the first lines: {told} ({listed})")


def count(result: dict[str, Any], what: str, tally: Tally) -> None:
    for row, said in zip(result["rows"], result[what], strict=True):
        where = f"{result['name']} {row['kind']} {row['start_s']:.0f}-{row['end_s']:.0f} {row['fault'] or ''}"
        if said is None:
            tally.unseen += 1
            continue
        for quantity, truth in row["verdicts"].items():
            verdict, worst, why = said["verdicts"].get(quantity, ["can't be judged", None, ""])
            if verdict == "can't be judged":
                tally.unjudged += 1
                continue
            tally.verdicts[quantity, truth["verdict"], verdict] += 1
            if truth["clear"]:
                tally.clear[truth["verdict"], verdict] += 1
                if quantity == "altitude" and row["kind"] == "slow_flight" and truth["verdict"] == "held":
                    tally.slow[verdict] += 1
            if verdict != truth["verdict"]:
                tally.lines.append(
                    f"V {where}: {quantity} truth {truth['verdict']} ({truth['worst']:.3g} longest "
                    f"{truth['longest']:.1f} s{'' if truth['clear'] else ', not clear'}) said {verdict} "
                    f"({worst}; {why})"
                )
        count_reasons(row, said, what, tally, where)


def felt_effect(row: dict[str, Any], what: str) -> float | None:
    """The planted fault's effect over its tolerance, 1 where none measures it; None: none, or not to be felt."""
    fault = row["fault"]
    if not fault or not row["broke"] or (what == "position" and fault in UNSEEN_IN_POSITION):
        return None
    about = SHOWS_IN.get(fault, "")
    effect = max((v["effect"] for q, v in row["verdicts"].items() if about in ("", q)), default=0.0)
    felt = effect > WORTH or fault in ALWAYS_FELT
    if fault in FELT_IF_TRUE:
        felt = FELT_IF_TRUE[fault] in row["facts"]
    if fault == "feet_off":
        felt = row["slip_deg"] > SLIP_DEG
    return max(effect, 1.0 if fault in ALWAYS_FELT or fault in FELT_IF_TRUE else 0.0) if felt else None


def count_reasons(row: dict[str, Any], said: dict[str, Any], what: str, tally: Tally, where: str) -> None:
    fault = row["fault"]
    if fault is None or not row["broke"]:  # it only mushed: no stall to recover from
        return
    felt = felt_effect(row, what)
    own = NAMES.get((row["kind"], fault), ())
    accepted = (*own, *row["facts"], "not cleared", "cleared late")  # nobody clears in these flights
    told = [c[0] for c in said["causes"]]
    about = SHOWS_IN.get(fault, "")
    effect = 0.0 if felt is None else felt
    if felt is not None:
        key = f"{row['kind']}: {fault}"
        broke = any(v["verdict"] in OUT for q, v in row["verdicts"].items() if about in ("", q))
        hit = any(name in own for name in told)
        tally.planted[key] += 1
        tally.named[key] += hit
        tally.broke[key] += broke
        tally.broke_named[key] += broke and hit
        if not hit:
            tally.lines.append(f"M {where}: not named, size {row['size']}, effect {effect:.2f}, told {told}")
    for name, text, start, end, weight in said["causes"]:
        tally.reasons += 1
        if name not in accepted:
            tally.false_reasons[f"{name} ({row['kind']}: {fault or 'clean'})"] += 1
            tally.lines.append(f"F {where}: {name} [{start:.0f}-{end:.0f}, {weight:.2f}] {text}")


def percent(part: int, whole: int) -> str:
    return f"{100.0 * part / whole:.1f} %" if whole else "–"


def sure(part: int, whole: int) -> str:
    """Where the true share lies with 90 % (Wilson)."""
    low, high = wilson(part, whole)
    return f"(90 %: {100.0 * low:.1f} to {100.0 * high:.1f} %)" if whole else ""


def report(title: str, tally: Tally, *, listing: bool) -> None:
    total = sum(tally.verdicts.values())
    agree = sum(n for (_, t, s), n in tally.verdicts.items() if t == s)
    false_not = sum(n for (_, t, s), n in tally.verdicts.items() if s == "not held" and t != s)
    false_brief = sum(n for (_, t, s), n in tally.verdicts.items() if s == OUT[1] and t == "held")
    outs = sum(n for (_, t, _), n in tally.verdicts.items() if t in OUT)
    false_held = sum(n for (_, t, s), n in tally.verdicts.items() if t in OUT and s == "held")
    clear, clear_ok = sum(tally.clear.values()), sum(n for (t, s), n in tally.clear.items() if t == s)
    print(f"\n{title}: {total} verdicts, {outs} true outs; {tally.unjudged} can't be judged, "
          f"{tally.unseen} exercises not recognized")  # fmt: skip
    print(
        f"  agreement                {agree:>5} of {total:<5} {percent(agree, total)}   "
        f"(clear ones: {percent(clear_ok, clear)} of {clear})"
    )
    print(f"  false 'not held'         {false_not:>5} of {total:<5} {percent(false_not, total)}")
    print(f"  false 'briefly out'      {false_brief:>5} of {total:<5} {percent(false_brief, total)}")
    print(
        f"  false 'held'             {false_held:>5} of {outs:<5} {percent(false_held, outs)} {sure(false_held, outs)}"
    )
    outs = sum(n for (t, _), n in tally.clear.items() if t in OUT)
    missed = sum(n for (t, s), n in tally.clear.items() if t in OUT and s == "held")
    print(f"  – of the clear ones      {missed:>5} of {outs:<5} {percent(missed, outs)} {sure(missed, outs)}")
    print(f"  slow flights whose altitude was clearly held: {sum(tally.slow.values())}, "
          f"failed {tally.slow[OUT[0]]}, briefly out {tally.slow[OUT[1]]}")  # fmt: skip
    print(f"  {'criterion':<20}{'verdicts':>9}{'outs':>6}{'agree':>9}{'f.not':>7}{'f.brief':>8}{'f.held':>7}")
    for quantity in sorted({q for q, _, _ in tally.verdicts}):
        rows = [(t, s, n) for (q, t, s), n in tally.verdicts.items() if q == quantity]
        n = sum(r[2] for r in rows)
        print(f"  {quantity:<20}{n:>9}{sum(c for t, _, c in rows if t in OUT):>6}"
              f"{percent(sum(c for t, s, c in rows if t == s), n):>9}"
              f"{sum(c for t, s, c in rows if s == 'not held' and t != s):>7}"
              f"{sum(c for t, s, c in rows if s == OUT[1] and t == 'held'):>8}"
              f"{sum(c for t, s, c in rows if t in OUT and s == 'held'):>7}")  # fmt: skip
    planted, named = sum(tally.planted.values()), sum(tally.named.values())
    broke, broke_named = sum(tally.broke.values()), sum(tally.broke_named.values())
    false = sum(tally.false_reasons.values())
    print(f"  planted faults named     {named:>5} of {planted:<5} {percent(named, planted)}   "
          f"{sure(named, planted)}")  # fmt: skip
    print(f"  – that broke a tolerance {broke_named:>5} of {broke:<5} {percent(broke_named, broke)}")
    print(f"  false reasons            {false:>5} of {tally.reasons:<5} {percent(false, tally.reasons)}")
    n = tally.first
    print(f"  first lines name a planted fault of the root that weighs most {n['by rank']} of {n['planted']} flights "
          f"({n['weighty, named']} of {n['weighty']} with an error out of the standard), "
          f"the one that cost most {n['planted, named']}; with none planted name none "
          f"{n['none planted, none named']} of {n['none planted']}")  # fmt: skip
    for key in sorted(tally.planted):
        print(
            f"    {key:<40}{tally.named[key]:>4} of {tally.planted[key]:<4} broke {tally.broke_named[key]} of "
            f"{tally.broke[key]}"
        )
    for key, n in tally.false_reasons.most_common():
        print(f"    false: {key}  {n}")
    if listing:
        print("\n".join(tally.lines))


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=40)
    parser.add_argument("--flights", type=int, default=20, help="planted flights")
    parser.add_argument("--wild", type=int, default=0, help="so many ordinary lessons of each generator as well")
    parser.add_argument(
        "--field", type=int, default=0, help="so many flights of circuits with one fault or none in each place as well"
    )
    parser.add_argument("--standard", default="private")
    parser.add_argument("--keep", type=Path, required=True, help="folder for the recordings; flown once")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--list", action="store_true", help="list every disagreement, miss and false reason")
    args = parser.parse_args()
    jobs = [("planted", args.seed + k, str(args.keep), args.standard) for k in range(args.flights)]
    jobs += [("field", args.seed + k, str(args.keep), args.standard) for k in range(args.field)]
    jobs += [(w, args.seed + k, str(args.keep), args.standard) for w in ("driven", "wild") for k in range(args.wild)]
    tallies = {"full": Tally(), "position": Tally()}
    with ProcessPoolExecutor(args.jobs) as pool:
        stems = list(pool.map(make, jobs))
        results = list(pool.map(score, [(stem, str(args.keep), args.standard) for stem in stems if stem]))
    print(f"{len(results)} flights scored, {stems.count('')} bent by every pilot and left out")
    for result in results:
        for what, tally in tallies.items():
            count(result, what, tally)
            count_first(result, what, tally)
    report("full data", tallies["full"], listing=args.list)
    report("position alone", tallies["position"], listing=args.list)


if __name__ == "__main__":
    main()
