# ruff: noqa: E501  one attack, one line
"""Every attack of docs/reliability.md again, and its table written anew.

    python bench/attacks.py                 all; --files, --tests: the one half or the other; --dry: the page stays
    python bench/attacks.py --only fork     rows of these words alone; the others stay as they were found

Files: made here at their worst, each debriefed by a process of its own, its memory and processor time measured; a file
must end in a debrief or one line, within 1 GB and 20 s. Tests: those of the suite that attack, counted by their items.
"""

from __future__ import annotations

import gzip
import io
import os
import re
import resource
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reliability.md"
MOST_MB, MOST_S = 1000.0, 20.0
BEGIN, END = "<!-- attacks: written by bench/attacks.py -->", "<!-- end of attacks -->"


# ---- files -----------------------------------------------------------------------------------------------------------


def track(rows: int, step_s: float = 1.0, columns: int = 0) -> pl.DataFrame:
    """A wandering track, further columns of air data, engine and attitude beside it."""
    k = np.arange(rows)
    start = np.datetime64("2026-05-01T10:00:00", "ms")
    names = ("IAS (kt)", "Pitch (deg)", "Roll (deg)", "OAT (C)", "RPM", "MAP (inHg)", "Heading (deg)", "VS (fpm)")
    more = {
        f"{names[n % 8]}{n // 8 or ''}": (50 + n + 10 * np.sin(k / (90 + n))).round(2) for n in range(columns)
    }  # fmt: skip
    return pl.DataFrame({
        "UTC time": start + (k * step_s * 1000).astype("timedelta64[ms]"),
        "latitude": (50 + 0.3 * np.sin(k * step_s / 900)).round(6),
        "longitude": (10 + 0.3 * np.cos(k * step_s / 900)).round(6),
        "altitude": (500 + 200 * np.sin(k * step_s / 300)).round(1), **more,
    })  # fmt: skip


def csv(rows: int, step_s: float = 1.0, columns: int = 0) -> bytes:
    return track(rows, step_s, columns).write_csv().encode()


def points(rows: int, one: str, head: str, tail: str) -> bytes:
    frame = track(rows).with_columns(pl.col("UTC time").dt.strftime("%Y-%m-%dT%H:%M:%SZ"))
    return (head + "\n".join(one.format(*row) for row in frame.iter_rows()) + tail).encode()


def gpx(rows: int) -> bytes:
    one = '<trkpt lat="{1}" lon="{2}"><ele>{3}</ele><time>{0}</time></trkpt>'
    return points(rows, one, "<gpx><trk><trkseg>", "</trkseg></trk></gpx>")


def igc(rows: int) -> bytes:
    lines = ["AXXX", "HFDTE010526"]
    for k in range(rows):
        t = 36_000 + k
        lines.append(f"B{t // 3600 % 24:02d}{t // 60 % 60:02d}{t % 60:02d}5{k % 10000 // 1250}{k % 60000:05d}N01{k % 60000:06d}E"
                     f"A{500 + k % 300:05d}{520 + k % 300:05d}")  # fmt: skip
    return "\n".join(lines).encode()


def nmea(rows: int) -> bytes:
    lines = []
    for k in range(rows):
        t = 36_000 + k
        lines.append(f"$GPRMC,{t // 3600 % 24:02d}{t // 60 % 60:02d}{t % 60:02d}.00,A,50{k % 6000 / 100:05.2f},N,010{k % 6000 / 100:05.2f},E,"
                     f"95.0,{k % 360},{1 + t // 86400:02d}0526,,")  # fmt: skip
    return "\n".join(lines).encode()


def json_rows(rows: int) -> bytes:
    return track(rows).with_columns(pl.col("UTC time").dt.strftime("%Y-%m-%dT%H:%M:%SZ")).write_json().encode()


def bomb(write: str, rows: int, text: str = "") -> bytes:
    """Some hundred kilobytes that declare gigabytes: the same value again and again."""
    box = io.BytesIO()
    same = [text] if text else [0.0]
    column = pl.Series(same).new_from_index(0, rows)
    getattr(pl.DataFrame({"time": column, "latitude": column, "longitude": column}), write)(box, compression="zstd")
    return box.getvalue()


