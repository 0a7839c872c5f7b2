"""The debrief as one self-contained page: opens from a mail, works offline, prints tidily. Computes nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from airwork.errors import InputError
from airwork.maneuvers.grading.measure import worth_showing
from airwork.maneuvers.setup import Trace
from airwork.output.report_drawings import clock, map_svg, timeline_svg
from airwork.output.report_series import (
    LEAD_S,
    PLOTS,
    bands,
    column_for,
    ideal_series,
    plot_name,
    sample_times,
    series,
)
from airwork.units import from_unit, to_unit

if TYPE_CHECKING:
    from airwork.debrief import Debrief

CAUTION = "The standard's text and the instructor decide; a recording sees only part of a flight. Not for navigation."
# verdict -> (css class, sign, word); the sign and the word say it without colour
MARKS = {
    "held": ("held", "●", "held"),
    "briefly out and corrected": ("brief", "◐", "briefly out, corrected"),
    "not held": ("out", "○", "not held"),
    "can't be judged": ("unknown", "–", "can't be judged"),
}
UNITS = {"ft": "ft", "kt": "kt", "deg": "°", "gal": "gal", "pct": "%", "s": "s", "fpm": "fpm", "rpm": "rpm", "nm": "NM"}
SHOWN = {"deg": "°"}
# What each plot shows for which kinds beyond the four that every maneuver has.
EXTRA = {
    "power_off_stall": ("pitch",), "power_on_stall": ("pitch",), "accelerated_stall": ("load",),
    "chandelle": ("pitch",),
    "lazy_eight": ("pitch",), "landing": ("vertical_speed",), "emergency_descent": ("vertical_speed",),
    "climb": ("vertical_speed",), "descent": ("vertical_speed",), "slow_flight": ("rpm",),
}  # fmt: skip
# Kinds that get a section even when the standard has no number for them; the rest only stand in the table.
PLAIN = {"straight_and_level", "climb", "descent", "level_turn", "tank_change"}


Marks = Mapping[int, Sequence[tuple[str, str]]]  # (who, mark and remark) by the episode's position


def report_html(
    found: Debrief, *, zone: str = "UTC", ideals: Mapping[int, Trace] | None = None, marks: Marks | None = None
) -> str:
    """The page of a debrief, complete in one file.

    Parameters
    ----------
    zone : time zone of the place, for the clock times shown.
    ideals : ideal traces by the episode's position in the debrief, to be laid over the flown ones.
    marks : as people gave them.

    Raises
    ------
    InputError : the zone is unknown.
    """
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("airwork.output", "templates"), autoescape=True, undefined=jinja2.StrictUndefined
    )
    return environment.get_template("report.html").render(
        **report_values(found, zone=zone, ideals=ideals, marks=marks),
        css=_asset("assets", "report.css"),
        plots_js=_asset("assets", "plots.js"),
        report_js=_asset("assets", "report.js"),
        uplot=_vendor("uplot.js"),
        uplot_css=_vendor("uplot.css"),
    )


def report_values(
    found: Debrief,
    *,
    zone: str = "UTC",
    ideals: Mapping[int, Trace] | None = None,
    every: bool = False,
    marks: Marks | None = None,
) -> dict[str, Any]:
    """What the template `report_body.html` shows of a debrief; parameters as `report_html`.

    every : a section for every maneuver; else plain flying that was held stands in the table alone.
    """
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(f"no time zone {zone!r}; write one like America/Denver.", where="--zone") from None
    data, flight = found.as_json(), found.flight
    rows = [_row(k, episode, every or k in (marks or {})) for k, episode in enumerate(data["episodes"])]
    chart, points = map_svg(flight, rows, sample_times(flight), ideals or {}) if len(flight) else ("", {})
    blob = {
        "series": {**(series(flight) if len(flight) else {"t": []}), **points},
        "episodes": [_plot_data(k, e, ideals or {}) for k, e in enumerate(data["episodes"])],
    }
    return {
        "title": _title(data, zone), "facts": _facts(data, zone), "caution": CAUTION, "rows": rows,
        "summary": _summary(rows), "timeline": timeline_svg(flight, rows) if len(flight) > 1 else "", "chart": chart,
        "fuel": _fuel(data["fuel"]), "notes": data["notes"], "quality": _quality(data), "made": _made(data),
        "maneuvers": [{**_maneuver(row, found), "marks": list((marks or {}).get(row["index"], ()))}
                      for row in rows if row["section"]], "data": _safe_json(blob),
    }  # fmt: skip


@lru_cache
def _asset(folder: str, name: str) -> str:
    return resources.files("airwork.output").joinpath(folder, name).read_text(encoding="utf-8")


@lru_cache
def _vendor(name: str) -> str:
    return resources.files("airwork").joinpath("web", "static", "vendor", name).read_text(encoding="utf-8")


def _safe_json(blob: Any) -> str:
    """JSON that can't end the script element it stands in."""
    return json.dumps(blob, separators=(",", ":"), ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")


def _moment(text: str | None, zone: str) -> datetime | None:
    return None if not text else datetime.fromisoformat(text.replace("Z", "+00:00")).astimezone(ZoneInfo(zone))


def _title(data: Mapping[str, Any], zone: str) -> str:
    start = _moment(data["flight"]["start_utc"], zone)
    what = data["flight"]["lesson"] or data["flight"]["name"]
    return what if start is None else f"{what}, {start:%-d %B %Y}"


def _facts(data: Mapping[str, Any], zone: str) -> list[tuple[str, str]]:
    flight = data["flight"]
    start, end = _moment(flight["start_utc"], zone), _moment(flight["end_utc"], zone)
    facts = [("recording", flight["name"]), ("airplane", flight["airplane"] or "not named")]
    if start and end:
        facts.append(("recorded", f"{start:%H:%M} to {end:%H:%M} {start.tzname()}"))
    facts.append(("length", clock(flight["duration_s"])))
    if "airborne_s" in flight:
        facts.append(("in the air", clock(flight["airborne_s"])))
    standard = flight["standard"]
    facts.append(("standard", f"{standard['title']}, {standard['edition']}"))
    if data["wind"]:
        speeds = [w["speed_kt"] for w in data["wind"] if "speed_kt" in w]
        if speeds:
            facts.append(("wind found", f"{min(speeds):.0f} to {max(speeds):.0f} kt"))
    return facts


def _worst_verdict(criteria: list[dict[str, Any]]) -> str:
    for verdict in ("not held", "briefly out and corrected", "held"):
        if any(c["verdict"] == verdict for c in criteria):
            return verdict
    return "can't be judged"


def _number(value: float | None, unit: str) -> str:
    if value is None:
        return ""
    digits = 0 if unit in {"ft", "deg", "rpm", "fpm"} or abs(value) >= 100 else 1
    sign = "" if unit in {"", "s", "%"} else "+"
    mark = {"deg": "°", "%": " %"}.get(unit, f" {unit}")
    return f"{value:{sign},.{digits}f}{mark}".replace("-", "−")


def _row(k: int, episode: Mapping[str, Any], every: bool) -> dict[str, Any]:
    """One line of the summary."""
    verdict = _worst_verdict(episode["criteria"])
    mark, sign, word = MARKS[verdict]
    judged = bool(episode["criteria"]) and verdict != "can't be judged"
    worst = next((c for c in episode["criteria"] if c["verdict"] == verdict and c["worst"] is not None), None)
    plain = episode["kind"] in PLAIN and verdict != "not held" and not episode["causes"]
    return {
        "number": k + 1, "index": k, "start_s": episode["start_s"], "end_s": episode["end_s"],
        "title": episode["title"],
        "clock": clock(episode["start_s"]), "kind": episode["kind"], "verdict": verdict,
        "mark": mark if judged else "unknown",
        "sign": sign if judged else "", "word": word if judged else "no number to hold",
        "worst": ""
        if worst is None or verdict == "held" else f"{worst['name']} {_number(worst['worst'], worst['unit'])}",
        "cause": episode["causes"][0]["text"] if episode["causes"] else "",
        "plain": plain, "section": every or not plain,
        "episode": episode,
    }  # fmt: skip


def _worst(criterion: Mapping[str, Any]) -> str:
    return f"{criterion['name']} {_number(criterion['worst'], criterion['unit'])}"


def _summary(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return ""
    judged = [r for r in rows if r["mark"] in {"held", "brief", "out"}]
    words = {"held": "held to the standard", "brief": "briefly out and corrected", "out": "not held"}
    counts = [(sum(r["mark"] == mark for r in judged), text) for mark, text in words.items()]
    said = ", ".join(f"{n} {text}" for n, text in counts if n)
    return (
        f"{len(rows)} maneuvers recognized; {said}."
        if said
        else f"{len(rows)} maneuvers recognized; none could be judged."
    )


def _maneuver(row: dict[str, Any], found: Debrief) -> dict[str, Any]:
    episode, flight = row["episode"], found.flight
    names = [p for p in ("altitude", "speed", "bank", "heading", *EXTRA.get(row["kind"], ())) if column_for(flight, p)]
    return {
        "number": row["number"], "index": row["index"], "title": row["title"], "plain": row["plain"],
        "kind": row["kind"], "start_s": row["start_s"], "end_s": row["end_s"],
        "span": f"{clock(row['start_s'])} to {clock(row['end_s'])} after the start of the recording",
        "confidence": f"recognized with confidence {episode['confidence']:.0%}: {'; '.join(episode['evidence'])}",
        "target": f"Held against: {_target(episode, _dial(found))}" if episode["target"] else "",
        "criteria": [_criterion(c) for c in episode["criteria"]],
        "causes": [{"text": c["text"], "next": c["try_next"],
                    "span": f"{clock(c['start_s'])}–{clock(c['end_s'])}"} for c in episode["causes"]],
        "numbers": [(_key_words(key), _on_dial(key, value, _dial(found)))
                    for key, value in worth_showing(episode["measured"], episode["target"]).items()],
        "plots": [{"column": p, "unit": SHOWN.get(PLOTS[p][1], PLOTS[p][1]), "room": PLOTS[p][4],
                   "name": f"{plot_name(flight, p)}, {SHOWN.get(PLOTS[p][1], PLOTS[p][1])}"} for p in names],
    }  # fmt: skip


def _criterion(c: Mapping[str, Any]) -> dict[str, str]:
    mark, sign, word = MARKS[c["verdict"]]
    within = "" if c["within_fraction"] is None else f"{c['within_fraction']:.0%}"
    source = (
        " (airwork's own threshold)"
        if c.get("source") == "airwork" and "airwork" not in c["limit"]
        else " (from memory)"
        if c.get("label") == "M"
        else ""
    )
    worst = _number(c["worst"], c["unit"])
    return {"name": c["name"], "limit": f"{c['limit']}{source}", "worst": worst, "within": within,
            "mark": mark, "sign": sign, "word": word, "why": c["why"]}  # fmt: skip


def _split_key(key: str) -> tuple[str, str]:
    stem, _, unit = key.rpartition("_")
    return (stem, unit) if unit in UNITS and stem else (key, "")


def _key_words(key: str) -> str:
    words = _split_key(key)[0].replace("_", " ")
    for short in ("ias", "tas", "cas", "agl", "utc"):
        words = " ".join(w.upper() if w == short else w for w in words.split())
    return words


def _on_dial(key: str, value: Any, dial: str) -> str:
    """A number with its unit; an indicated speed first as the airplane's dial shows it."""
    said = _key_value(key, value)
    if dial == "kt" or not key.endswith("ias_kt") or not isinstance(value, (int, float)):
        return said
    return f"{to_unit(from_unit(value, 'kt'), dial):,.0f} {dial} ({said})"


def _dial(found: Debrief) -> str:
    airplane = None if found.evidence is None else found.evidence.airplane
    return "kt" if airplane is None else airplane.dial_unit


def _key_value(key: str, value: Any) -> str:
    unit = _split_key(key)[1]
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return str(value)
    digits = 0 if unit in {"ft", "rpm", "fpm"} or abs(value) >= 100 else 1 if unit else 2
    space = "" if unit in {"deg", ""} else " "
    return f"{value:,.{digits}f}{space}{UNITS.get(unit, '')}".replace("-", "−")


def _target(episode: Mapping[str, Any], dial: str) -> str:
    shown = ", ".join(f"{_key_words(k)} {_on_dial(k, v, dial)}" for k, v in episode["target"].items())
    return f"{shown} ({episode['target_source']})"


def _plot_data(k: int, episode: Mapping[str, Any], ideals: Mapping[int, Trace]) -> dict[str, Any]:
    out = {"from": episode["start_s"] - LEAD_S, "to": episode["end_s"] + LEAD_S, "bands": bands(episode)}
    if k in ideals:
        out["ideal"] = ideal_series(ideals[k], episode["start_s"])
    return out


def _fuel(fuel: Mapping[str, Any]) -> list[tuple[str, str]]:
    lines = []
    if fuel.get("used_gal") is not None:
        planned = f"; planned {fuel['planned_gal']:.1f} gal" if fuel.get("planned_gal") is not None else ""
        lines.append(("fuel used", f"{fuel['used_gal']:.1f} gal ({fuel.get('how', '')}){planned}"))
    for change in fuel.get("tank_changes", ()):
        lines.append(("tank change", _tank_change(change)))
    shares = [f"{_share(p)}: {p['fraction']:.0%}" for p in fuel.get("power_time", ()) if p["fraction"] >= 0.005]
    if shares:
        lines.append(("time at each power", "; ".join(shares)))
    return lines + _leaned(fuel.get("leaning", ()))


def _leaned(leaning: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """Each stretch leaned above the limit; those below it together."""
    lines, below = [], [lean for lean in leaning if not lean["above_limit"]]
    for lean in leaning:
        if lean["above_limit"]:
            span = f"{clock(lean['start_s'])} to {clock(lean['end_s'])}"
            lines.append(("leaned", f"{span} at {lean['power_pct']} % power, above the {lean['limit_pct']} % limit"))
    if below:
        total = clock(sum(lean["end_s"] - lean["start_s"] for lean in below))
        low, high = (f(lean["power_pct"] for lean in below) for f in (min, max))
        powers = f"{low} %" if low == high else f"{low} to {high} %"
        stretches = "one stretch" if len(below) == 1 else f"{len(below)} stretches"
        span = f"{clock(below[0]['start_s'])} to {clock(below[-1]['end_s'])}"
        said = f"{stretches} from {span}, {total} in all, at {powers} power, below the {below[0]['limit_pct']} % limit"
        lines.append(("leaned", said))
    return lines


def _tank_change(change: Mapping[str, Any]) -> str:
    """One change of tank, or a planned one that was not made, in words."""
    tanks = f"{change['from']} to {change['to']}"
    planned = f"planned at {clock(change['planned_s'])}" if "planned_s" in change else ""
    if "time_s" not in change:
        return f"{tanks}, {planned}: not made"
    height = f"{_key_value('agl_ft', change['agl_ft'])} above ground" if "agl_ft" in change else ""
    during = f"during {change['during'].replace('_', ' ')}" if "during" in change else ""
    return ", ".join(part for part in (f"{clock(change['time_s'])} {tanks}", height, during, planned) if part)


def _share(row: Mapping[str, Any]) -> str:
    return f"{row['from_pct']} % and more" if row["to_pct"] is None else f"{row['from_pct']} to {row['to_pct']} %"


def _quality(data: Mapping[str, Any]) -> list[str]:
    known = data["flight"].get("known_from", {})
    lines = [f"{name.replace('_', ' ')}: {text}" for name, text in known.items()]
    derived = [q["column"] for q in data["quality"] if q["about"] == "column" and q["known"] == "derived"]
    if derived:
        lines.append("derived, not recorded: " + ", ".join(c.rsplit("_", 1)[0].replace("_", " ") for c in derived))
    lines += [q["what"] for q in data["quality"] if q["about"] == "mended"]
    return lines


def _made(data: Mapping[str, Any]) -> str:
    flight = data["flight"]
    return (
        f"airwork {flight['airwork_version']}, {datetime.now(UTC):%Y-%m-%d}; recording sha256 {flight['sha256'][:16]}…"
    )
