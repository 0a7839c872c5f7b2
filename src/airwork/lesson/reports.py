"""Weather reports and forecasts as text, decoded into our own records.

METAR bodies are read by python-metar in its strict mode (it names the group it can't read); TAFs, and the trend at
the end of a METAR, by metar-taf-parser-mivek. Measured against the published examples the first misreads none of the
METARs, the second none of the TAFs; each is loaded only when there is text to read.
"""

from __future__ import annotations

import calendar
import re
from datetime import UTC, datetime, timedelta
from typing import Any

from airwork import units
from airwork.errors import InputError, Where
from airwork.lesson.remarks import read_remarks
from airwork.lesson.weather import Cloud, Forecast, Period, Report, Seen, Trend, Wind

WEEK_S = 7.0 * 86400.0
_TIME = re.compile(r"\b(\d{2})(\d{2})(\d{2})Z\b")
_VALIDITY = re.compile(r"^(?:\S+\s+){1,4}\d{6}Z\s+\d{4}/\d{4}\b")
_OBSERVED = re.compile(r"^[A-Z][A-Z0-9]{3}\s+\d{6}Z\s+(?:AUTO\s|COR\s)?(?:\d{3}|VRB|/{3})[\d/]{2}")
_TREND_START = re.compile(r"\s(BECMG|TEMPO)\s")
_NOT_FLOWN_BY = re.compile(r"\sRF\d{2}\.\d/\d{3}\.\d")  # rainfall, at the end of every Australian report (from memory)
# A runway's visual range or state (ICAO Annex 3, from memory): the library passes over what it can't read of them
_OF_RUNWAY = re.compile(r"R\d\d[LCR]?/")
_RUNWAY_GROUP = re.compile(
    r"R\d\d[LCR]?/(?:[MP]?\d{4}(?:V[MP]?\d{4})?(?:FT)?/?[UDN]?|[\d/]{6}|/{4,5}|CLRD(?:\d\d|//)?|SNOCLO)"
)
_STATION = re.compile(r"^[A-Z][A-Z0-9]{3}$")
_SPEED = {"KT": units.KT_MPS, "MPS": 1.0, "KMH": units.KMH_MPS, "KM/H": units.KMH_MPS}
_TAF_WIND = re.compile(r"^(\d{3}|VRB)(\d{2,3})(?:G(\d{2,3}))?(KT|MPS|KMH)$")
_NEARBY = re.compile(r"VC(?:SH|BLSN|BLDU|BLSA|DS|SS|PO|FC|VA)$")
_QNH = re.compile(r"QNH\d{4}INS$")  # the lowest setting forecast, in the forecasts of the US military
# who watches a forecast, and when nobody does (FMH-1, from memory): no weather
_WATCHED = re.compile(r" (?:AMD NOT SKED|AMD LTD TO|LAST NO AMDS?|NO AMDS?|NEXT FCST|NXT FCST|FN\d{5})\b.*$")
_VIS_TEXT = re.compile(r"^([<>PM]?)\s*(?:(\d+)\s+)?(\d+)(?:/(\d+))?$")


def _utc_near(day: int, hour: int, minute: int, near_utc_s: float, where: str | Where, group: str) -> float:
    """The moment with this day of the month that lies nearest to another moment. [s since 1970 UTC]

    A report names only the day of the month: near the turn of a month the month before or after may be meant.
    """
    near = datetime.fromtimestamp(near_utc_s, UTC)
    extra, hour = divmod(hour, 24)  # 24 is midnight at the end of the day
    best: list[datetime] = []
    for shift in (-1, 0, 1):
        month0 = near.year * 12 + near.month - 1 + shift
        year, month = divmod(month0, 12)
        if 1 <= day <= calendar.monthrange(year, month + 1)[1] and minute < 60:
            best.append(datetime(year, month + 1, day, hour, minute, tzinfo=UTC) + timedelta(days=extra))
    if not best:
        raise InputError(f"{group!r} holds no date and time (day 01-31, hour, minute).", where=where)
    return min(best, key=lambda t: abs((t - near).total_seconds())).timestamp()


# ---------------------------------------------------------------------------------------------------------------- METAR


