"""Leaning: the mixture set by the handbook's rule at cruise power, and what it saves today.

No standard prints a number for it; the handbook's limit of percent power and its method decide.
"""

from __future__ import annotations

from airwork import units
from airwork.airplane.engine import Mixture
from airwork.errors import AirworkError, NotPossible
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.paths.flown_ideal import straight
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp

TAKES_S = 180.0
SHARE = 0.65  # power where the lesson names none: common practice, no source
MIXTURES: tuple[Mixture, ...] = ("full_rich", "best_power", "best_economy")


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps: the limit, the power, fuel flow with each mixture."""
    rule = ws.airplane.file.engine.leaning
    if rule is None:
        raise NotPossible(
            f"{ROOM.title}: the airplane file has no [engine.leaning] rule; take it from the handbook first."
        )
    share = ws.wish("power_ratio", min(SHARE, rule.maximum_percent_power / 100.0), 0.3, 1.0)
    if 100.0 * share > rule.maximum_percent_power + 0.05:
        raise NotPossible(
            f"{ROOM.title}: {100 * share:.0f} % is above the leaning limit of {rule.maximum_percent_power:.0f} %; "
            "reduce power first."
        )
    mixture = ws.word("mixture", "best_power", MIXTURES)
    cas = power_lines.cruise_cas_mps(ws, share) or 1.9 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cas)), ws.fastest_ias()))
    ws.note_heights()
    ws.note("leaning allowed at most at", rule.maximum_percent_power, "%", "handbook table", "[engine.leaning]")
    ws.note(
        "density altitude here",
        float(round(ws.density_altitude_m / units.FT_M / 10) * 10),
        "ft",
        "formula",
        "the day's air",
    )
    if rule.minimum_density_altitude_ft is not None:
        ws.note(
            "full-throttle climb rich below",
            rule.minimum_density_altitude_ft,
            "ft",
            "handbook table",
            "density altitude, [engine.leaning]",
        )
    power = power_lines.level(ws, ws.cas(ias), pitch=False)
    ws.note_speed("speed", ias, "fitted model", "level at this power")
    rows = [("mixture", "fuel flow", "saved")]
    flows, book = {}, ws.airplane.book
    for name in MIXTURES:
        try:
            flows[name] = units.to_unit(ws.airplane.fuel_flow_m3ps(share, name), "gph")
        except AirworkError as refused:
            ws.cautions.append(f"{name.replace('_', ' ')}: {refused}")
    for name, flow in flows.items():
        saved = (
            "" if name == "full_rich" or "full_rich" not in flows else f"{100 * (1 - flow / flows['full_rich']):.0f} %"
        )
        rows.append((name.replace("_", " "), book.write(flow, "gph").replace("gph", "gal/h"), saved))
        ws.note(f"fuel flow, {name.replace('_', ' ')}", round(flow, 1), "gph", "handbook table", "cruise")
    ws.use_power(TAKES_S, share if power is None else min(power.ratio, rule.maximum_percent_power / 100.0), mixture)
    how = {"best_power": rule.best_power, "best_economy": rule.best_economy}.get(mixture, "")
    words = f"{100 * share:.0f} %" if power is None else power.words
    shown = f" · {book.write(flows[mixture], 'gph').replace('gph', 'gal/h')}" if mixture in flows else ""
    return ws.finish(
        steps=(
            f"Level, {words}: {100 * share:.0f} %, not above {rule.maximum_percent_power:.0f} %; let it settle",
            f"Handbook, {mixture.replace('_', ' ')}: {how}" if how else "Mixture as the handbook's method says, slowly",
            "Engine smooth, temperatures and oil in the green; note RPM and time",
            "Any change of power or altitude: richer first, then lean again; rich before descent, maneuvers and "
            "landing as the "
            "handbook says",
        ),
        usual_errors=(
            "leaning above the limit of percent power",
            "too fast: past the peak before it shows",
            "forgotten rich on the descent, or power up while lean",
            "only looking at one gauge",
        ),
        card_line=f"{words} · {mixture.replace('_', ' ')} · ≤ {rule.maximum_percent_power:.0f} %{shown} · richer "
        f"before more power",
        targets={"ias_mps": ias, "power_ratio": share, "duration_s": TAKES_S},
        cautions=("Fuel flows are the handbook's; check against what the tanks take.",),
        tables={"Fuel flow today": tuple(rows)} if len(rows) > 1 else {},
    )


ROOM = Room(
    "leaning", "Leaning", Family.COCKPIT, set_up, straight,
    Heights(600.0, 300.0, "1,000 ft above ground: common practice, no source"), needs_engine=True,
    may_set=("ias_mps", "mixture", "power_ratio"),
)  # fmt: skip
