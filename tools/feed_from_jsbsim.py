"""Flies JSBSim and sends ten lines a second by UDP, for `airwork follow LESSON --udp 49002`.

    python tools/feed_from_jsbsim.py --port 49002 --seconds 600

A c172p over the demo's field, flown by a small autopilot: steep turns to each side with level flight between. A
simulator of your own needs no more than `line` and `sendto`.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import socket
import time
from collections.abc import Iterator

import jsbsim

COLUMNS = {  # name sent -> JSBSim property
    "latitude_deg": "position/lat-geod-deg", "longitude_deg": "position/long-gc-deg",
    "indicated_altitude_ft": "position/h-sl-ft", "ias_kt": "velocities/vc-kts", "tas_kt": "velocities/vtrue-kts",
    "true_heading_deg": "attitude/psi-deg", "bank_deg": "attitude/phi-deg", "pitch_deg": "attitude/theta-deg",
    "rpm": "propulsion/engine/engine-rpm",
}  # fmt: skip
STEP_S = 0.1


def started(latitude_deg: float, longitude_deg: float, altitude_ft: float) -> jsbsim.FGFDMExec:
    """The airplane in level flight at 95 kt."""
    fdm = jsbsim.FGFDMExec(None)
    fdm.set_debug_level(0)
    fdm.load_model("c172p")
    for name, value in {
        "ic/lat-geod-deg": latitude_deg, "ic/long-gc-deg": longitude_deg, "ic/h-sl-ft": altitude_ft,
        "ic/vc-kts": 95.0, "ic/psi-true-deg": 260.0, "fcs/throttle-cmd-norm": 0.75, "fcs/mixture-cmd-norm": 0.9,
    }.items():  # fmt: skip
        fdm[name] = value
    fdm.run_ic()
    fdm["propulsion/set-running"] = -1
    return fdm


class Pilot:
    """Holds altitude, bank and airspeed by a few gains and their integrals; rolls out on the heading rolled in on."""

    def __init__(self, altitude_ft: float, speed_kt: float = 100.0) -> None:
        self.altitude_ft, self.speed_kt = altitude_ft, speed_kt
        self.bank_sum, self.pitch_sum, self.throttle = 0.0, 0.0, 0.75

    def steer(self, fdm: jsbsim.FGFDMExec, bank_deg: float) -> None:
        """One step of the flight dynamics."""
        step = fdm.get_delta_t()
        bank, rate = fdm["attitude/phi-rad"], fdm["velocities/p-rad_sec"]
        off = max(-0.5, min(0.5, math.radians(bank_deg) - bank))
        self.bank_sum += 0.15 * off * step
        fdm["fcs/aileron-cmd-norm"] = max(-0.7, min(0.7, 0.8 * off - 0.4 * rate + self.bank_sum))
        climb = max(-10.0, min(10.0, 0.1 * (self.altitude_ft - fdm["position/h-sl-ft"])))
        error = climb - fdm["velocities/h-dot-fps"]
        self.pitch_sum += -0.004 * error * step
        pull = 0.25 * (1.0 / max(math.cos(bank), 0.3) - 1.0)
        pitch = -0.012 * error + 0.6 * fdm["velocities/q-rad_sec"] + self.pitch_sum - pull
        fdm["fcs/elevator-cmd-norm"] = max(-0.9, min(0.5, pitch))
        slow = self.speed_kt - fdm["velocities/vc-kts"]
        self.throttle = max(0.0, min(1.0, self.throttle + 0.01 * slow * step))
        fdm["fcs/throttle-cmd-norm"] = max(0.0, min(1.0, self.throttle + 0.05 * slow))


# Level, a steep turn each way, level again: (how long [s] or how far round [deg], bank [deg]); over and over.
LESSON = ((60.0, 0.0), (340.0, -45.0), (30.0, 0.0), (340.0, 45.0), (60.0, 0.0))


def fly(latitude_deg: float, longitude_deg: float, altitude_ft: float) -> Iterator[tuple[float, jsbsim.FGFDMExec]]:
    """(seconds from the start, the airplane then), ten a second of the airplane's own time, without end."""
    fdm, pilot, sent = started(latitude_deg, longitude_deg, altitude_ft), Pilot(altitude_ft), 0.0
    for much, bank_deg in itertools.cycle(LESSON):
        gone = 0.0
        while gone < much:
            while fdm.get_sim_time() < sent:
                pilot.steer(fdm, bank_deg)
                fdm.run()
            yield sent, fdm
            sent += STEP_S
            gone += STEP_S * (abs(math.degrees(fdm["velocities/psidot-rad_sec"])) if bank_deg else 1.0)


def line(fdm: jsbsim.FGFDMExec, utc_s: float) -> bytes:
    """One moment as JSON. utc_s : its date, seconds since 1970."""
    values = {name: round(float(fdm[found]), 6) for name, found in COLUMNS.items()}
    north, east = fdm["velocities/v-north-fps"], fdm["velocities/v-east-fps"]
    values |= {
        "groundspeed_ft/s": round(math.hypot(north, east), 2),
        "track_deg": math.degrees(math.atan2(east, north)) % 360,
    }
    return json.dumps({"time": utc_s, **values}).encode()


def main() -> None:
    """Fly and send in real time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=49002)
    parser.add_argument("--seconds", type=float, default=3600.0)
    parser.add_argument("--at", default="41.35,-101.76,6500", help="latitude, longitude, altitude in feet")
    options = parser.parse_args()
    latitude, longitude, altitude = map(float, options.at.split(","))
    out, began = socket.socket(socket.AF_INET, socket.SOCK_DGRAM), time.monotonic()
    for sent, fdm in fly(latitude, longitude, altitude):
        if sent > options.seconds:
            break
        out.sendto(line(fdm, time.time()), (options.host, options.port))
        time.sleep(max(0.0, began + sent - time.monotonic()))


if __name__ == "__main__":
    main()
