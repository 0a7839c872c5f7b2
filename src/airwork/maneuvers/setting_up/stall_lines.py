"""What the three stalls share: lines of their set-ups, the height a recovery costs, the flown stall. SI.

No standard limits the height lost, and none may be set beforehand; the bracket is for choosing the entry altitude.
"""

from __future__ import annotations

import math

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane import Airplane
from airwork.errors import NotPossible
from airwork.maneuvers.paths.flown_ideal import ROLL_RADPS, STEP_S, FlownIdeal, Force, Thrust
from airwork.maneuvers.setting_up.heights import FT, STALL_FLOOR_M, Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Conditions, Order, SetUp, Trace

FLOOR_WHY = "recovered not below 1,500 ft above ground, [AFH] ch. 5"
ABOVE_FLOOR_M = 300.0  # about 1,000 ft above the floor: room for a slow recovery
HEIGHTS = Heights(ABOVE_FLOOR_M, STALL_FLOOR_M, FLOOR_WHY)
GAIN_MPS2, SHALLOW_RAD, LOW_RAD = 0.2, 0.01, -0.06  # of a climb away; common practice, no source
SAFE_SHARE = 1.2  # recovery's end, over the stall: climbing away from there is safe
TURNING_RAD = math.radians(20.0)  # turning entries up to 20° of bank (ACS)

# A prompt recovery and a slow one: nose below the horizon, time to full power, load of the pull-out. Our own choice.
PROMPT = (math.radians(8.0), 1.0, 1.35)
SLOW = (math.radians(22.0), 3.5, 1.25)


def losses_m(ws: Worksheet, notch: int, *recoveries: tuple[float, float, float]) -> list[float]:
    """Height lost by each recovery: nose below the horizon, time to full power, load of the pull-out. [m]"""
    c = ws.conditions
    idle = Thrust(ws.performance, c, ws.entry_m - 300.0, ws.entry_m, notch, idle=True)
    full = Thrust(ws.performance, c, ws.entry_m - 300.0, ws.entry_m, notch)
    return [_loss_m(ws, notch, idle, full, *how) for how in recoveries]


def _loss_m(ws: Worksheet, notch: int, idle: Force, full: Force, nose_rad: float, power_s: float, load: float) -> float:
    """Height from the stall to level flight at 1.2 times the stall, by the point-mass equations. [m]

    The path goes down to `nose_rad` within a second and a half, power comes at `power_s`, the pull-out is at `load`.
    """
    speed = ws.tas_mps(ws.stall_cas_mps(notch))
    enough, path, lost, time = SAFE_SHARE * speed, 0.0, 0.0, 0.0
    pulling = False
    while time < 60.0:
        altitude = ws.entry_m - lost
        share = min(max((time - power_s) / 1.0, 0.0), 1.0)
        n = load if pulling else 0.6 if path > -nose_rad + 0.01 else math.cos(path)
        force = idle(speed, n, altitude) * (1.0 - share) + full(speed, n, altitude) * share
        speed += STEP_S * (force / ws.conditions.mass_kg - G0_MPS2 * math.sin(path))
        if pulling:
            path += STEP_S * G0_MPS2 * (load - math.cos(path)) / speed
        else:
            path = max(-nose_rad, path - nose_rad * STEP_S / 1.5)
            pulling = speed >= enough
        lost -= STEP_S * speed * math.sin(path)
        time += STEP_S
        if pulling and path >= 0.0:
            return lost
    return lost


def note_loss(ws: Worksheet, notch: int) -> None:
    """Add the bracket of height lost in the recovery."""
    if ws.performance is None:
        return
    low, high = (math.ceil(lost / FT / 50.0) * 50.0 for lost in losses_m(ws, notch, PROMPT, SLOW))
    ws.note("height lost, expect", low, "ft", "fitted model", "prompt: unloaded at the break, power within 1 s",
            also=f"to {high:,.0f} ft when slow: nose 20° low, power after 3 s; not a standard")  # fmt: skip


def check_permission(ws: Worksheet) -> None:
    """Stalls as the handbook permits them."""
    ws.permitted("stalls")


def entry_ias(ws: Worksheet, notch: int, share: float, name: str) -> float:
    """A named approach or lift-off speed of the handbook for today's weight, else a share of the stall. [m/s IAS]"""
    cas = ws.book_cas(name)
    found = share * ws.stall_cas_mps(notch) if cas is None else cas
    return ws.on_dial(ws.ias(found, notch), "up")


def stall_words(ws: Worksheet) -> tuple[str, str]:
    """("full" or "impending", how to say it in a step)."""
    kind = ws.word("stall", "full", ("full", "impending"))
    said = (
        "at the first buffet or warning" if kind == "impending" else "at the full stall: nose drop, buffet or full stop"
    )
    return kind, said


RECOVERY = (
    "Recover at once: nose down to unload the wing, then wings level with aileron and rudder together",
    "Full power, carburetor heat cold; ball centered; let it accelerate before raising the nose",
    "Flaps up in steps with a positive climb; climb at best angle or best rate; level at the altitude",
)


