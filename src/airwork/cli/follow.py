"""Follow a flight as it is flown: the card that keeps time, calls, a recording; at the end the debrief.

Lines come by UDP, TCP, a serial port, from a recording replayed, or from a phone's own position on the page; several at
once where there are several: NMEA 0183, JSON objects, or CSV under a line of names (docs/follow.md).

  airwork follow lesson.toml --udp 49002
  airwork follow lesson.toml --serial /dev/ttyUSB0 --night
  airwork follow demo --file flight.csv --speed 8 --no-page
  airwork follow lesson.toml --tcp 192.168.1.20:10110 --into flight.csv --student "Ann Example"

LESSON is a lesson file, or "demo". Ctrl+C ends it; what was received stands in the recording, whatever happens.
A training aid: not for navigation, no primary instrument.
"""

from __future__ import annotations

import argparse
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import CAUTION, DONE
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.lesson.plan import Planned
    from airwork.live.running import Running
    from airwork.live.sources import Source

PAGE_PORT = 8643


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("lesson", metavar="LESSON", help='lesson file, or "demo"')
    add("--udp", metavar="PORT", type=int, action="append", default=[], help="lines in datagrams to this port")
    add("--tcp", metavar="HOST:PORT", action="append", default=[], help="lines from a server")
    add("--serial", metavar="DEVICE", action="append", default=[], help="lines from a serial port")
    add("--baud", type=int, default=4800, help="of the serial port; 4800 if not given, as NMEA 0183 has it")
    add("--file", metavar="RECORDING", type=Path, help="replay a recording")
    add("--speed", type=float, default=1.0, help="of the replay: 8 is eight times as fast; 0 as fast as can be")
    add("--into", metavar="OUT.csv", type=Path, help="the recording to write; named by the time if not given")
    add("--airplane", metavar="AIRPLANE", help="in place of the one the lesson names")
    add("--silence", metavar="CALL", action="append", default=[], help="a call not to be made: graded, next, glide …")
    add("--night", action="store_true", help="red on black")
    add("--no-page", action="store_true", help="terminal only, no page")
    add("--host", default="127.0.0.1", help="address of the page; 0.0.0.0 lets a tablet open it")
    add("--port", type=int, default=PAGE_PORT, help=f"port of the page; {PAGE_PORT} if not given, 0 for any")
    add("--student", metavar="NAME", help="enter the flight in the logbook at the end")
    add("--instructor", metavar="NAME", help="who gave the training")
    add("--registration", metavar="MARK", help="the airplane's, as entered in the logbook")
    add("--data", metavar="PATH|URL", help="the logbook (else AIRWORK_DATA, else yours)")


def run(args: argparse.Namespace) -> int:
    """Follow to the end, then debrief."""
    from airwork.live.follower import Follower
    from airwork.live.now import live_plan
    from airwork.live.running import Running

    plan = live_plan(args.lesson, airplane=args.airplane)
    path = args.into or Path(time.strftime("flight-%Y%m%d-%H%M%S.csv", time.gmtime()))
    if path.exists():
        raise InputError("is there already; name another file.", where=str(path))
    follower = Follower(plan, path, time.time())
    _silence(args.silence, follower.calls.silenced)
    stepped = args.file is not None and args.speed <= 0.0
    if stepped:
        follower.recorder.sync_s = 60.0
    running = Running(follower, speed=args.speed if args.file is not None and not stepped else 1.0, stepped=stepped)
    sources = _sources(args, running)
    if not args.no_page:
        from airwork.live.page import serve

        print(f"the page: {serve(running, args.host, args.port, night=args.night)}", file=sys.stderr)
    elif not sources:
        raise InputError("nothing to follow: give --udp, --tcp, --serial or --file.", where="follow")
    drawing = threading.Thread(target=_draw, args=(running, args.night), daemon=True)
    for source in sources:
        source.start()
    drawing.start()
    try:
        running.run()
    except KeyboardInterrupt:
        pass
    finally:
        for source in sources:
            source.stop()
    drawing.join(timeout=2.0)
    return _end(args, plan, running, path)


def _silence(given: list[str], silenced: set[str]) -> None:
    from airwork.live.calls import CALLS

    for key in given:
        if key not in CALLS:
            raise InputError(f"no call {key!r}; there are: {', '.join(CALLS)}.", where="--silence")
        silenced.add(key)


def _sources(args: argparse.Namespace, running: Running) -> list[Source]:
    from airwork.live.sources import Replay, Serial, Tcp, Udp

    sources: list[Source] = [Udp(port, running.deliver) for port in args.udp]
    for address in args.tcp:
        host, mark, port = address.rpartition(":")
        if not mark or not port.isdecimal():
            raise InputError(f"{address!r}: write HOST:PORT.", where="--tcp")
        sources.append(Tcp(host.strip("[]"), int(port), running.deliver))
    sources += [Serial(device, args.baud, running.deliver) for device in args.serial]
    if args.file is not None:
        sources.append(Replay(args.file, args.speed, running.sample, running.end))
    return sources


def _draw(running: Running, night: bool) -> None:
    """The screen once a second at a terminal; elsewhere only what is said, a line each."""
    from airwork.live.terminal import redrawn, screen_text

    told, seen, terminal = 0, -1, sys.stdout.isatty()
    while not running.finished:
        with running.changed:
            running.changed.wait(timeout=1.0)
        screen = running.screen
        if screen is None or running.ticks == seen:
            continue
        seen = running.ticks
        if terminal:
            sys.stdout.write(redrawn(screen_text(screen, night=night), night=night))
        said = running.follower.calls.said
        for call in said[told:] if not terminal else ():
            print(f"{time.strftime('%H:%M:%S', time.gmtime(running.follower.clocks.now_s(call.at_s)))}  {call.text}")
        told = len(said)
        sys.stdout.flush()


def _end(args: argparse.Namespace, plan: Planned, running: Running, path: Path) -> int:
    """The debrief of what was recorded, and the logbook where it is asked for."""
    from airwork.jobs.debriefing import debrief_flight
    from airwork.output.debrief_doc import make_debrief_doc
    from airwork.output.debrief_text import debrief_text

    follower = running.follower
    if not path.exists():
        raise InputError("nothing was received; nothing was recorded.", where="follow")
    print(f"\nrecorded: {path}, {follower.recorder.rows:,} rows" + _lost(running))
    found = debrief_flight(path, airplane=plan.airplane, lesson=plan.briefing)
    print(f"\n{debrief_text(make_debrief_doc(found, zone=plan.lesson.zone))}\n\n{CAUTION}")
    if args.student:
        from airwork.jobs.entering import enter_flight

        role = "solo" if plan.lesson.student.solo else None
        who = {"student": args.student, "instructor": args.instructor, "airplane": args.registration, "role": role}
        done = enter_flight(found, who, logbook=args.data, recording=path)
        print(f"logbook:  flight {done.flight_id[:8]} {'entered' if done.changed else 'is there already'}")
    return DONE


def _lost(running: Running) -> str:
    """What could not be used, by source."""
    parts = [f"{count:,} lines of {name} not read" for name, count in running.bad_lines().items()]
    if running.dropped:
        parts.append(f"{running.dropped:,} lines let go in a flood")
    if late := running.follower.recorder.late + running.follower.late:
        parts.append(f"{late:,} doubled or late samples left out")
    return f" ({'; '.join(parts)})" if parts else ""