def read_metar(text: str, *, near_utc_s: float, where: str | Where = "METAR") -> Report:
    """Decode one METAR or SPECI.

    Parameters
    ----------
    near_utc_s : the lesson's time; settles month and year, which a report leaves out.
    where : file and field, for the message.

    Raises
    ------
    InputError : one line naming the group that can't be read.
    """
    code = " ".join(text.split()).strip().rstrip("=").upper()
    body = re.sub(r"^(METAR|SPECI)\s+(COR\s+)?", "", code)
    if code.startswith("TAF") or _VALIDITY.search(body):
        raise InputError(f"{_short(text)!r} is a TAF, no METAR: put it where the TAF goes.", where=where)
    station = body.split(" ")[0]
    time = _TIME.search(body)
    if not _STATION.match(station) or time is None:
        raise InputError(
            f"can't read {_short(text)!r} as a METAR: it needs a station and a time like 'KXYZ 201453Z'. "
            "Paste the whole report, or give wind, visibility, ceiling and so on as values.",
            where=where,
        )
    if re.search(r"\bNIL\b", body.partition(" RMK")[0]):
        raise InputError(f"the METAR of {station} is empty (NIL); give values instead.", where=where)
    utc_s = _utc_near(int(time[1]), int(time[2]), int(time[3]), near_utc_s, where, time[0])
    main, remarks, trends = _cut(code)
    found = _parse_metar(f"{main} {remarks}".strip(), utc_s, where)
    groups = main.split(" ")
    if odd := next((g for g in groups if _OF_RUNWAY.match(g) and not _RUNWAY_GROUP.fullmatch(g)), None):
        raise InputError(f"can't read {odd!r} in the METAR {_short(code)!r}; correct it, or leave it out.", where=where)
    setting = _pressure(found.press)
    if setting is not None and not 85_000.0 <= setting <= 109_000.0:
        raise InputError(
            f"the METAR's altimeter setting ({setting / units.INHG_PA:.2f} inHg, {setting / 100:.0f} hPa) can't be.",
            where=where,
        )
    return Report(
        station=station,
        utc_s=utc_s,
        seen=Seen(
            wind=_metar_wind(found),
            **_metar_visibility(found, groups),
            clouds=_metar_clouds(found, "CAVOK" in groups),
            weather=_metar_weather(found),
            shear=tuple("WS ALL RWY" if r == "ALL" else f"WS R{r}" for r in found.windshear),
        ),
        temperature_k=None if found.temp is None else found.temp.value("K"),
        dewpoint_k=None if found.dewpt is None else found.dewpt.value("K"),
        setting_pa=setting,
        trends=_trends(trends),
        text=code,
        no_change=" NOSIG" in code.partition(" RMK")[0],
        remarks=read_remarks(code, " ".join(found._unparsed_remarks)),
    )


def _cut(code: str) -> tuple[str, str, str]:
    """(body, remarks with their RMK, trend groups) of a report."""
    main, mark, rest = (
        _NOT_FLOWN_BY.sub("", code).replace(" NDV ", "NDV ").replace(" ////SM", " ////").partition(" RMK")
    )
    remarks = f"RMK{rest}" if mark else ""
    start = _TREND_START.search(main)
    if start is None:
        return re.sub(r"\sNOSIG\b", "", main), remarks, ""
    return main[: start.start()], remarks, main[start.start() :].strip()


def _parse_metar(code: str, utc_s: float, where: str | Where) -> Any:
    from metar.Metar import Metar, ParserError

    when = datetime.fromtimestamp(utc_s, UTC)
    try:
        return Metar(code, month=when.month, year=when.year, strict=True)
    except ParserError as problem:
        named = re.search(r"groups? in body '(.*?)' while", str(problem), re.DOTALL)
        what = f"can't read {named[1]!r}" if named else "can't read this report"
        raise InputError(
            f"{what} in the METAR {_short(code)!r}; correct it, or give the weather as values.", where=where
        ) from None
    except Exception:  # whatever trips over a garbled report: the user's remedy is the same
        raise InputError(
            f"can't read the METAR {_short(code)!r}; correct it, or give the weather as values.", where=where
        ) from None


# The library's own conversion factors are rounded: ask for the printed number and convert here.
def _pressure(value: Any) -> float | None:
    if value is None:
        return None
    return value.value("IN") * units.INHG_PA if value._units == "IN" else value.value("HPA") * units.HPA_PA


def _speed(value: Any) -> float | None:
    if value is None:
        return None
    return value.value("MPS") if value._units == "MPS" else value.value("KT") * units.KT_MPS