def fly_stall(flown: FlownIdeal, entry_force: Force, full: Force, *, bank_rad: float = 0.0, rise_rad: float) -> None:
    """From a steady entry: speed bled off to the stall, unloaded, accelerated with power, back to level flight.

    entry_force : thrust less drag in the entry (idle, or climb power). rise_rad : path at which the speed is bled off.
    """
    stall = float(flown.airplane.stall_cas_mps(flown.mass_kg, flown.notch, 1.0 / math.cos(bank_rad)))
    start = flown.time
    while flown.cas > 1.01 * stall:
        if flown.time - start > 90.0:
            raise NotPossible("the airplane does not slow to the stall like this: reduce power or raise the nose.")
        path = flown.path + min(max(rise_rad - flown.path, -0.004), 0.004)
        bank = flown.bank + min(max(bank_rad - flown.bank, -0.017), 0.017)
        flown.step(bank, path, entry_force)
    held = flown.bank
    for _ in range(10):  # the break: unloaded first
        flown.step(held, _unload(flown), entry_force)
    count = max(15, round(abs(held) / (2.0 * ROLL_RADPS * STEP_S)))
    for k in range(1, count + 1):  # then the wings level, as the power comes
        flown.step(held * (1.0 - k / count), _unload(flown), full)
    safe = SAFE_SHARE * float(flown.airplane.stall_cas_mps(flown.mass_kg, flown.notch))
    while flown.cas < safe:
        flown.step(0.0, _unload(flown), full)
    while flown.path < 0.0:
        flown.step(0.0, min(flown.path + STEP_S * G0_MPS2 * 0.3 / flown.tas, 0.0), full)


def _unload(flown: FlownIdeal) -> float:
    """The next path of a push at half the load, down to the nose-low path of a prompt recovery. [rad]"""
    return max(flown.path - 0.5 * G0_MPS2 * STEP_S / flown.tas, min(flown.path, -PROMPT[0]))


def begin_ias(airplane: Airplane, conditions: Conditions, ias_mps: float) -> float:
    """Speed to come from: 1.7 times the clean stall, below the first flap's limit, not below the entry's. [m/s IAS]"""
    fast = float(airplane.ias_from_cas_mps(1.7 * float(airplane.stall_cas_mps(conditions.mass_kg))))
    limits = [f.max_ias_mps for f in airplane.flap_notches if f.notch == 1 and f.max_ias_mps is not None]
    return max(min([fast, *limits]), ias_mps)


def slowed_down(set_up: SetUp, order: Order) -> FlownIdeal:
    """From the entry speed level to the speed of the stall's entry, flaps set on the way."""
    ias, notch = set_up.targets["ias_mps"], int(set_up.targets.get("flap_notch", 0.0))
    flown = FlownIdeal(order, set_up.entry_altitude_m, begin_ias(order.airplane, order.conditions, ias))
    flown.hold(5.0)
    flown.change_speed(max(ias, float(flown.airplane.ias_from_cas_mps(max(0.75 * flown.cas, 1.0)))))
    flown.set_flap(notch, ias)
    return flown


def stalled(set_up: SetUp, order: Order, flown: FlownIdeal, entry_force: Force, *, rise_deg: float) -> Trace:
    """The stall as `fly_stall`, and back to the altitude at the climb speed, else that of the entry."""
    t = set_up.targets
    bank, rise = order.side * t["bank_rad"], math.radians(rise_deg)
    fly_stall(flown, entry_force, flown.thrust(), bank_rad=bank, rise_rad=rise)
    climb_back(flown, set_up.entry_altitude_m, t.get("climb_ias_mps", t["ias_mps"]))
    return flown.trace()


def climb_back(flown: FlownIdeal, altitude_m: float, ias_mps: float) -> None:
    """Accelerated in a shallow climb, or nose low where the power doesn't do it, flaps up once it flies without them;
    then at the climb speed back to the altitude and level.
    """
    airplane, mass = flown.airplane, flown.mass_kg
    goal, clean = float(airplane.cas_from_ias_mps(ias_mps)), SAFE_SHARE * float(airplane.stall_cas_mps(mass))
    full, begun = flown.thrust(), flown.time
    while flown.cas < max(goal, clean) and flown.time < begun + 60.0 and flown.altitude < altitude_m:
        if flown.notch and flown.cas > clean:
            flown.notch = 0
            full = flown.thrust()
        gains = full(flown.tas, 1.0, flown.altitude) > GAIN_MPS2 * mass
        flown.step(0.0, flown.path + ((SHALLOW_RAD if gains else LOW_RAD) - flown.path) * 0.1, full)
    if flown.notch:
        flown.notch = 0
        full = flown.thrust()
    until = flown.time + 240.0
    flown.climb(full, lambda f: f.altitude > altitude_m - 6.0 * f.tas * math.sin(max(f.path, 0.0)) or f.time > until)
    if flown.time <= until:
        flown.level_off(max(altitude_m, flown.altitude))
    flown.hold(3.0)
