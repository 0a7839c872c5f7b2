"""Flies JSBSim and sends ten lines a second by UDP, for `airwork follow LESSON --udp 49002`.

    python tools/feed_from_jsbsim.py --port 49002 --seconds 600

A c172p in level flight over the demo's field, turning left and right by a small autopilot: enough to see the card
move. A simulator of your own needs no more than `line` and `sendto`.
"""

from __future__ import annotations

import argparse
import json
import math
import socket
import time

import jsbsim

COLUMNS = {  # name sent -> JSBSim property
    "latitude_deg": "position/lat-geod-deg", "longitude_deg": "position/long-gc-deg",
    "indicated_altitude_ft": "position/h-sl-ft", "ias_kt": "velocities/vc-kts", "tas_kt": "velocities/vtrue-kts",
    "true_heading_deg": "attitude/psi-deg", "bank_deg": "attitude/phi-deg", "pitch_deg": "attitude/theta-deg",
    "rpm": "propulsion/engine/engine-rpm",
}  # fmt: skip
STEP_S, BANK_DEG, TURN_S = 0.1, 30.0, 60.0


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


def steer(fdm: jsbsim.FGFDMExec, seconds: float, altitude_ft: float) -> None:
    """A turn to each side in turn, height held by pitch."""
    wanted = math.radians(BANK_DEG) * (1 if int(seconds / TURN_S) % 2 else -1)
    bank, rate = fdm["attitude/phi-rad"], fdm["velocities/p-rad_sec"]
    fdm["fcs/aileron-cmd-norm"] = max(-0.6, min(0.6, 0.8 * (wanted - bank) - 0.4 * rate))
    climb = max(-8.0, min(8.0, 0.05 * (altitude_ft - fdm["position/h-sl-ft"])))
    error = climb - fdm["velocities/h-dot-fps"]
    fdm["fcs/elevator-cmd-norm"] = max(-0.5, min(0.5, -0.012 * error + 0.6 * fdm["velocities/q-rad_sec"] - 0.05))


def line(fdm: jsbsim.FGFDMExec) -> bytes:
    """One moment as JSON, dated by this machine's clock."""
    values = {name: round(float(fdm[found]), 6) for name, found in COLUMNS.items()}
    north, east = fdm["velocities/v-north-fps"], fdm["velocities/v-east-fps"]
    values |= {
        "groundspeed_ft/s": round(math.hypot(north, east), 2),
        "track_deg": math.degrees(math.atan2(east, north)) % 360,
    }
    return json.dumps({"time": time.time(), **values}).encode()


def main() -> None:
    """Fly and send in real time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=49002)
    parser.add_argument("--seconds", type=float, default=3600.0)
    parser.add_argument("--at", default="41.35,-101.76,6500", help="latitude, longitude, altitude in feet")
    options = parser.parse_args()
    latitude, longitude, altitude = map(float, options.at.split(","))
    fdm, began = started(latitude, longitude, altitude), time.monotonic()
    out = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    sent = 0.0
    while sent < options.seconds:
        while fdm.get_sim_time() < sent:
            steer(fdm, sent, altitude)
            fdm.run()
        out.sendto(line(fdm), (options.host, options.port))
        sent += STEP_S
        time.sleep(max(0.0, began + sent - time.monotonic()))


if __name__ == "__main__":
    main()
