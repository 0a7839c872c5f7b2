"""Weather as the lesson knows it: what was seen or forecast, in SI, and what was not said. Immutable.

A field that is None was not reported; nothing unknown ever counts as good.
"""

from __future__ import annotations

from dataclasses import dataclass

from airwork.lesson.remarks import Remarks


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind as reported. Direction FROM; None when it varies or the air is calm.

    magnetic : the direction is magnetic (tower, recorded broadcast) and has still to be turned to true.
    """

    from_rad: float | None
    speed_mps: float
    gust_mps: float | None = None
    varies_from_rad: float | None = None
    varies_to_rad: float | None = None
    magnetic: bool = False

    @property
    def peak_mps(self) -> float:
        """Gust where there is one, else the mean speed. [m/s]"""
        return self.speed_mps if self.gust_mps is None else max(self.gust_mps, self.speed_mps)


@dataclass(frozen=True, slots=True)
class Aloft:
    """Wind, and where given the temperature, at an altitude above sea level. Direction FROM, true."""

    altitude_m: float
    wind: Wind
    temperature_k: float | None = None


@dataclass(frozen=True, slots=True)
class Cloud:
    """One layer: cover FEW, SCT, BKN, OVC or VV (vertical visibility), base above ground where reported."""

    cover: str
    base_agl_m: float | None
    kind: str = ""  # "CB", "TCU"

    @property
    def is_ceiling(self) -> bool:
        """Broken, overcast or an obscured sky."""
        return self.cover in {"BKN", "OVC", "VV"}


@dataclass(frozen=True, slots=True)
class Seen:
    """Wind, visibility, cloud and weather of one report or forecast period.

    visibility_bound : "<" or ">" when the report gives only a bound.
    clouds : () is a sky reported clear; None is not reported.
    weather : codes as reported ("+TSRA", "BR"). shear : wind-shear groups as reported ("WS020/25045KT", "WS R26").
    """

    wind: Wind | None = None
    visibility_m: float | None = None
    visibility_bound: str = ""
    clouds: tuple[Cloud, ...] | None = None
    weather: tuple[str, ...] = ()
    shear: tuple[str, ...] = ()

    @property
    def ceiling_known(self) -> bool:
        """The cloud was reported, and every layer that makes a ceiling has a base."""
        return self.clouds is not None and all(c.base_agl_m is not None for c in self.clouds if c.is_ceiling)

    @property
    def ceiling_m(self) -> float | None:
        """Height above ground of the lowest broken or overcast layer or the vertical visibility; None: none. [m]

        References
        ----------
        [AWH] FAA-H-8083-28, section 24.4.
        """
        bases = [c.base_agl_m for c in self.clouds or () if c.is_ceiling and c.base_agl_m is not None]
        return min(bases) if bases else None


@dataclass(frozen=True, slots=True)
class Trend:
    """A change a report announces: kind BECMG or TEMPO; times are seconds of the day, UTC, as far as given."""

    kind: str
    seen: Seen
    from_s: float | None = None
    until_s: float | None = None
    at_s: float | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """One METAR. Times are seconds since 1970 UTC; wind directions true."""

    station: str
    utc_s: float
    seen: Seen
    temperature_k: float | None
    dewpoint_k: float | None
    setting_pa: float | None
    trends: tuple[Trend, ...]
    text: str
    remarks: Remarks
    no_change: bool = False  # the trend says that nothing significant changes (NOSIG)


@dataclass(frozen=True, slots=True)
class Period:
    """A stretch of time. kind: in a TAF FROM, BECMG; of what it comes to prevailing, becoming; TEMPO, PROB30 ..."""

    kind: str
    start_utc_s: float
    end_utc_s: float
    seen: Seen

    @property
    def prevailing(self) -> bool:
        """Replaces what stood before, rather than coming and going on top of it."""
        return self.kind in {"FROM", "BECMG"}


@dataclass(frozen=True, slots=True)
class Forecast:
    """One TAF."""

    station: str
    start_utc_s: float
    end_utc_s: float
    periods: tuple[Period, ...]
    text: str

    def covers(self, start_utc_s: float, end_utc_s: float) -> bool:
        """The forecast is valid for the whole stretch."""
        return self.start_utc_s <= start_utc_s and end_utc_s <= self.end_utc_s

    def prevailing_at(self, utc_s: float) -> Seen:
        """What prevails at a moment; while something becomes, the one with the stronger wind."""
        here = [s.seen for s in self._prevailing() if s.start_utc_s <= utc_s < s.end_utc_s] or [Seen()]
        return max(here, key=lambda s: s.wind.peak_mps if s.wind else 0.0)

    def between(self, start_utc_s: float, end_utc_s: float) -> tuple[Period, ...]:
        """Everything forecast in a stretch of time.

        FROM replaces all; BECMG replaces what it names: both the old and the new count while the change is under
        way; TEMPO and PROB come on top of what prevails, taking from it what they don't name.
        """
        stretches = self._prevailing()
        out = [s for s in stretches if s.start_utc_s < end_utc_s and start_utc_s < s.end_utc_s]
        for period in self.periods:
            if period.prevailing or not (period.start_utc_s < end_utc_s and start_utc_s < period.end_utc_s):
                continue
            under = [s.seen for s in stretches if s.start_utc_s < period.end_utc_s and period.start_utc_s < s.end_utc_s]
            out += [
                Period(period.kind, period.start_utc_s, period.end_utc_s, overlay(seen, period.seen))
                for seen in under or [Seen()]
            ]
        return tuple(out)

    def _prevailing(self) -> list[Period]:
        """What prevails, one stretch after another; overlapping while something becomes."""
        main = sorted((p for p in self.periods if p.prevailing), key=lambda p: p.start_utc_s)
        out: list[Period] = []
        seen = Seen()
        for period, after in zip(main, [*main[1:], None], strict=True):
            seen = period.seen if period.kind == "FROM" else overlay(seen, period.seen)
            until = self.end_utc_s
            if after is not None:  # the old state lives on until a change is complete
                until = after.start_utc_s if after.kind == "FROM" else after.end_utc_s
            kind = "prevailing" if period.kind == "FROM" else "becoming"
            out.append(Period(kind, period.start_utc_s, until, seen))
        return out


def overlay(under: Seen, over: Seen) -> Seen:
    """What `over` names replaces what stood before."""
    keep = over.visibility_m is None
    weather = over.weather if "NSW" not in over.weather else ()
    return Seen(
        wind=over.wind or under.wind,
        visibility_m=under.visibility_m if keep else over.visibility_m,
        visibility_bound=under.visibility_bound if keep else over.visibility_bound,
        clouds=under.clouds if over.clouds is None else over.clouds,
        weather=weather if over.weather else under.weather,
        shear=over.shear or under.shear,
    )
