"""Measures `airwork follow`: python bench/follow.py fuzz|kills|page|soak|seen|calls [...]

fuzz [lines]        random, torn, mixed lines: no exception, recording whole (100,000 if not given)
kills [times]       killed with SIGKILL at random moments: every recording readable, what was lost (200)
page [seconds]      10 Hz over UDP to a listener of the page's stream: delay, share of a core (60)
soak [hours]        flight hours as fast as they are taken: memory at each hour, CPU per flight second (4)
seen FILE...        recordings replayed: maneuvers seen as they happen against the debrief of the same file, delays
calls [FILE]        everything said in a whole lesson (the demo's)
"""

from __future__ import annotations

import json
import math
import random
import resource
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections import defaultdict
from pathlib import Path

import numpy as np

import airwork
from airwork.live.follower import Follower
from airwork.live.now import live_plan
from airwork.live.page import serve
from airwork.live.reading import Sample
from airwork.live.running import Running
from airwork.live.seeing import Seeing
from airwork.live.sources import Replay, Udp, samples_of
from airwork.maneuvers import room

DEMO = airwork.demo_folder() / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz"


def fuzz(count: int) -> None:
    """Lines of all kinds, spoilt, through the whole follower."""
    rng, plan = random.Random(20260), live_plan("demo")
    with tempfile.TemporaryDirectory() as folder:
        follower = Follower(plan, Path(folder) / "fuzz.csv", time.time())
        follower.recorder.sync_s = 1e9
        running = Running(follower)
        good = [line_of(k) for k in range(2000)]
        other = [b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", b"time,ias_kt,altitude_ft",
                 b"7.5,96,6480", b'{"ias_kt": 1e999, "time": "no"}', b'{"a":' * 500, b"\xff\x00" * 99]  # fmt: skip
        began, raised, sent = time.process_time(), 0, 0
        for k in range(count):
            line = bytearray(rng.choice(good) if rng.random() < 0.5 else rng.choice(other))
            for _ in range(rng.randrange(5)):
                if line:
                    at = rng.randrange(len(line))
                    line[at : at + rng.randrange(3)] = bytes([rng.randrange(256)]) * rng.randrange(3)
            try:
                running._one((rng.choice(("udp 1", "serial")), bytes(line), 0.01 * k))
                if k % 100 == 0:
                    sent += 1
                    running._one(("whole", good[sent % len(good)], 0.01 * k))
                    follower.tick(0.01 * k)
            except Exception as problem:
                raised += 1
                print(repr(problem), bytes(line)[:120])
        follower.close()
        flight = airwork.read_flight(follower.recording)
        bad = sum(running.bad_lines().values())
        absurd = follower.watch.counts["absurd"]
        print(f"{count:,} lines: {raised} exceptions, {bad:,} counted as bad, {absurd:,} values not believed, "
              f" {follower.recorder.rows:,} rows recorded, {len(flight):,} read back; "
              f"{1e6 * (time.process_time() - began) / count:.0f} µs a line")  # fmt: skip


def line_of(k: int) -> bytes:
    """A good line, ten a second, around the demo's field."""
    t = 0.1 * k
    return json.dumps({
        "time": 1.75e9 + t, "latitude": 42.73 + 1e-5 * k, "longitude": -73.81,
        "indicated_altitude_ft": 6500 + 50 * math.sin(t / 20),
        "ias_kt": 95 + 5 * math.sin(t / 9), "tas_kt": 105.0, "bank_deg": 20 * math.sin(t / 15), "groundspeed_kt": 100.0,
        "track_deg": 10.0, "magnetic_heading_deg": 24.0, "rpm": 2400.0, "fuel_left_gal": 15.0, "fuel_right_gal": 15.0,
        "tank": 1, "oat_c": 5.0, "pitch_deg": 3.0, "vertical_speed_fpm": 0.0, "stall_warning": 0,
    }).encode()  # fmt: skip


def kills(times: int) -> None:
    """The whole command, killed; what was sent and what can be read."""
    rng, lost, unreadable = random.Random(7), [], 0
    sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))
    from live.test_recorder import WRITER

    with tempfile.TemporaryDirectory() as folder:
        for trial in range(times):
            path = Path(folder) / f"{trial}.csv"
            writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
            writer.stdout.readline()
            began = time.monotonic()
            time.sleep(rng.uniform(0.2, 2.5))
            writer.send_signal(signal.SIGKILL)
            ran_s = time.monotonic() - began
            told = [int(line) for line in writer.communicate()[0].split()]
            try:
                rows = len(airwork.read_flight(path))
            except airwork.errors.AirworkError as problem:  # type: ignore[attr-defined]
                unreadable += 1
                print(trial, problem)
                continue
            lost.append(max(told[-1] + 1 - rows, 0) / max(told[-1] / max(ran_s, 1e-3), 1.0))
    print(f"{times} kills: {unreadable} unreadable; lost at most {max(lost):.2f} s, median {np.median(lost):.2f} s")


