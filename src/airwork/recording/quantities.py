"""What a recording can hold: each quantity's words, dimension, plausible range and house column. Data, no code.

The plausible ranges are wide on purpose, a jet's over the ground: a value outside can't be a reading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from airwork import units as u

_INF = math.inf


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity a column may hold.

    house : house column it becomes, "" when it only helps (time, ground velocity parts ...) or is not needed.
    dimension : dimension of its unit.
    low, high : plausible range in SI.
    units : units tried, in order of likelihood, when the file names none.
    circular : a direction.
    also : other dimensions it may be recorded in.
    """

    name: str
    house: str
    dimension: str
    low: float = -_INF
    high: float = _INF
    units: tuple[str, ...] = ()
    circular: bool = False
    also: tuple[str, ...] = ()


_TURN = 2.0 * math.pi
_SPEEDS = ("kt", "m/s", "mph", "km/h", "ft/s")
_ALT = (-500.0, 50_000.0, ("ft", "m"))
_KT = u.KT_MPS

_ALL = (
    Quantity("latitude", "latitude_rad", "angle", -math.pi / 2, math.pi / 2, ("deg", "rad")),
    Quantity("longitude", "longitude_rad", "angle", -math.pi, _TURN, ("deg", "rad")),
    Quantity("gps_altitude", "gps_altitude_m", "length", *_ALT),
    Quantity("indicated_altitude", "indicated_altitude_m", "length", *_ALT),
    Quantity("pressure_altitude", "pressure_altitude_m", "length", *_ALT),
    Quantity("altitude", "", "length", *_ALT),
    Quantity("height_above_ground", "agl_m", "length", *_ALT),
    Quantity("density_altitude", "", "length", *_ALT),
    Quantity("altimeter_setting", "setting_pa", "pressure", 85_000.0, 109_000.0, ("inHg", "hPa", "Pa")),
    Quantity("static_pressure", "", "pressure", 10_000.0, 109_000.0, ("hPa", "Pa", "inHg", "kPa", "psf")),
    Quantity("impact_pressure", "", "pressure", 0.0, 20_000.0, ("Pa", "hPa", "kPa")),
    Quantity("outside_temperature", "oat_k", "temperature", 193.0, 333.0, ("°C", "°F", "K")),
    Quantity("indicated_airspeed", "ias_mps", "speed", 0.0, 400 * _KT, _SPEEDS),
    Quantity("calibrated_airspeed", "cas_mps", "speed", 0.0, 400 * _KT, _SPEEDS),
    Quantity("true_airspeed", "tas_mps", "speed", 0.0, 600 * _KT, _SPEEDS),
    Quantity("ground_speed", "groundspeed_mps", "speed", 0.0, 700 * _KT, _SPEEDS),
    Quantity("speed", "", "speed", 0.0, 700 * _KT, _SPEEDS),
    Quantity("velocity_north", "", "speed", -500 * _KT, 500 * _KT, ("m/s", "kt", "ft/s")),
    Quantity("velocity_east", "", "speed", -500 * _KT, 500 * _KT, ("m/s", "kt", "ft/s")),
    Quantity("velocity_down", "", "speed", -100.0, 100.0, ("m/s", "fpm", "ft/s")),
    Quantity("track", "track_rad", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("magnetic_track", "", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("magnetic_heading", "heading_mag_rad", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("true_heading", "heading_rad", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("heading", "", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("magnetic_variation", "", "angle", -math.pi, math.pi, ("deg", "rad")),
    Quantity("pitch", "pitch_rad", "angle", -math.pi / 2, math.pi / 2, ("deg", "rad")),
    Quantity("bank", "bank_rad", "angle", -math.pi, math.pi, ("deg", "rad")),
    Quantity("vertical_speed", "vertical_speed_mps", "speed", -100.0, 100.0, ("fpm", "m/s", "ft/s")),
    Quantity("turn_rate", "turn_rate_radps", "rate", -4.0, 4.0, ("deg/s", "rad/s")),
    Quantity("load_factor", "load_factor", "acceleration", -147.0, 147.0, ("g", "m/s²")),
    Quantity("normal_acceleration", "", "acceleration", -147.0, 147.0, ("g", "m/s²")),
    Quantity("lateral_acceleration", "lateral_g", "acceleration", -50.0, 50.0, ("g", "m/s²")),
    Quantity("longitudinal_acceleration", "", "acceleration", -147.0, 147.0, ("g", "m/s²")),
    Quantity("acceleration_x", "", "acceleration", -200.0, 200.0, ("m/s²", "g")),
    Quantity("acceleration_y", "", "acceleration", -200.0, 200.0, ("m/s²", "g")),
    Quantity("acceleration_z", "", "acceleration", -200.0, 200.0, ("m/s²", "g")),
    Quantity("angle_of_attack", "angle_of_attack_rad", "angle", -0.3, 1.6, ("deg", "rad")),
    Quantity("wind_direction", "wind_from_rad", "angle", -_TURN, _TURN, ("deg", "rad"), circular=True),
    Quantity("wind_speed", "wind_mps", "speed", 0.0, 250 * _KT, _SPEEDS),
    Quantity("rpm", "rpm", "rotation", 0.0, 8_000.0, ("rpm",), also=("rate",)),
    Quantity("manifold_pressure", "manifold_pressure_pa", "pressure", 1e4, 250_000.0, ("inHg", "hPa", "kPa", "Pa")),
    Quantity("fuel_flow", "fuel_flow_m3ps", "volume_flow", 0.0, 5e-3, ("gph", "L/h"), also=("mass_flow",)),
    Quantity("power", "power_ratio", "ratio", 0.0, 2.0, ("%", "1"), also=("power",)),
    Quantity("fuel_left", "fuel_left_m3", "volume", -0.01, 2.0, ("gal", "L"), also=("mass",)),
    Quantity("fuel_right", "fuel_right_m3", "volume", -0.01, 2.0, ("gal", "L"), also=("mass",)),
    Quantity("fuel_total", "fuel_total_m3", "volume", -0.01, 4.0, ("gal", "L"), also=("mass",)),
    Quantity("tank", "tank", "code", 0.0, 9.0, ("code",)),
    Quantity("flap", "flap_deg", "angle", -20.0, 90.0, ("deg",), also=("ratio", "code")),
    Quantity("flap_notch", "flap_notch", "code", 0.0, 9.0, ("code",)),
    Quantity("gear", "gear_down", "code", 0.0, 1.0, ("code",), also=("ratio",)),
    Quantity("stall_warning", "stall_warning", "code", 0.0, 1.0, ("code",)),
    Quantity("on_ground", "on_ground", "code", 0.0, 1.0, ("code",)),
    Quantity("egt", "egt_k", "temperature", 200.0, 1_400.0, ("°F", "°C", "K")),
    Quantity("cht", "cht_k", "temperature", 200.0, 700.0, ("°F", "°C", "K")),
    Quantity("date", "", "clock"),
    Quantity("time", "", "clock", also=("time",)),
    Quantity("local_date", "", "clock"),
    Quantity("local_time", "", "clock", also=("time",)),
    Quantity("utc_offset", "", "clock", also=("time",)),
    Quantity("elapsed", "", "clock", also=("time",)),
    Quantity("aircraft", "", "text"),
    Quantity("side", "", "text"),  # N or S, E or W in a column of its own
    Quantity("not_needed", "", ""),
)  # fmt: skip
QUANTITIES: dict[str, Quantity] = {q.name: q for q in _ALL}
TIME_QUANTITIES = frozenset(q.name for q in _ALL if q.dimension == "clock")

# Spellings of one word (no accents) → the word the patterns below use: English, German, French, Spanish, Italian,
# Portuguese, Dutch, Polish. Words glued together ("groundspeed", "ladedruck") are cut along these.
_SAME = """
lat: φ latitude latitud breite breitengrad latitudine breedte breedtegraad szerokosc latitud
lon: λ longitude long lng longitud lange langengrad laenge longitudine lengte lengtegraad lengdegrad dlugosc
alt: altitude height hgt elevation elev alti altitud hohe hoehe hauteur altura altitudine altezza quota hoogte
alt: wysokosc hojd hojde hoyde vyska
baro: barometric barometer barom
press: pressure pres pression pressione presion pressao druck druk cisnienie tryck trykk tryk tlak
gps: gnss geo geom geometric wgs wgs84 satellite geod geodetic hae ellipsoid
ind: indicated indic indc indicator indicata indicada indicado indiquee angezeigt przyrzadowa indikerad aangegeven
ind: aangewezen
cal: calibrated calib computed
true: tru vrai vraie verdadero verdadera verdadeiro verdadeira
true: vero vera wahr ware rechtweisend rw rzeczywisty
air: luft lucht
gnd: ground grnd sol suelo suolo grund boden
speed: spd geschw velocity vel velo veloc geschwindigkeit vitesse velocidad velocita velocidade snelheid predkosc
speed: fart hastighet hastighed rychlost
vert: vertical vertikal verticale ascensionnelle ascensional pionowa
climb: climbing
rate: rt
hdg: heading hding hdt head steuerkurs cap proa prua rumbo
trk: track cog course bearing crs route derrota
kurs: koers kurz
mag: magnetic magnetico magnetica magnetique magnetisch magnetische magnetyczny magnetisk magneticky missweisend mw
pitch: theta pch ptch pich nickwinkel nick assiette tangage cabeceo beccheggio arfagem pochylenie
bank: roll phi rll querneigung querlage schraglage inclinaison roulis alabeo rollio rolagem przechylenie
attitude: att
yaw:
psi:
turn:
load: loadfactor
factor:
accel: acceleration accelerations acc accn ac acl accelerometer
norm: normal norml nrm
later: lateral lat_
longit: longitudinal
aoa: alpha alfa
attack:
wind: wnd
dir: direction dr from
rpm: rev drehzahl regime giri rotacao rotacion revoluciones toerental obroty varvtal otacky turtall
map: mp manp
manifold: man mfd lade admission admision admissao alimentazione inlaat ladowania insugs
fuel: fu kraftstoff treibstoff sprit carburant carburante combustible combustibile combustivel brandstof paliwa
fuel: bransle drivstoff paliva
flow: flw ff_ durchfluss fluss debit
flow: caudal flujo vazao flusso fluxo stroom przeplyw verbrauch consommation consumo verbruik zuzycie flode forbruk
flow: prutok
qty: quantity contents content quant level remaining rem
tank: tanks
sel: selector selection
left: lft lh links izq sx gauche izquierdo izquierda sinistro sinistra esquerda
right: rgt rh rechts der dcha dx droite derecho derecha destro destra direita
total: tot sum
flap: flaps klappen volets
notch: detent step handle
pos: position posn
gear: undercarriage ldg lg landing
down:
stall: stl
warn: warning wrn horn alarm alert
wow: squat
on:
oat: sat_
outside: out ambient outer oa aussen exterieur exterieure ext exterior esterna externa buiten zewnetrzna ytter
outside: ute vnejsi
outside: atmospheric atmosferica atmospherique
temp: temperature tmp tempr teplota temperatur temperatura temperatuur
oil: ol oel huile aceite olio oleo olie oleju
egt: exhaust_gas
cht: cylinder_head culata culasse zylinderkopf
exhaust: exh
gas:
cyl: cylinder zylinder cylindre cilindro cylindra
date: day datum fecha
time: timestamp datetime tod clock ts epoch now uhrzeit zeit heure hora ora tijd czas
utc: gmt zulu zul universal
local: lcl loc
offset: ofst off ofs tz timezone
elapsed: since running
sim:
relative: rel
sys: system
power: pwr
pct: percent
set: setting kohlsman kollsman qnh_
above: abv
agl: radalt
msl: amsl asl sl nn
var: variation declination
down: dn
north:
east:
vs: vspd vspeed
altimeter: altim calage altimetrique
"""

# quantity: alternatives, each a set of words that must all be there. More words win.
_PATTERNS = """
latitude: lat | lat gps | lat deg
longitude: lon | lon gps
gps_altitude: gps alt | gps h msl | h msl | alt msl | alt abv sea level | alt abv mean sea level | alt gps msl | alt msl gps | alt true
indicated_altitude: balt | altimeter alt | hind | qnh alt | alt ind | alt baro | alt b | alt baro corrected | ind alt ft | baro alt msl | alt press_corrected
pressure_altitude: palt | p alt | druckhohe | druckhoehe | flight level | mode c | alt press | press alt | pa alt | qne | alt std | alt press std | alt standard | alt baro std
altitude: alt | z up | msl | alt ft msl
height_above_ground: qfe alt | agl | h agl | alt agl | alt gnd | alt above gnd | alt above gnd level | rel alt | relative alt | alt rel | alt relative | alt above takeoff | alt above home
density_altitude: density alt | density
altimeter_setting: qnh | baro set | baro a | alt set | baro press | kohlsman | altimeter set | altimeter | set baro | baro | press set
static_pressure: static | baro static | press static | p static | pstat | outside press | press abs | press | static press abs
impact_pressure: pitot press | impact press | dynamic press | diff press | pitot diff press | pitot diff | baro pitot diff press | baro pitot diff | pitot | qc
outside_temperature: oat | outside | outside temp | outside air temp | air temp | temp outside air | atmosphere t | sat | temp air static | temp static
indicated_airspeed: ias | asi | vind | ind air speed | ind speed | kias | fahrt | fahrt ias | ias fahrt | ias speed | air speed | vias | vi
calibrated_airspeed: eas | eas speed | cas | cas speed | cal air speed | kcas | vc | vcas
true_airspeed: tas | tas speed | true air speed | true speed | ktas | vt | vtas | vtrue | speed total | v total
ground_speed: gs | gs speed | ktgs | vtrue ktgs | g speed | gspd | gnd speed | speed gnd | sog | vsol | gps speed | speed over gnd | vg | gps gnd speed | speed inertial | v inertial
speed: speed
velocity_north: speed n | speed north | north speed | v north | vn | v n | speed n | gps v north | speed v north
velocity_east: speed e | speed east | east speed | v east | v e | ve | gps v east | speed v east
velocity_down: speed d | speed down | v down | vd | speed v down
track: rotta | dir | kurs | kurs gnd | kurs true | trk t | trk | true trk | gps trk | trk over gnd | trk angle | trk true | trk gnd | gnd trk | ctrk | trk dir | gps true trk
magnetic_track: mag trk | trk mag | trk m
magnetic_heading: mag hdg | mhdg | kurs mag | hdg mag | hdg m | hdgm | hdg compass | compass | mag compass hdg
true_heading: thdg | true hdg | hdg t | hdg true | psi | hdgt | yaw angle | yaw attitude | hdg psi | psi true | attitude hdg true
heading: hdg | yaw
magnetic_variation: mag var | var | var mag
pitch: pitch | pitch angle | pitch attitude | attitude pitch | ahrs pitch | attitude p
bank: bank | bank angle | bank attitude | attitude bank | ahrs bank | attitude r
vertical_speed: vs | vv | razao subida | vz | steigen | vsi | vert speed | vert rate | climb rate | rate climb | rate of climb | roc | vvi | v speed | v rate | ivsi | vario | h dot | alt rate | climb | vert speed ind | baro rate | gps rate | gps vert rate | baro vert rate
turn_rate: turn rate | rate turn | rate of turn | rot | yaw rate_turn | psi dot | hdg rate
load_factor: load factor | nz | g load | gload | gload norm | load | g force | vert g | g normal | norm load factor | gee | g meter
normal_acceleration: norm accel | accel norm | vert accel | accel vert | n z norm | n z
lateral_acceleration: later accel | lat g | accel later | ny | lat accel | slip ball_ | g later | later g
longitudinal_acceleration: longit accel | accel longit | nx
acceleration_x: accel x | a x | ax | x accel
acceleration_y: accel y | a y | ay | y accel
acceleration_z: accel z | a z | az | z accel
angle_of_attack: aoa | angle attack | angle of attack | aero aoa
wind_direction: wind dir | wind angle | dir wind | wind true dir | wind dir true
wind_speed: wind | wind speed | speed wind | wind vel
rpm: rpm | rpm left | rpm right | rpm l | rpm r | tach rpm | engine rpm | e rpm | prop rpm | rpm e | eng rpm | propeller rpm | engine speed
manifold_pressure: map | manifold p | manifold press | manifold | e map | press manifold
fuel_flow: fuel flow | wf | ff | f flow | flow fuel | fflow | e f flow | fuel flow rate | fuel burn
power: engine load | pct power | power pct | power | e pct power | % power | engine power
fuel_left: fuel left | fuel q l | fuel qty left | f qty l | fuel l | fuel qty l | qty left fuel | f qty left | fuel left qty | l fuel | qty l | left qty | tank left | left tank fuel | left tank qty | left tank fuel qty | tank l | fuel tank l | tank qty 0
fuel_right: fuel right | fuel q r | fuel qty right | f qty r | fuel r | fuel qty r | qty right fuel | f qty right | fuel right qty | r fuel | qty r | right qty | tank right | right tank fuel | right tank qty | right tank fuel qty | tank r | fuel tank r | tank qty 1
fuel_total: fuel total | fuel qty | fuel qty total | f qty | fuel on board | fob | total fuel qty | fuel
tank: tank sel | fuel sel | fuel tank sel | fuel selected | tank selected | fuel tank selected | fuel sel valve | fuel valve | fuel source | tank | fuel tank | sel tank | sel tank fuel
flap: flap | flap pos | flap angle | flap pos deg | flap deg | fcs flap pos | flap deflection
flap_notch: flap notch | flap handle | flap sel | flap step | flap lever
gear: gear | gear pos | gear down | gear pos down | gear state | gear handle
stall_warning: stall warn | stall | stall warn on | stall switch | stall switch discrete
on_ground: on gnd | gnd | wow | gear wow | gear unit wow | main wow | main gear wow | left wow | right wow | gear on gnd | weight on wheels | weight wheels | gear weight on wheels | gear weight wheels | wow switch | air gnd | gnd flag | gnd state | in air_
egt: egt | exhaust temp | exhaust gas temp | e egt
cht: cht | cht temp | cht left | cht right | cht l | cht r | cht temp left | cht temp right | cht temp l | cht temp r | cyl temp | cyl head temp | e cht
date: date | utc date | date utc | gps date | yearday
time: time | time z | sod | sec date | seconds date | seconds elapsed midnight | sec elapsed midnight | utc time | time utc | utc | date time | utc date time | gps time | gps date time | gps utc time | gps utc date time
local_date: local date | date local
local_time: local time | time local | local date time
utc_offset: utc offset | offset utc | offset | time zone | utc time offset | time offset | zone | gmt offset
elapsed: elapsed | elapsed time | sim | sim time | time elapsed | time since start | seconds | seconds elapsed | sec | secs | time running | time relative | boot time | time boot | uptime | sim sys time | t | session time | flight time | mission time
aircraft: aircraft id | plane id | uav id | drone id | vehicle id | icao24 | icao | hex | icao 24 | callsign | tail | ident_ | registration | mode s
not_needed: s acc | c acc | oil temp | oil press | oil t | oil p | e oil t | e oil p | oil | volts | volt | amp | amps | bus volts | battery | v bus | nsat | sv | svs | numsv | num sv | num svs | num sat | num sats | sats | satellites | gps fix | fix | hdop | vdop | pdop | hal | val | hpl | vpl | nav freq | com freq | com | nav | squawk | alert | spi | wpt | waypoint | hsi | hcdi | vcdi | cdi | ap | autopilot | afcs | tit | turbine temp | carb temp | prop pitch | throttle | mixture | elevator | aileron | rudder | trim | beta | sideslip | yaw rate | bank rate | pitch rate | p rate | q rate | r rate | gyro x | gyro y | gyro z | q x | q y | q z | w x | w y | w z | p rad | q rad | r rad | mag x | mag y | mag z | row | index | record | seq | number | no | mach | q bar | qbar | u | v | w | p | q | r | ve | last position | last contact | last pos update | last seen | geo min | v speed g | vs g | hsis | hsi sel | bank m | bank c | pitch m | pitch c | wind north | wind east | wind down | distance | dist | dst | wpt dst | wpt bearing | cabin | hours | tach | hobbs | frame | checksum | crc | status | comment | note | event | marker | version | accuracy | quality | uncertainty | slant | glideslope | localizer | dme | cowl | fuel press | f press | vacuum | suction | hfom | vfom | gps hfom | gps vfom | gps time week | transponder code | transponder mode | yaw damper state | yd torque | horizontal cdi full scale | horizontal cdi scale | vertical cdi full scale | vertical cdi scale | cas alert | terrain alert | carbon monoxide | canopy open | heart rate bpm | hr | heart rate | atemp | cad | cadence | h acc | v acc | time logged | date logged | flags
"""  # noqa: E501

# A name with one of these is a wish, a limit or a statistic, not a reading.
_BLOCKERS = """
selected select bug cmd command commanded target desired error err accuracy sigma std sd stdev max min limit
preset dme next dist distance wpt waypoint nav vnav lnav ap fd autopilot cabin trim diff delta avg average
gyroscope dst cross deviation dev ref reference peak predicted estimate required
"""
# Words that say nothing about the quantity.
_NEUTRAL = """
fdm jsbsim velocities attitude position atmosphere aero propulsion engine eng e e1 fcs simulation sensor data
value current actual raw the of
d de del della di des du do da het van motor moteur motore silnika geograficzna uber calc
aircraft ahrs adc efis ems adahrs instrument instruments measured meas rec log
reading output out degrees smoothed filtered primary pri number no 1 0 pilot corrected and over at body frame
gc ned enu speeds orientation indicators flight model environment controls unix posix enhanced
"""
BLOCKERS = frozenset(_BLOCKERS.split())
WISHES = frozenset(
    ["selected", "select", "sel", "bug", "cmd", "command", "commanded", "target", "desired", "preset", "cabin"]
)
NEUTRAL = frozenset(_NEUTRAL.split())


def _same() -> dict[str, str]:
    out: dict[str, str] = {}
    for line in _SAME.strip().splitlines():
        word, _, others = line.partition(":")
        out[word] = word
        for other in others.split():
            out.setdefault(other.rstrip("_"), word)  # a trailing "_" only keeps two-letter forms apart in the list
    return out


def _patterns() -> tuple[tuple[str, frozenset[str]], ...]:
    out = []
    for line in _PATTERNS.strip().splitlines():
        name, _, alternatives = line.partition(":")
        for alternative in alternatives.split("|"):
            words = frozenset(SAME.get(w.rstrip("_"), w.rstrip("_")) for w in alternative.split())
            out.append((name, words))
    return tuple(dict.fromkeys(out))


SAME = _same()
PATTERNS = _patterns()
VOCABULARY = frozenset(SAME) | {word for _, words in PATTERNS for word in words} | BLOCKERS | NEUTRAL