def zipped(raw: bytes) -> bytes:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("a.csv", raw)
    return box.getvalue()


def apart(days: list[str], rows: int = 60) -> bytes:
    lines = ["time,latitude,longitude,altitude"]
    for n, day in enumerate(days):
        for k in range(rows):
            lines.append(f"{day}T10:{k // 60:02d}:{k % 60:02d}Z,{50 + (n * rows + k) * 4e-4:.6f},10.0,500")
    return "\n".join(lines).encode()


def every(step_s: float, rows: int) -> bytes:
    return csv(rows, step_s)


def point_gpx(time: str, encoding: str = "UTF-8") -> bytes:
    body = "".join(f'<trkpt lat="50.{k:03d}" lon="10"><time>{time.format(k)}</time></trkpt>' for k in range(50))
    return f'<?xml version="1.0" encoding="{encoding}"?><gpx><trk><trkseg>{body}</trkseg></trk></gpx>'.encode()


def laughs() -> bytes:
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "ha" * 10}">' for n in range(10))
    return f'<?xml version="1.0"?><!DOCTYPE gpx [{entities}]><gpx><trk><name>&a9;</name></trk></gpx>'.encode()


def outside() -> bytes:
    return b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]><gpx><trk><name>&x;</name></trk></gpx>'


def cut(raw: bytes, share: float) -> bytes:
    return raw[: int(len(raw) * share)]


FILES: dict[str, tuple[tuple[str, Callable[[], bytes]], ...]] = {
    "the largest of each kind that is read": (
        ("a.csv", lambda: csv(740_000, 0.1, 12)), ("b.csv", lambda: csv(740_000, 1.0)), ("wide.csv", lambda: csv(150_000, 0.1, 90)),
        ("a.gpx", lambda: gpx(500_000)), ("a.igc", lambda: igc(740_000)), ("a.nmea", lambda: nmea(430_000)),
        ("a.json", lambda: json_rows(500_000)), ("a.parquet", lambda: frame_bytes("write_parquet")), ("a.arrow", lambda: frame_bytes("write_ipc", 600_000)),
        ("fast.csv", lambda: csv(740_000, 0.02, 8)),
    ),
    "larger than that": (
        ("many.csv", lambda: csv(1_500_000)), ("huge.csv", lambda: csv(2_800_000)), ("huge.gpx", lambda: gpx(700_000)),
        ("huge.igc", lambda: igc(1_100_000)), ("huge.nmea", lambda: nmea(800_000)), ("huge.json", lambda: json_rows(900_000)),
    ),
    "small files that declare gigabytes": (
        ("bomb.parquet", lambda: bomb("write_parquet", 300_000_000)), ("bomb.arrow", lambda: bomb("write_ipc", 60_000_000)),
        ("text.parquet", lambda: bomb("write_parquet", 30_000, "x" * 100_000)),
        ("bomb.csv.gz", lambda: gzip.compress(b"0" * 900_000_000, 1)), ("bomb.zip", lambda: zipped(b"1,2,3\n" * 100_000_000)),
        ("laughs.gpx", laughs), ("outside.gpx", outside),
    ),
    "a few fixes over a long time": (
        ("ten_years.csv", lambda: apart(["2016-05-01", "2026-05-01"])), ("seventy_years.csv", lambda: apart(["1956-05-01", "2026-05-01"])),
        ("hourly.csv", lambda: every(3600.0, 5000)), ("daily.csv", lambda: every(86_400.0, 900)),
        ("century.csv", lambda: apart([f"{y}-05-01" for y in range(1930, 2027)], 20)),
    ),
    "damaged and odd": (
        ("cut.arrow", lambda: cut(frame_bytes("write_ipc", 5000), 0.6)), ("cut.parquet", lambda: cut(frame_bytes("write_parquet", 5000), 0.6)),
        ("cut.csv.gz", lambda: cut(gzip.compress(csv(5000)), 0.6)), ("encoding.gpx", lambda: point_gpx("2026-05-01T10:00:{:02d}Z", "x-none")),
        ("year.gpx", lambda: point_gpx("-0999-05-01T10:00:{:02d}Z")), ("pole.csv", lambda: csv(3000).replace(b",50.", b",91.")),
        ("endless.csv", lambda: csv(100) + b"7" * 50_000_000), ("nuls.csv", lambda: csv(3000) + b"\0" * 5_000_000),
        ("columns.csv", lambda: b",".join(b"c%d" % k for k in range(100_000)) + b"\n" + b",".join([b"1"] * 100_000)),
        ("deep.json", lambda: b"[" * 1_000_000), ("deep.gpx", lambda: b"<gpx>" + b"<a>" * 1_000_000),
        ("noise.bin", lambda: np.random.default_rng(1).bytes(3_000_000)), ("empty.csv", lambda: b""),
    ),
}  # fmt: skip


