"""A sheet as a file: delimited text, JSON in its forms, IGC, GPX; with the clock and the stamps a recorder has."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from faults.recorders import KMH, Rng, Sheet

Array = NDArray[np.float64]
CLOCKS = ("iso", "s", "ms", "us", "ns", "local", "clock", "elapsed")


def write(sheet: Sheet, folder: Path, name: str, rng: Rng) -> tuple[Path, float]:
    """(the file written, seconds its clock is ahead of the truth; NaN where it names no date)."""
    if sheet.kind == "logger":
        return _igc(sheet, folder / f"{name}.igc", rng)
    if sheet.kind == "receiver":
        return _receiver(sheet, folder, name, rng)
    if (
        sheet.kind == "tracker"
        and sheet.what["power"] == "0"
        and sheet.what["whole"] == "False"
        and rng.random() < 0.15
    ):
        return _gpx(sheet, folder / f"{name}.gpx")
    clock = str(rng.choice(CLOCKS if sheet.kind != "phone" else ("iso", "s", "ms", "ns")))
    sheet.what["clock"] = clock
    shift = 0.0
    if clock in {"iso", "clock"} and rng.random() < 0.3:  # through midnight
        middle = float(np.median(sheet.time_s))
        shift = math.ceil(middle / 86_400.0) * 86_400.0 - middle
        sheet.what["clock"] += " over midnight"
    titles, cells = _clock_cells(sheet, clock, shift)
    delimiter = ";" if rng.random() < 0.2 else ","
    comma = delimiter == ";" and rng.random() < 0.5
    for column, (values, digits) in sheet.columns.items():
        unit = sheet.units.get(column, "") if sheet.what.get("units") == "names" else ""
        titles.append(f"{column} ({unit})" if unit else column)
        texts = [f"{v:.{digits}f}" if math.isfinite(v) else "" for v in values.tolist()]
        cells.append([x.replace(".", ",") for x in texts] if comma else texts)
    rows = [delimiter.join(row) for row in zip(*cells, strict=True)]
    if sheet.kind == "tracker" and rng.random() < 0.5:
        rows, what = _stamped_badly(rows, rng)
        sheet.what["stamps"] = what
    lines = [delimiter.join(titles)]
    if sheet.what.get("units") == "row":
        gap = [""] * (len(titles) - len(sheet.columns))
        lines.append(delimiter.join([*gap, *(sheet.units.get(c, "") for c in sheet.columns)]))
    path = folder / f"{name}.csv"
    path.write_text("\n".join([*lines, *rows]) + "\n", encoding="utf-8")
    return path, shift if clock not in {"clock", "elapsed"} else math.nan


def _moment(t: float) -> datetime:
    return datetime.fromtimestamp(0, UTC) + timedelta(seconds=round(t, 3))


def _clock_cells(sheet: Sheet, clock: str, shift: float) -> tuple[list[str], list[list[str]]]:
    t = sheet.time_s + shift
    if clock in {"s", "ms", "us", "ns"}:
        factor = {"s": 1, "ms": 1_000, "us": 1_000_000, "ns": 1_000_000_000}[clock]
        if factor == 1:
            return ["timestamp"], [[f"{x:.2f}" for x in t]]
        return ["time"], [[f"{round(x * 1_000) * (factor // 1_000):d}" for x in t]]
    if clock == "elapsed":
        return ["Time (s)"], [[f"{x - t[0]:.2f}" for x in t]]
    if clock == "iso":
        return ["time"], [[_moment(x).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-4] + "Z" for x in t]]
    if clock == "clock":
        return ["UTC Time"], [[_moment(x).strftime("%H:%M:%S.%f")[:-4] for x in t]]
    days = [_moment(x - 6 * 3600.0) for x in t]
    return ["Lcl Date", "Lcl Time", "UTCOfst"], [
        [d.strftime("%Y-%m-%d") for d in days], [d.strftime("%H:%M:%S.%f")[:-4] for d in days], ["-06:00"] * t.size,
    ]  # fmt: skip


def _stamped_badly(rows: list[str], rng: Rng) -> tuple[list[str], str]:
    """Rows written twice, or a few written a place too late."""
    if rng.random() < 0.5:
        twice = rng.random(len(rows)) < 0.02
        return [row for row, again in zip(rows, twice, strict=True) for row in [row] * (2 if again else 1)], "doubled"
    out = list(rows)
    for k in np.flatnonzero(rng.random(len(rows) - 1) < 0.01):
        out[k], out[k + 1] = out[k + 1], out[k]
    return out, "late rows"


def _receiver(sheet: Sheet, folder: Path, name: str, rng: Rng) -> tuple[Path, float]:
    form = str(rng.choice(["csv", "objects", "lines", "columns", "states", "trace"]))
    time_name, identity = sheet.units["time"], sheet.units["identity"]
    stamps = sheet.time_s.copy()
    late = rng.random(stamps.size) < 0.01
    stamps[late] += rng.uniform(0.2, 0.5, int(late.sum())) * sheet.step_s
    form = (
        "objects" if form in {"states", "trace"} and any(np.isnan(v).any() for v, _ in sheet.columns.values()) else form
    )
    sheet.what |= {"form": form}
    rows: list[dict[str, float | str | None]] = []
    factor = 1_000 if rng.random() < 0.5 else 1
    for k, t in enumerate(stamps.tolist()):
        row: dict[str, float | str | None] = {time_name: round(t * factor, 2 if factor == 1 else 0), identity: "a1b2c3"}
        for column, (values, digits) in sheet.columns.items():
            row[column] = round(float(values[k]), digits) if math.isfinite(values[k]) else None
        rows.append(row)
    doubled = rng.random(len(rows)) < 0.01
    rows = [r for r, again in zip(rows, doubled, strict=True) for r in [r] * (2 if again else 1)]
    if form == "csv":
        head = list(rows[0])
        text = "\n".join([",".join(head), *(",".join("" if r[h] is None else str(r[h]) for h in head) for r in rows)])
        path = folder / f"{name}.csv"
    else:
        path = folder / f"{name}.json"
        text = _json(form, rows, factor)
    path.write_text(text + "\n", encoding="utf-8")
    return path, 0.0


def _json(form: str, rows: list[dict[str, float | str | None]], factor: int) -> str:
    if form == "lines":
        return "\n".join(json.dumps(r) for r in rows)
    if form == "objects":
        return json.dumps(rows)
    if form == "columns":
        return json.dumps({h: [r[h] for r in rows] for h in rows[0]})
    names = list(rows[0])
    if form == "states":
        out = []
        for r in rows:
            t, _, lat, lon, alt, speed, track, rate = (r[n] for n in names)
            t = float(t) / factor  # type: ignore[arg-type]
            head, tail = ["a1b2c3", "DEMO1   ", "Nowhere", t, t], [None, None, None, False, 0]
            out.append({"time": t, "states": [[*head, lon, lat, alt, False, speed, track, rate, *tail]]})
        return json.dumps(out)
    start = float(rows[0][names[0]]) / factor  # type: ignore[arg-type]
    trace = [[round(float(r[names[0]]) / factor - start, 2), *(r[n] for n in names[2:7]), 0, r[names[7]], None]  # type: ignore[arg-type]
             for r in rows]  # fmt: skip
    return json.dumps({"icao": "a1b2c3", "timestamp": start, "trace": trace})


def _angle(value: float, whole: int, sides: str) -> str:
    minutes = round(abs(value) * 60_000.0)
    return f"{minutes // 60_000:0{whole}d}{minutes % 60_000:05d}{sides[int(value < 0)]}"


def _igc(sheet: Sheet, path: Path, rng: Rng) -> tuple[Path, float]:
    shift = 0.0
    if rng.random() < 0.3:
        middle = float(np.median(sheet.time_s))
        shift = float(math.ceil(middle / 86_400.0) * 86_400.0 - round(middle))
        sheet.what["clock"] = "over midnight"
    more = str(rng.choice(["none", "GSP5", "GSP3", "TAS5"]))
    sheet.what["more"] = more
    width = 5 if more.endswith("5") else 3
    declared = {"none": "", "GSP5": "I023640GSP4143TRT", "GSP3": "I023638GSP3941TRT", "TAS5": "I023640TAS4145GSP"}[more]
    c = {name: values for name, (values, _) in sheet.columns.items()}
    lines = [
        "AXXXSIM",
        "HFDTE" + _moment(float(sheet.time_s[0] + shift)).strftime("%d%m%y"),
        "HFDTM100GPSDATUM:WGS-1984",
    ]
    lines += [declared] if declared else []
    factor = (100.0 if width == 5 else 1.0) / KMH
    for k, t in enumerate((sheet.time_s + shift).tolist()):
        height = round(float(c["palt"][k]))
        lat, lon = (float(c[n][k]) for n in ("lat", "lon"))
        row = f"B{_moment(t).strftime('%H%M%S')}{_angle(lat, 2, 'NS')}{_angle(lon, 3, 'EW')}A"
        row += f"{height:05d}" if height >= 0 else f"-{-height:04d}"
        row += f"{max(round(float(c['gps_alt'][k])), 0):05d}"
        gs = f"{round(float(c['gs'][k]) * factor):0{width}d}"
        if more.startswith("GSP"):
            row += gs + f"{round(float(c['track'][k])) % 360:03d}"
        elif more == "TAS5":
            row += f"{round(float(c['tas'][k]) * factor):05d}" + gs
        lines.append(row)
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode("ascii"))
    return path, shift


def _gpx(sheet: Sheet, path: Path) -> tuple[Path, float]:
    sheet.what["clock"] = "gpx"
    height = {"imperial": 0.3048, "mph": 0.3048}.get(sheet.what["family"], 1.0)
    (lat, _), (lon, _), (alt, _), *_ = sheet.columns.values()
    points = [
        f'<trkpt lat="{a:.6f}" lon="{o:.6f}"><ele>{h * height:.1f}</ele>'
        f"<time>{_moment(t).strftime('%Y-%m-%dT%H:%M:%S.%f')[:-3]}Z</time></trkpt>"
        for a, o, h, t in zip(lat.tolist(), lon.tolist(), alt.tolist(), sheet.time_s.tolist(), strict=True)
    ]
    head = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    path.write_text(head + "\n".join(points) + "</trkseg></trk></gpx>\n", encoding="utf-8")
    return path, 0.0
