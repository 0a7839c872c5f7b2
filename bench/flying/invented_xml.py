"""The invented airplanes written as JSBSim reads them.

Stability derivatives are round figures of a typical light single (from memory, no source).
"""

from __future__ import annotations

import tempfile
from functools import lru_cache
from pathlib import Path

import numpy as np

from flying.invented import Invented, load


@lru_cache
def model_folder() -> Path:
    """A folder of this process with the models written as JSBSim reads them."""
    folder = Path(tempfile.mkdtemp(prefix="flying-"))
    for name in ("larkmoor_155", "wrenbrook_108"):
        (folder / name).mkdir()
        (folder / name / f"{name}.xml").write_text(aircraft_xml(load(name)), encoding="utf-8")
    return folder


def _table(rows: list[float], by: str, value: list[float]) -> str:
    data = "".join(f"{r:.4f} {v:.5f}\n" for r, v in zip(rows, value, strict=True))
    return f"<table><independentVar>{by}</independentVar><tableData>\n{data}</tableData></table>"


def _product(name: str, *parts: str) -> str:
    return f'<function name="aero/{name}"><product>{"".join(parts)}</product></function>'


def _p(path: str) -> str:
    return f"<property>{path}</property>"


def _v(value: float) -> str:
    return f"<value>{value:.6g}</value>"


def _contact(name: str, x: float, y: float, z: float, spring: float, *, steer: float = 0.0, brake: str = "NONE") -> str:
    return (
        f'<contact type="BOGEY" name="{name}"><location unit="IN"><x>{x}</x><y>{y}</y><z>{z}</z></location>'
        "<static_friction>0.8</static_friction><dynamic_friction>0.5</dynamic_friction>"
        f"<rolling_friction>0.03</rolling_friction><spring_coeff unit='LBS/FT'>{spring:.0f}</spring_coeff>"
        f"<damping_coeff unit='LBS/FT/SEC'>{spring * 0.3:.0f}</damping_coeff><max_steer unit='DEG'>{steer}</max_steer>"
        f"<brake_group>{brake}</brake_group><retractable>0</retractable></contact>"
    )


def _surface(surface: str, command: str, trim: str, low: float, high: float) -> str:
    return (
        f"<summer name='{surface} sum'><input>fcs/{command}-cmd-norm</input><input>fcs/{trim}-trim-cmd-norm</input>"
        f"<clipto><min>-1</min><max>1</max></clipto></summer>"
        f"<aerosurface_scale name='{surface} scale'><input>fcs/{surface}-sum</input><gain>0.01745</gain>"
        f"<range><min>{low}</min><max>{high}</max></range><output>fcs/{surface}-pos-rad</output></aerosurface_scale>"
    )