def frame_bytes(write: str, rows: int = 740_000) -> bytes:
    box = io.BytesIO()
    getattr(track(rows, 0.1, 20), write)(box)
    return box.getvalue()


@dataclass(frozen=True)
class Ran:
    """What came of one file. ended : "debriefed", "one line", else what was wrong."""

    name: str
    ended: str
    mb: float
    cpu_s: float
    size_mb: float


def debriefed(path: Path) -> Ran:
    """The command on one file, memory and processor time of its process alone."""
    command = [sys.executable, "-m", "airwork", "debrief", str(path), "--no-learning"]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, "LC_ALL": "C.UTF-8"}
    ) as run:
        _, err = run.communicate(timeout=1800)
        _, code = run.pid, run.returncode
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    said = err.decode("utf-8", "replace")
    fault = "Traceback" in said or "a fault in airwork itself" in said
    ended = (
        "debriefed"
        if code == 0
        else "one line"
        if code == 2 and said.count("\n") == 1 and not fault
        else f"WRONG: {said[-200:]}"
    )
    return Ran(path.name, ended, after.ru_maxrss / 1024.0, cpu, path.stat().st_size / 1e6)


def files(only: str) -> list[tuple[str, str, str]]:
    """Rows of the table whose name has these words; every kind of file in a process of its own, so that the greatest memory is its own."""
    rows = []
    for what in (name for name in FILES if only in name):
        done = subprocess.run([sys.executable, __file__, "--group", what], capture_output=True, text=True, check=True)
        print(done.stdout, end="", flush=True)
        found = [line.split("\t") for line in done.stdout.splitlines()]
        read = sum(f[1] == "debriefed" for f in found)
        wrong = [f"{f[0]}: {f[1]}" for f in found if f[1] not in {"debriefed", "one line"}]
        over = [f[0] for f in found if float(f[2]) > MOST_MB or float(f[3]) > MOST_S]
        worst = f"at most {max(float(f[2]) for f in found):,.0f} MB and {max(float(f[3]) for f in found):.0f} s of processor"
        result = f"{read} debriefed, {len(found) - read - len(wrong)} refused in one line; {worst}"
        if wrong or over:
            result += f"; **not held: {', '.join(wrong + over)}**"
        rows.append((what, ", ".join(f[0] for f in found), result))
    return rows


def group(what: str) -> None:
    for name, make in FILES[what]:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / name
            # made in a child: what this process has used would count as the next one's
            if os.fork() == 0:
                path.write_bytes(make())
                os._exit(0)
            os.wait()
            out = subprocess.run(
                [sys.executable, __file__, "--one", str(path)], capture_output=True, text=True, check=True
            )
            print(out.stdout, end="", flush=True)


# ---- tests -----------------------------------------------------------------------------------------------------------