def page(seconds: float) -> None:
    """Datagrams at 10 Hz; a listener notes when each reaches the stream. Delay from sending to the listener."""
    with tempfile.TemporaryDirectory() as folder:
        follower = Follower(live_plan("demo"), Path(folder) / "page.csv", time.time())
        running = Running(follower)
        source = Udp(0, running.deliver, "127.0.0.1")
        address = serve(running, "127.0.0.1", 0)
        source.start()
        loop = threading.Thread(target=running.run)
        loop.start()
        delays: list[float] = []

        def listen() -> None:
            name = ""
            with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(f"{address}events") as stream:
                for raw in stream:
                    line = raw.decode()
                    name = line[7:].strip() if line.startswith("event: ") else name
                    if line.startswith("data: ") and name == "dials":
                        data = json.loads(line[6:])
                        if data.get("sent") and (not delays or data["sent"] != delays[-1][1]):
                            delays.append((time.time() - data["sent"], data["sent"]))
                    if name == "over":
                        return

        listener = threading.Thread(target=listen, daemon=True)
        listener.start()
        time.sleep(1.0)
        out = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        cpu, began = time.process_time(), time.monotonic()
        for k in range(int(10 * seconds)):
            data = json.loads(line_of(k)) | {"time": time.time()}
            out.sendto(json.dumps(data).encode(), ("127.0.0.1", source.port))
            time.sleep(max(0.0, began + 0.1 * (k + 1) - time.monotonic()))
        cpu, took = time.process_time() - cpu, time.monotonic() - began
        source.stop()
        running.end()
        loop.join()
        out.close()
        late = np.array([d for d, _ in delays]) * 1e3
        print(f"{len(late)} datagrams at 10 Hz, sender, follower, server and listener in one process: to the listener "
              f"{np.percentile(late, 50):.0f} ms (median), {np.percentile(late, 95):.0f} ms (95th percentile), "
              f"{late.max():.0f} ms (worst); {100 * cpu / took:.1f} % of a core")  # fmt: skip


def soak(hours: float) -> None:
    """Flight hours in samples at 10 Hz, as fast as they are taken."""
    with tempfile.TemporaryDirectory() as folder:
        follower = Follower(live_plan("demo"), Path(folder) / "soak.csv", time.time())
        follower.recorder.sync_s = 1e9
        running = Running(follower, stepped=True)
        flight = airwork.read_flight(DEMO)
        once = [(at, s.values) for at, s in samples_of(flight, "demo")]
        long, rows = once[-1][0], len(once)
        cpu = time.process_time()
        for k in range(int(hours * 36_000)):
            at = 0.1 * k
            source = once[int((at % long) / long * (rows - 1))][1]
            running._one(Sample("sim", at, 1.75e9 + at, source))
            running._clockwork()
            if k % 18_000 == 17_999:
                used = int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 1e6
                print(
                    f"{at / 3600:4.1f} h  {used:6.0f} MB  {100 * (time.process_time() - cpu) / at:4.1f} % of a core",
                    flush=True,
                )
        follower.close()


def seen(files: list[Path]) -> None:
    """Seen as it happens against the debrief of the file: same kind, end within 5 s; and how long after the end."""
    standard, delays, total, same, more = airwork.load_standard("private"), defaultdict(list), 0, 0, 0
    for path in files:
        flight = airwork.read_flight(path)
        zero, found = flight.start_utc_s, [g.episode for g in airwork.debrief_flight(flight).episodes]
        wanted = [(e.kind, zero + e.start_s, zero + e.end_s) for e in found if room(e.kind).grade is not None]
        eyes, looked = Seeing(standard), 0.0
        for at, sample in samples_of(flight, "file"):
            eyes.take(sample.time_s, sample.values)
            if at - looked >= 5.0:
                eyes.look()
                looked = at
        eyes.look(over=True)
        for kind, _, end in wanted:
            near = [s for s in eyes.ended if s.kind == kind and abs(s.end_s - end) <= 5.0]
            same += bool(near)
            if near:
                delays[kind].append(near[0].known_s - near[0].end_s)
            else:
                print(f"  {path.name}: {kind} ending at {end - flight.start_utc_s:.0f} s was not seen so")
        more += sum(
            not any(k == s.kind and min(e, s.end_s) > max(b, s.start_s) for k, b, e in wanted) for s in eyes.ended
        )
        total += len(wanted)
    print(f"{len(files)} recordings, {total} maneuvers: {same} ({100 * same / total:.1f} %) the same, ends within 5 s; "
          f"{more} more seen that the debrief has not")  # fmt: skip
    for kind, late in sorted(delays.items()):
        print(f"  {room(kind).title:<26}{np.median(late):5.0f} s (median), {max(late):5.0f} s (most), {len(late)}")


def calls(path: Path) -> None:
    """Everything said in a whole lesson."""
    with tempfile.TemporaryDirectory() as folder:
        follower = Follower(live_plan("demo"), Path(folder) / "calls.csv", time.time())
        follower.recorder.sync_s = 1e9
        running = Running(follower, stepped=True)
        replay = Replay(path, 0.0, running.sample, running.end)
        replay.start()
        running.run()
        said = follower.calls.said
        for call in said:
            print(f"{int(call.at_s // 60):3d}:{int(call.at_s % 60):02d}  {call.key:<8} {call.text}")
        print(f"{len(said)} calls in {replay.flight.time_s[-1] / 60:.0f} minutes")


def main() -> None:
    """One of the measurements."""
    what, *rest = sys.argv[1:] or ["help"]
    number = float(rest[0]) if rest and what not in {"seen", "calls"} else None
    if what == "fuzz":
        fuzz(int(number or 100_000))
    elif what == "kills":
        kills(int(number or 200))
    elif what == "page":
        page(number or 60.0)
    elif what == "soak":
        soak(number or 4.0)
    elif what == "seen":
        seen([Path(p) for p in rest])
    elif what == "calls":
        calls(Path(rest[0]) if rest else DEMO)
    else:
        print(__doc__)


if __name__ == "__main__":
    main()