def aircraft_xml(airplane: Invented) -> str:
    """The JSBSim model of an invented airplane."""
    t, file = airplane.truth, airplane.file
    area, span = t["wing_area_ft2"], t["wing_span_ft"]
    chord, empty_lb = area / span, file["weight_and_balance"]["empty_weight_lb"]
    gross = file["airplane"]["maximum_takeoff_weight_lb"]
    slugs, length = gross * 0.85 / 32.174, 0.72 * span
    ixx, iyy = slugs * (0.25 * span / 2.0) ** 2, slugs * (0.38 * length / 2.0) ** 2
    izz = slugs * (0.39 * (span + length) / 4.0) ** 2
    q_s = _p("aero/qbar-psf") + _p("metrics/Sw-sqft")
    q_sb, q_sc = q_s + _p("metrics/bw-ft"), q_s + _p("metrics/cbarw-ft")
    per_b, per_c = _p("aero/bi2vel"), _p("aero/ci2vel")
    alphas = sorted(
        {round(float(a), 4) for a in np.concatenate([np.linspace(-0.25, 0.1, 8), np.linspace(0.1, 0.45, 71)])}
    )
    head = "".join(f" {d:.1f}" for d in airplane.flap_deg)
    lift_rows = "".join(
        f"{a:.4f} " + " ".join(f"{airplane.lift(a, n):.5f}" for n in range(len(airplane.flap_deg))) + "\n"
        for a in alphas
    )
    lift_table = (
        "<table><independentVar lookup='row'>aero/alpha-rad</independentVar>"
        "<independentVar lookup='column'>fcs/flap-pos-deg</independentVar>"
        f"<tableData>\n{head}\n{lift_rows}</tableData></table>"
    )
    flap_drag = _table(list(airplane.flap_deg), "fcs/flap-pos-deg", list(t["delta_CD_by_flap_notch"]))
    height = [0.0, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0]
    ground_drag = _table(height, "aero/h_b-mac-ft", [0.48, 0.515, 0.63, 0.71, 0.815, 0.88, 0.93, 0.985, 1.0])
    stall = airplane.stall_rad(0)
    past = _table([stall, stall + 0.1, stall + 0.3], "aero/alpha-rad", [0.0, 0.06, 0.35])
    full_flap = airplane.flap_deg[-1]
    nose_down = _table([0.0, full_flap], "fcs/flap-pos-deg", [0.0, -0.07])
    aileron, elevator, rudder = _p("fcs/aileron-pos-rad"), _p("fcs/elevator-pos-rad"), _p("fcs/rudder-pos-rad")
    p, q, r = _p("velocities/p-aero-rad_sec"), _p("velocities/q-aero-rad_sec"), _p("velocities/r-aero-rad_sec")
    alpha, beta = _p("aero/alpha-rad"), _p("aero/beta-rad")
    axes = {
        "LIFT": [_product("CL", q_s, lift_table)],
        "DRAG": [
            _product("CD0", q_s, _v(t["CD0_flaps_up"])), _product("CDflap", q_s, flap_drag),
            _product("CDi", q_s, _v(t["CD_induced_factor_k"]), _p("aero/cl-squared"), ground_drag),
            _product("CDwindmill", q_s, _p("sim/windmill-cd")), _product("CDstall", q_s, past),
            _product("CDbeta", q_s, _v(0.17), _p("aero/mag-beta-rad")),
        ],
        "SIDE": [_product("CYb", q_s, _v(-0.36), beta), _product("CYr", q_s, _v(0.17), rudder)],
        "ROLL": [
            _product("Clb", q_sb, _v(-0.085), beta), _product("Clp", q_sb, per_b, _v(-0.48), p),
            _product("Clr", q_sb, per_b, _v(0.11), r), _product("Clda", q_sb, _v(0.20), aileron),
        ],
        "PITCH": [
            _product("Cm0", q_sc, _v(0.07)), _product("Cma", q_sc, _v(-1.1), alpha),
            _product("Cmq", q_sc, per_c, _v(-13.0), q),
            _product("Cmadot", q_sc, per_c, _v(-6.0), _p("aero/alphadot-rad_sec")),
            _product("Cmde", q_sc, _v(-1.25), elevator), _product("Cmflap", q_sc, nose_down),
        ],
        "YAW": [
            _product("Cnb", q_sb, _v(0.062), beta), _product("Cnp", q_sb, per_b, _v(-0.03), p),
            _product("Cnr", q_sb, per_b, _v(-0.10), r), _product("Cnda", q_sb, _v(-0.012), aileron),
            _product("Cndr", q_sb, _v(-0.058), rudder),
            _product("Cnthrust", _p("sim/thrust-lbs"), alpha, _v(-2.0)),
        ],
    }  # fmt: skip
    aero = "".join(f'<axis name="{name}">{"".join(parts)}</axis>' for name, parts in axes.items())
    settings = "".join(
        f"<setting><position>{d}</position><time>{1.5 * (i > 0)}</time></setting>"
        for i, d in enumerate(airplane.flap_deg)
    )
    fuel_lb = file["fuel"]["tanks"][0]["capacity_us_gal"] * 6.0
    tanks = "".join(
        f"<tank type='FUEL'><location unit='IN'><x>40</x><y>{y}</y><z>50</z></location><capacity unit='LBS'>{fuel_lb}"
        f"</capacity><contents unit='LBS'>{fuel_lb / 2}</contents></tank>"
        for y in (-90, 90)
    )
    place = "<location name='{0}' unit='IN'><x>{1}</x><y>0</y><z>{2}</z></location>"
    channels = "".join(
        f"<channel name='{name}'>{_surface(surface, command, trim, low, high)}</channel>"
        for name, surface, command, trim, low, high in (
            ("Pitch", "elevator", "elevator", "pitch", -26, 22), ("Roll", "aileron", "aileron", "roll", -18, 18),
            ("Yaw", "rudder", "rudder", "yaw", -18, 18),
        )
    )  # fmt: skip
    wheels = _contact("NOSE", -5, 0, -17.5, gross * 0.8, steer=10)
    wheels += "".join(_contact(name, 55, y, -14, gross * 2.2, brake=name) for name, y in (("LEFT", -42), ("RIGHT", 42)))
    return f"""<?xml version="1.0"?>
<fdm_config name="{airplane.id}" version="2.0" release="BETA">
<fileheader><author>made by bench/flying/invented_xml.py</author><filecreationdate>2026-01-01</filecreationdate>
<version>1</version><description>An invented airplane; not for flight</description></fileheader>
<metrics>
<wingarea unit="FT2">{area}</wingarea><wingspan unit="FT">{span}</wingspan><chord unit="FT">{chord:.3f}</chord>
<htailarea unit="FT2">22</htailarea><htailarm unit="FT">15</htailarm>
<vtailarea unit="FT2">15</vtailarea><vtailarm unit="FT">15</vtailarm>
{place.format("AERORP", 40, 45)}{place.format("EYEPOINT", 36, 50)}{place.format("VRP", 40, 40)}
</metrics>
<mass_balance>
<ixx unit="SLUG*FT2">{ixx:.0f}</ixx><iyy unit="SLUG*FT2">{iyy:.0f}</iyy><izz unit="SLUG*FT2">{izz:.0f}</izz>
<emptywt unit="LBS">{empty_lb}</emptywt>{place.format("CG", 40, 38)}
<pointmass name="seats"><weight unit="LBS">340</weight>
<location unit="IN"><x>40</x><y>0</y><z>34</z></location></pointmass>
</mass_balance>
<ground_reactions>{wheels}</ground_reactions>
<propulsion>{tanks}</propulsion>
<flight_control name="controls">
<property value="0">sim/thrust-lbs</property><property value="0">sim/windmill-cd</property>
{channels}
<channel name="Flaps"><kinematic name="Flaps"><input>fcs/flap-cmd-norm</input><traverse>{settings}</traverse>
<output>fcs/flap-pos-deg</output></kinematic></channel>
</flight_control>
<aerodynamics>{aero}</aerodynamics>
<external_reactions><force name="thrust" frame="BODY"><location unit="IN"><x>-30</x><y>0</y><z>38</z></location>
<direction><x>1</x><y>0</y><z>0</z></direction></force></external_reactions>
</fdm_config>
"""
