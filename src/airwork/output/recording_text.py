"""A recording's summary for the terminal."""

from __future__ import annotations

from airwork.recording.craft import WORDS
from airwork.recording.flight import printed_unit
from airwork.recording.summary import ColumnLine, Summary

_CONTACT = {"takeoff": "takeoff", "landing": "landing", "touch_and_go": "touch-and-go"}
MOST_OWN = 5
_NOT_LISTED = {"east_m", "north_m", "track_rad", "latitude_rad", "longitude_rad", "wind_from_rad", "on_ground"}


def clock(seconds: float) -> str:
    """Seconds as h:mm:ss."""
    whole = round(seconds)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"


def recording_text(summary: Summary, *, wide: bool = False) -> str:
    """Everything in a page or two; `wide` lists every column and every mend."""
    parts = [_head(summary), _columns(summary, wide), _missing(summary), _wind(summary), _contacts(summary)]
    mended = _rows(summary, asks=False)
    parts += ["\n".join(["Found and mended", *mended]) if mended else "Nothing had to be mended."]
    parts += [_names(summary), _grades(summary)]
    parts[1:1] = ["\n".join(["To settle", *asked])] if (asked := _rows(summary, asks=True)) else []
    return "\n\n".join(part for part in parts if part)


def _head(s: Summary) -> str:
    source = s.source
    packed = f", {source['packed']}" if source.get("packed") else ""
    size = float(source.get("bytes", 0)) / 1e6
    lines = [f"{source.get('name', 'recording')}: {source.get('format', '')}{packed}, {size:.1f} MB"]
    unread = any("not understood as the day" in m["what"] for m in s.mends)
    when = s.start_utc or ("no date understood" if unread else "no date in the file")
    if source.get("zone_open"):
        when = f"{when.removesuffix('Z')} (time zone not known)"
    lines.append(f"{when}, {clock(s.duration_s)} long, {s.samples:,} samples, {s.rate_hz:.3g} per second")
    if s.source.get("time_remark"):
        lines.append(f"time: {s.source['time_remark']}")
    for key, word in (("aircraft", "aircraft"), ("aircraft_type", "type"), ("recorder", "recorder")):
        if source.get(key):
            lines.append(f"{word}: {source[key]}")
    craft = source.get("craft")
    if isinstance(craft, dict) and craft.get("why"):
        lines.append(f"by its recording: {WORDS[craft['kind']]} ({craft['why']})")
    return "\n".join(lines)


def _number(value: float) -> str:
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    return f"{value:.1f}" if abs(value) >= 10 else f"{value:.2f}"


def _plain(name: str) -> str:
    """A column's name in words, without the unit it is kept in, which is not the one printed."""
    bare = name.rpartition("_")[0] if printed_unit(name) not in {"", "rpm"} else name
    return "magnetic heading" if bare == "heading_mag" else bare.replace("_", " ")


def _column(c: ColumnLine) -> str:
    error = f"±{_number(c.error)}" if c.error is not None else ""
    gaps = f"{100 * c.missing:.0f} % missing" if c.missing > 0.005 else ""
    note = "; ".join(x for x in (gaps, c.note) if x)
    unit = c.unit or "-"
    return (
        f"  {_plain(c.name):<20}{unit:<7}{c.known:<10}"
        f"{_number(c.low):>9}{_number(c.middle):>9}{_number(c.high):>9} {error:<8}{note}"
    ).rstrip()


def _columns(s: Summary, wide: bool) -> str:
    head = f"  {'column':<20}{'unit':<7}{'known':<10}{'least':>9}{'middle':>9}{'most':>9} {'error':<8}remark"
    rows = [_column(c) for c in s.columns if wide or c.name not in _NOT_LISTED]
    return "\n".join(["What is in it", head, *rows])


def _missing(s: Summary) -> str:
    return f"Missing: {'; '.join(s.missing)}." if s.missing else ""


def _own_wind(s: Summary) -> str:
    """What the recorder itself took for the wind, where that says more than is known here."""
    own = s.source.get("own_wind") or []
    if not own or any(w.known for w in s.wind):
        return ""
    told = [f"{w['from_deg']:03.0f}° {w['kt']:.0f} kt at {w['utc']}" for w in own[:MOST_OWN]]
    return f"The recorder's own: {', '.join(told)}{' ...' if len(own) > MOST_OWN else ''}."


def _wind(s: Summary) -> str:
    return "\n".join(filter(None, [_wind_found(s), _own_wind(s)]))


def _wind_found(s: Summary) -> str:
    if not s.wind:
        return "Wind: not known (too few turns, too few fixes in them, or no ground speed recorded)."
    rows = []
    for w in s.wind:
        where = "at all heights" if w.low_ft is None else f"{w.low_ft:>6,} to {w.high_ft:>6,} ft"
        if not w.known:
            perhaps = f"{w.from_deg:03.0f}° {w.speed_kt:.0f} kt" if w.direction_known else "light"
            rows.append(f"  {where:<19}  not known better than ±{w.band_kt:.1f} kt; perhaps {perhaps}")
            continue
        blows = f"from {w.from_deg:03.0f}°" if w.direction_known else "light    "
        turned = f", ±{w.from_band_deg:.0f}°" if w.direction_known else ", direction not known"
        band = f"  ±{w.band_kt:.1f} kt{turned} (90 %)" if w.error_kt else ""  # none is known of a recorded wind
        rows.append(f"  {where:<19}  {blows} {w.speed_kt:4.1f} kt{band}")
    return "\n".join([f"Wind, {s.wind_note}", *rows])


def _contacts(s: Summary) -> str:
    if not s.contacts:
        return "No takeoff or landing seen."
    return "Contacts: " + ", ".join(f"{_CONTACT[kind]} {clock(t)}" for kind, t in s.contacts)


def _rows(s: Summary, *, asks: bool) -> list[str]:
    rows = []
    for m in (m for m in s.mends if m["asks"] == asks):
        times = ""
        if m["first_s"] is not None:
            times = f" ({clock(m['first_s'])} to {clock(m['last_s'])})" if m["last_s"] else f" ({clock(m['first_s'])})"
        column = f"{_plain(m['column'])}: " if m["column"] else ""
        count = f" [{m['count']:,}]" if m["count"] > 1 and not str(m["what"])[:1].isdigit() else ""
        rows.append(f"  {m['what']}" if asks else f"  {column}{m['what']}{count}{times}")
    return rows


def _names(s: Summary) -> str:
    lines = []
    guessed = [
        f"  {row['column']}: {row['quantity'].replace('_', ' ')}"
        f"{' in ' + row['unit'] if row['unit'] else ''} ({row['unit_how']})"
        for row in s.source.get("understood", [])
        if row["unit_how"] not in {"", "named"}
    ]
    if guessed:
        lines += ["Understood by looking at the numbers", *guessed]
    unknown = s.source.get("not_understood") or []
    if unknown:
        lines.append(f"Not understood: {', '.join(unknown)}. Settle them with: airwork recording map FILE")
    aside = s.source.get("not_needed") or []
    if aside:
        lines.append(f"Understood, not needed: {', '.join(aside)}")
    return "\n".join(lines)


def _grades(s: Summary) -> str:
    if not s.grades:
        return f"Nothing is graded: {WORDS[s.source['craft']['kind']]}, and {s.standard} is for airplanes."
    word = {"yes": "yes", "estimate": "as an estimate", "no": "no"}
    rows = [f"  {g.quantity.replace('_', ' '):<20}{word[g.answer]:<16}{g.why}" for g in s.grades]
    return "\n".join([f"What it can be graded on: {s.standard}", *rows])