TESTS: tuple[tuple[str, str, str], ...] = (
    ("hostile, cut and random recordings", "tests/recording/test_hostile.py tests/recording/test_fuzzed.py", ""),
    ("a signed flight changed, removed, renewed, signed again, merged over", "tests/logbook/test_seal.py", "forged or signed or claimed or export"),
    ("the logbook edited behind the program's back; its history cut, edited, added to", "tests/logbook/test_seal.py", "behind or chain or tampered or seal_finds"),
    ("a program killed in the middle of a change, two that write at once", "tests/logbook/test_crash.py tests/logbook/test_store.py", ""),
    ("full, read-only and damaged media", "tests/cli/test_logbook.py tests/logbook/test_carrying.py tests/logbook/test_store.py", "full or read_only or damaged"),
    ("another's pages, marks, entries and signatures by address and form", "tests/web/test_access.py", ""),
    ("foreign origin, missing token, foreign host, raced and shared log-ins, sessions", "tests/web/test_guard.py", ""),
    ("a TLS proxy and who says what it forwards", "tests/web/test_proxy.py", ""),
    ("every address with made-up arguments, by its own description", "tests/web/test_openapi.py", ""),
    ("a signature replayed, a fork joined, a history cut off, a clock set back", "tests/logbook/test_attacks.py", "replayed or fork or cut_off or clock"),
    ("a correction, a key, a mark, a name, a recording of another hand; a backup that isn't whole", "tests/logbook/test_second_hand.py", ""),
    ("a key, a chain, a backup, a log, a trigger put in another's place; a key that has ended; hours merged twice", "tests/logbook/test_falsified.py", ""),
    ("names that read as another's: lookalike letters, marks nobody sees, turned round, very long", "tests/logbook/test_attacks.py", "name_that or names_of or identity or endorsements"),
    ("a folder of traps: holes, pipes, links; a zip of zips", "tests/logbook/test_attacks.py", "batch or zips"),
    ("two tabs, forms that ask for more, names taken over, moments between two steps", "tests/web/test_attacks.py", ""),
    ("cells a spreadsheet would run", "tests/logbook/test_carrying.py", "spreadsheet"),
    ("a logbook of each released version, of a newer one, of something else", "tests/logbook/test_store.py", "released or newer or older or something_else"),
    ("names of uploads and lessons", "tests/web/test_debriefs.py", "name or letters"),
    ("a worker or the command killed over recordings", "tests/jobs/test_many.py tests/web/test_queue.py", "dies or killed or worker or cluster"),
)  # fmt: skip


def tests(only: str) -> list[tuple[str, str, str]]:
    rows = []
    for what, where, which in (test for test in TESTS if only in test[0]):
        there = [p for p in where.split() if (ROOT / p).exists()]
        command = [
            sys.executable,
            "-m",
            "pytest",
            *there,
            "-n",
            "0",
            "-m",
            "not browser",
            *(["-k", which] if which else []),
        ]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
        last = done.stdout.strip().splitlines()[-1] if done.stdout.strip() else "nothing ran"
        counts = {word: int(n) for n, word in re.findall(r"(\d+) (passed|failed|error|skipped)", last)}
        print(f"{what}: {last}", flush=True)
        bad = counts.get("failed", 0) + counts.get("error", 0)
        said = f"{counts.get('passed', 0)} held" + (f", **{bad} not held**" if bad or not counts else "")
        said += f", {counts['skipped']} not tried here" if counts.get("skipped") else ""
        rows.append((what, " ".join(f"`{p}`" for p in there), said))
    return rows


def main() -> None:
    words = sys.argv[1:]
    if words[:1] == ["--one"]:
        ran = debriefed(Path(words[1]))
        print(ran.name, ran.ended, f"{ran.mb:.0f}", f"{ran.cpu_s:.1f}", f"{ran.size_mb:.1f}", sep="\t")
        return
    if words[:1] == ["--group"]:
        group(words[1])
        return
    only = words[words.index("--only") + 1] if "--only" in words else ""
    rows = [] if "--tests" in words else files(only)
    rows += [] if "--files" in words else tests(only)
    text = PAGE.read_text("utf-8")
    at, to = text.index(BEGIN) + len(BEGIN), text.index(END)
    new = {a: f"| {a} | {b} | {c} |" for a, b, c in rows}
    said = {line.split(" | ")[0].removeprefix("| "): line for line in text[at:to].strip().splitlines()[2:]} | new
    wanted = [*FILES, *(what for what, _, _ in TESTS)]
    lines = ["| attack | inputs tried | result |", "| --- | --- | --- |", *(said[w] for w in wanted if w in said)]
    if "--dry" not in words:
        PAGE.write_text(text[:at] + "\n" + "\n".join(lines) + "\n" + text[to:], "utf-8")
    print("\n".join(new.values()))
    sys.exit("not held" in "\n".join(new.values()))


if __name__ == "__main__":
    main()