def _metar_wind(found: Any) -> Wind | None:
    speed, gust = _speed(found.wind_speed), _speed(found.wind_gust)
    if speed is None:
        return None
    direction = None if found.wind_dir is None or speed == 0.0 else found.wind_dir.value() * units.DEG_RAD
    low, high = found.wind_dir_from, found.wind_dir_to
    return Wind(
        direction,
        speed,
        gust,
        None if low is None else low.value() * units.DEG_RAD,
        None if high is None else high.value() * units.DEG_RAD,
    )


def _metar_visibility(found: Any, groups: list[str]) -> dict[str, Any]:
    # python-metar reads a missing visibility ("////") as ten kilometers: unknown must stay unknown.
    if found.vis is None or any(re.fullmatch(r"/{4}(SM|NDV)?", g) for g in groups):
        return {"visibility_m": None}
    meters = found.vis.value("SM") * units.SM_M if found.vis._units == "SM" else found.vis.value("M")
    bound = {"<": "<", ">": ">"}.get(found.vis._gtlt or "", "")
    if bound == "" and ("CAVOK" in groups or "9999" in groups):
        bound = ">"
    return {"visibility_m": meters, "visibility_bound": bound}


def _metar_clouds(found: Any, cavok: bool) -> tuple[Cloud, ...] | None:
    if not found.sky:
        return () if cavok else None
    out = []
    for cover, height, kind in found.sky:
        if cover in {"CLR", "SKC", "NSC", "NCD", "SCK"}:
            continue
        name = {"0VC": "OVC", "///": "OVC"}.get(cover, cover)  # a layer of unknown cover might be a ceiling
        base = None if height is None else height.value("FT") * units.FT_M
        out.append(Cloud(name, base, "" if kind in {None, "///"} else kind))
    return tuple(out)


def _metar_weather(found: Any) -> tuple[str, ...]:
    codes = ("".join(part or "" for part in group) for group in found.weather)
    return tuple(code for code in codes if code.strip("/"))


def _trends(text: str) -> tuple[Trend, ...]:
    if not text:
        return ()
    from metar_taf_parser.parser.parser import MetarParser

    try:  # the parser wants a whole report in front of the trend
        found = MetarParser().parse(f"ZZZZ 010000Z {text}").trends
    except Exception:
        return ()
    out = []
    for trend in found:
        times = {t.type.name: t.time.hour * 3600.0 + t.time.minute * 60.0 for t in trend.times}
        out.append(Trend(trend.type.name, _seen(trend), times.get("FM"), times.get("TL"), times.get("AT")))
    return tuple(out)


# ------------------------------------------------------------------------------------------------------------------ TAF


def read_taf(text: str, *, near_utc_s: float, where: str | Where = "TAF") -> Forecast:
    """Decode one TAF. Raises InputError naming the group that can't be read."""
    code = " ".join(text.split()).strip().rstrip("=").upper()
    if re.match(r"(METAR|SPECI)\b", code) or _OBSERVED.match(code):
        raise InputError(f"{_short(text)!r} is a METAR, no TAF: put it where the METAR goes.", where=where)
    code = _WATCHED.sub("", code if code.startswith("TAF") else f"TAF {code}")
    if gone := re.search(r"\b(NIL|CNL)\b", code):
        said = {"NIL": "empty", "CNL": "canceled"}[gone[1]]
        raise InputError(f"the TAF is {said} ({gone[1]}); leave it out or paste another.", where=where)
    found, missed = _parse_taf(code, where)
    if missed:
        raise InputError(
            f"can't read {missed[0]!r} in the TAF {_short(code)!r}; correct it or leave it out.", where=where
        )
    station = str(found.station)

    near = near_utc_s

    def moment(day: int, hour: int, minute: int = 0) -> float:
        at = _utc_near(day, hour, minute, near, where, f"{day:02d}{hour:02d}")
        month = datetime.fromtimestamp(near, UTC)
        if abs(at - near) > WEEK_S and day > calendar.monthrange(month.year, month.month)[1]:
            raise InputError(f"the TAF of {station} speaks of day {day}: {month:%B} has none; correct it.", where=where)
        return at

    start = near = moment(found.validity.start_day, found.validity.start_hour)  # the rest lies about its beginning
    end = moment(found.validity.end_day, found.validity.end_hour)
    if end <= start:
        raise InputError(f"the TAF of {station} ends before it begins.", where=where)
    changes = []
    for trend in found.trends:
        when = trend.validity
        changes.append((trend, moment(when.start_day, when.start_hour, getattr(when, "start_minutes", 0) or 0)))
    froms = [t for trend, t in changes if trend.type.name == "FM"]
    periods = [Period("FROM", start, min(froms, default=end), _seen(found))]
    for trend, begin in changes:
        if trend.type.name == "FM":
            finish = min((t for t in froms if t > begin), default=end)
        else:
            finish = moment(trend.validity.end_day, trend.validity.end_hour)
        kind = {"FM": "FROM"}.get(trend.type.name, trend.type.name)
        if getattr(trend, "probability", None):
            kind = f"PROB{trend.probability}" + (" TEMPO" if kind == "TEMPO" else "")
        periods.append(Period(kind, begin, finish, _seen(trend)))
    return Forecast(station, start, end, tuple(periods), code)


def _parse_taf(code: str, where: str | Where) -> tuple[Any, list[str]]:
    from metar_taf_parser.parser.parser import TAFParser

    class Listening(TAFParser):  # type: ignore[misc]
        """The library's parser, remembering what it passes over in silence."""

        def __init__(self) -> None:
            super().__init__()
            self.missed: list[str] = []

        def general_parse(self, container: Any, token: str) -> Any:
            understood = super().general_parse(container, token)
            if wind := _TAF_WIND.match(token):  # the library drops the third digit of 100 kt and more
                container.wind.speed = int(wind[2])
            if not understood and _NEARBY.match(token):  # the library knows VCTS and VCFG alone
                container.nearby = (*getattr(container, "nearby", ()), token)
                understood = True
            if not understood and token not in {"AMD", "COR", "AUTO", "NSC", "SKC", "CLR"} and not _QNH.match(token):
                self.missed.append(token)
            return understood

    parser = Listening()
    try:
        found = parser.parse(code)
    except Exception:
        found = None
    if found is None or any(getattr(part, "_validity", None) is None for part in (found, *found.trends)):
        raise InputError(
            f"can't read {_short(code)!r} as a TAF: it needs a station, a time and a validity like "
            "'TAF KXYZ 201120Z 2012/2112'; correct it or leave it out.",
            where=where,
        )
    return found, parser.missed


def _seen(container: Any) -> Seen:
    """Wind, visibility, cloud and weather of a forecast period or trend."""
    visibility, bound = _visibility(container)
    clouds = [
        Cloud(c.quantity.name, None if c.height is None else c.height * units.FT_M, c.type.name if c.type else "")
        for c in container.clouds
        if c.quantity.name not in {"SKC", "CLR", "NSC", "NCD"}
    ]
    if container.vertical_visibility is not None:
        clouds.append(Cloud("VV", container.vertical_visibility * units.FT_M))
    said = bool(container.clouds) or container.vertical_visibility is not None or container.cavok
    return Seen(
        _taf_wind(container.wind), visibility, bound, tuple(clouds) if said else None, _weather_codes(container),
        _shear(getattr(container, "wind_shear", None)),
    )  # fmt: skip


def _shear(group: Any) -> tuple[str, ...]:
    """The wind-shear group of a forecast as printed: height in hundreds of feet, wind there."""
    if group is None or group.height is None:
        return ()
    direction = "VRB" if group.degrees is None else f"{group.degrees:03d}"
    return (f"WS{group.height // 100:03d}/{direction}{group.speed:02d}KT",)


def _taf_wind(wind: Any) -> Wind | None:
    if wind is None or wind.speed is None:
        return None
    factor = _SPEED[wind.unit or "KT"]
    direction = None if wind.degrees is None or wind.speed == 0 else wind.degrees * units.DEG_RAD
    return Wind(direction, wind.speed * factor, None if wind.gust is None else wind.gust * factor)


def _visibility(container: Any) -> tuple[float | None, str]:
    if container.cavok:
        return 10_000.0, ">"
    if container.visibility is None or container.visibility.distance is None:
        return None, ""
    text = str(container.visibility.distance).removesuffix("SM").removesuffix("m").removesuffix("km").strip()
    match = _VIS_TEXT.match(text)
    if match is None:
        return None, ""
    number = float(match[2] or 0) + float(match[3]) / float(match[4] or 1)
    metric = getattr(container.visibility.unit, "name", "") == "METERS"
    return number * (1.0 if metric else units.SM_M), {"P": ">", "M": "<"}.get(match[1], match[1])


def _weather_codes(container: Any) -> tuple[str, ...]:
    codes = []
    for w in container.weather_conditions:
        parts = [w.intensity.value if w.intensity else "", w.descriptive.value if w.descriptive else ""]
        codes.append("".join([*parts, *(p.value for p in w.phenomenons)]))
    return (*codes, *getattr(container, "nearby", ()))


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."
