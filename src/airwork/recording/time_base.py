"""One honest time base: strictly increasing seconds. Bad stamps, clock jumps, midnight, shared stamps, disorder, gaps.

Rows lie in the order they were written; a clock may be wrong, the order rarely is. So stamps are mended towards the
order where few are off, and rows are moved or left out only where the stamps clearly say so. All of it is reported.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import way_m
from airwork.errors import InputError
from airwork.recording.recorded import Array, Recorded
from airwork.recording.stamps import DAY_S

_HOLE = 1.5  # steps between rows of which one is missing
_LEAP_S = 6 * 3600.0  # a step beyond this is the clock, not the flight
_EARLIEST_S, _LATEST_S = 788_918_400.0, 4_102_444_800.0  # 1995 to 2100
_YEAR_1_S, _YEAR_9999_S = -6.21e10, 2.53e11  # a calendar's first and last years
_LONGEST_S = 36 * 3600.0  # no flight is longer; what lies further off is another one
_TICK_S = 1e-6
# A clock is set seldom and by much; the airplane flies on meanwhile.
_SET_ROWS, _SET_S, _SET_PLACES, _SET_STEP_S, _SET_MPS = 60, 300.0, 3, 10.0, 15.0
# Steps so much shorter than the usual one; times the usual speed; of the rows: more often it is how rows come.
_SLOW_STEP_S, _CLOSE, _LEAPS, _OFTEN_CLOSE = 0.5, 0.1, 3.0, 0.2
_LEAST_KEPT = 0.02
_FEW_ROWS = 5  # a stretch this short with a foreign clock is bad stamps, not a clock that was set
_APART_M = 2_000.0  # between two rows: no flight goes so far from one to the next
_TOO_MANY_PARTS = 500
_ANOTHER_DAY_S = 10 * DAY_S  # a step forward up to this is another flight, not a clock that was set


def mend_time(recorded: Recorded, where: str) -> None:
    """Give the recording a strictly increasing time, in place; every intervention becomes a Mend.

    Raises
    ------
    InputError : fewer than two rows carry a usable time.
    """
    whole = recorded.time_s.size
    _drop_unreadable(recorded)
    if recorded.time_s.size < 2:
        raise InputError("fewer than two rows carry a usable time; nothing to read.", where=where)
    if recorded.clock == "elapsed":
        _begun_anew(recorded)
    _doubt_date(recorded)
    _clock_set_in_flight(recorded)
    if not np.all(np.diff(recorded.time_s) > _TICK_S) or float(np.ptp(recorded.time_s)) >= _LEAP_S:
        if recorded.clock == "time of day":
            _midnight(recorded)
        _foreign_stretches(recorded)
        _order(recorded)
        _shared_stamps(recorded)
        _leave_out(recorded, _forward(recorded.time_s), "whose time doesn't advance")
    _on_the_heels(recorded)
    if recorded.time_s.size < 2:
        raise InputError("fewer than two rows carry a usable time; nothing to read.", where=where)
    if recorded.time_s.size < _LEAST_KEPT * whole:
        raise InputError(
            f"only {recorded.time_s.size:,} of {whole:,} rows have times that fit together: its time isn't what it is "
            "taken for; name it with: airwork recording map FILE --set COLUMN=time:UNIT.",
            where=where,
        )
    _one_flight(recorded)
    _report_gaps(recorded)


def _one_flight(recorded: Recorded) -> None:
    """Of flights days apart the one with most rows and what lies near it: memory must not follow the days between."""
    t = recorded.time_s
    if t[-1] - t[0] <= _LONGEST_S:
        return
    cuts = np.flatnonzero(np.diff(t) > _LEAP_S) + 1
    if not cuts.size:
        return  # a coarse track: hourly fixes for a month
    starts, ends = np.concatenate(([0], cuts)), np.concatenate((cuts, [t.size]))
    main = int(np.argmax(ends - starts))
    middle = 0.5 * (t[starts[main]] + t[ends[main] - 1])
    first, last = starts[main], ends[main]
    near = np.abs(t - middle) <= 0.5 * _LONGEST_S
    keep = near.copy()
    keep[first:last] = True
    if keep.sum() < 2:
        return
    _leave_out(recorded, keep, "days away from the rest (another flight: give it a file of its own)")


def _forward(t: Array) -> NDArray[np.bool_]:
    """Rows later than every row before them, by more than rounding."""
    if t.size < 2:
        return np.ones(t.size, dtype=bool)
    return np.concatenate(([True], t[1:] > np.maximum.accumulate(t)[:-1] + _TICK_S))


def typical_step_s(time_s: Array) -> float:
    """The usual time between rows. [s]"""
    steps = np.diff(time_s)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 1.0


def _leave_out(recorded: Recorded, keep: NDArray[np.bool_], why: str) -> None:
    bad = np.flatnonzero(~keep)
    if bad.size and keep.any():
        recorded.keep(keep)
        recorded.say(f"{bad.size:,} row{'s' if bad.size > 1 else ''} {why} left out", bad - np.arange(bad.size))


def _drop_unreadable(recorded: Recorded) -> None:
    _leave_out(recorded, np.isfinite(recorded.time_s), "without a readable time")
    if not np.isfinite(recorded.time_s).any():
        recorded.keep(np.isfinite(recorded.time_s))


def _doubt_date(recorded: Recorded) -> None:
    """A date before satellite recorders were about: the clock was never set, or counts from another year."""
    if recorded.clock != "utc" or not recorded.time_s.size:
        return
    middle = float(np.median(recorded.time_s))
    if not _YEAR_1_S < middle < _YEAR_9999_S:
        recorded.clock = "elapsed"
        recorded.say("the date is none of any calendar; only the time from the start is kept", 1)
        return
    month = np.datetime64(int(middle), "s").astype("datetime64[M]")
    buddhist_s = (
        float((month.astype("datetime64[D]") - (month - 543 * 12).astype("datetime64[D]")).astype(np.int64)) * DAY_S
    )
    if _EARLIEST_S < middle - buddhist_s < _LATEST_S:
        recorded.time_s = recorded.time_s - buddhist_s
        recorded.say("the years count as in Thailand; 543 taken off", recorded.time_s.size)
        return
    if not _EARLIEST_S < middle < _LATEST_S:
        day = str(np.datetime64(int(middle), "s"))[:10] if abs(middle) < 1e11 else "none"
        recorded.say(f"the date {day} can't be right: the recorder counts from another year; times kept", 1)


def _midnight(recorded: Recorded) -> None:
    """Clock times without a date that fall back by almost a day: a day is added from there on."""
    steps = np.diff(recorded.time_s)
    falls = steps < -0.5 * DAY_S
    if falls.any():
        recorded.time_s = recorded.time_s + np.concatenate(([0.0], np.cumsum(falls))) * DAY_S
        recorded.say("the clock passed midnight; a day was added", falls)


def _begun_anew(recorded: Recorded) -> None:
    """A count that falls back to its beginning, as after a power cut: it goes on from there."""
    t = recorded.time_s
    falls = np.flatnonzero((np.diff(t) < -_FEW_ROWS) & (np.abs(t[1:] - t[0]) < _FEW_ROWS))
    if 0 < falls.size <= _SET_PLACES:
        ahead = np.zeros(t.size)
        ahead[falls + 1] = t[falls] - t[falls + 1] + typical_step_s(t)
        recorded.time_s = t + np.cumsum(ahead)
        recorded.say("the count of seconds begins anew; how long it paused isn't known", falls)


def _clock_set_in_flight(recorded: Recorded) -> None:
    """A clock set by minutes or hours while the positions fly on: the rows after it are joined by their order."""
    latitude, longitude = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    t = recorded.time_s
    if latitude is None or longitude is None or t.size < _SET_ROWS:
        return
    step = typical_step_s(t)
    cuts = np.flatnonzero(np.abs(np.diff(t)) > _SET_S)
    if not 0 < cuts.size <= _SET_PLACES or step > _SET_STEP_S:
        return
    way = way_m(latitude, longitude)
    for k in cuts.tolist():
        near = np.concatenate((way[max(k - 5, 0) : k], way[k + 1 : k + 6]))
        usual = float(np.nanmedian(near)) if np.isfinite(near).any() else 0.0
        if usual < _SET_MPS * step or not way[k] < 3.0 * usual:
            continue
        apart = t[k + 1] - t[k]
        if never := apart > DAY_S:  # what it said before it was ever set is no time
            t = np.concatenate((t[: k + 1] + apart - step, t[k + 1 :]))
        else:
            t = np.concatenate((t[: k + 1], t[k + 1 :] - apart + step))
        count = k + 1 if never else t.size - k - 1
        passed = abs(apart + DAY_S) < _SET_S and "the clock passed midnight; a day was added"
        joined = f"{count:,} rows joined to the rest by their order"
        what = passed or f"the clock was set by {apart:+,.0f} s in flight; {joined}"
        recorded.say(what, np.array([k + 1]), count=count)
    recorded.time_s = t


def _foreign_stretches(recorded: Recorded) -> None:
    """Stretches whose clock belongs to another day or year than the rest."""
    t = recorded.time_s
    if t.size < 2:
        return
    step = typical_step_s(t)
    cuts = np.flatnonzero(np.abs(np.diff(t)) > _LEAP_S) + 1
    if not cuts.size or cuts.size > _TOO_MANY_PARTS:
        if cuts.size:
            middle = float(np.median(t))
            _leave_out(recorded, np.abs(t - middle) < 2 * DAY_S, "with a time far from all others")
        return
    starts = np.concatenate(([0], cuts))
    ends = np.concatenate((cuts, [t.size]))
    lengths = ends - starts
    main = int(np.argmax(lengths))
    level = float(np.median(t[starts[main] : ends[main]]))
    near = DAY_S if recorded.clock != "utc" else _ANOTHER_DAY_S
    home = np.array([abs(float(np.median(t[a:b])) - level) < near for a, b in zip(starts, ends, strict=True)])
    if recorded.clock == "utc":  # the far side of a date that lags its clock at midnight
        home = _rejoin_lagging_date(recorded, starts, ends, home)
    brought = _Brought(recorded.time_s.copy(), np.ones(t.size, dtype=bool))
    for k in np.flatnonzero(~home):
        before = next((int(ends[j]) - 1 for j in range(k - 1, -1, -1) if home[j]), None)
        after = next((int(starts[j]) for j in range(k + 1, len(starts)) if home[j]), None)
        home[k] = brought.home(recorded, (int(starts[k]), int(ends[k])), before, after, step)
    recorded.time_s = brought.time_s
    brought.say(recorded)


@dataclass(slots=True)
class _Brought:
    """Stretches with a foreign clock brought to the others' time, or left out."""

    time_s: Array
    keep: NDArray[np.bool_]
    put_between: list[NDArray[np.intp]] = field(default_factory=list)
    shifted: list[NDArray[np.intp]] = field(default_factory=list)
    apart: int = 0  # recordings of another time and place

    def home(
        self, recorded: Recorded, rows: tuple[int, int], before: int | None, after: int | None, step: float
    ) -> bool:
        """One stretch; True where it belongs to the rest from now on. before, after : the rest's rows beside it."""
        a, b = rows
        t = self.time_s
        if b - a <= _FEW_ROWS:
            self._few(a, b, before, after, step)
            return False
        if _elsewhere(recorded, (before, a), (b - 1, after)):
            self.keep[a:b], self.apart = False, self.apart + 1
            return False
        if after is not None:
            t[a:b] += t[after] - step - t[b - 1]
        elif before is not None:
            t[a:b] += t[before] + step - t[a]
        else:
            return False
        self.shifted.append(np.arange(a, b))
        return True

    def _few(self, a: int, b: int, before: int | None, after: int | None, step: float) -> None:
        """A few rows: between their neighbors where there is just so much room, else left out."""
        t = self.time_s
        room, count = 0.0, 0
        if before is not None and after is not None:
            room, count = t[after] - t[before], after - before
        if before is not None and 0 < room <= 1.5 * step * count + 1e-9:
            inside = np.arange(a, b)
            t[inside] = t[before] + (inside - before) * room / count
            self.put_between.append(inside)
        else:
            self.keep[a:b] = False

    def say(self, recorded: Recorded) -> None:
        """What was done, as mends; rows are left out last."""
        if self.put_between:
            rows = np.concatenate(self.put_between)
            recorded.say(f"{rows.size} rows with an impossible time put back between their neighbors", rows)
        if self.shifted:
            rows = np.concatenate(self.shifted)
            joined = f"{rows.size} rows joined to the rest by their order"
            recorded.say(f"the clock was set during the recording; {joined}", rows)
        if not self.keep.all():
            apart, several = self.apart, "s" * (self.apart > 1)
            others = f"of {apart} other recording{several} at other times and places (give each a file of its own)"
            _leave_out(recorded, self.keep, others if apart else "with an impossible time")


def _elsewhere(recorded: Recorded, *joints: tuple[int | None, int | None]) -> bool:
    """Far away at each of its joints with the rest: no clock was set, it was flown another time."""
    latitude, longitude = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    if latitude is None or longitude is None:
        return False
    pairs = [np.array(pair) for pair in joints if None not in pair]
    away = [float(way_m(latitude[pair], longitude[pair])[0]) for pair in pairs]
    return bool(away) and all(x > _APART_M for x in away)


def _rejoin_lagging_date(
    recorded: Recorded, starts: NDArray[np.intp], ends: NDArray[np.intp], home: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """A date that changes some rows before or after its clock at midnight: a few rows are a day off, there and back."""
    t = recorded.time_s.copy()
    if not (np.diff(t) < 0.0).any():
        return home
    for k in range(1, len(starts)):
        jump = t[starts[k]] - t[starts[k] - 1]
        days = round(jump / DAY_S)
        if days and abs(days) <= 1 and abs(jump - days * DAY_S) < 60.0:
            t[starts[k] : ends[k]] -= days * DAY_S
            home[k] = home[k - 1]
            rows = np.arange(starts[k], ends[k])
            recorded.say("date and clock disagreed about midnight; put right", rows)
    recorded.time_s = t
    return home


def _order(recorded: Recorded) -> None:
    steps = np.diff(recorded.time_s)
    back = steps < 0
    if not back.any():
        return
    count = int(back.sum())
    worst = float(-steps.min())
    order = np.argsort(recorded.time_s, kind="stable")
    recorded.keep(order)
    places = "one place" if count == 1 else f"{count:,} places"
    what = f"rows were out of order in {places} (by up to {worst:,.0f} s); sorted"
    recorded.say(what, np.diff(order) < 0, count=count)


def _shared_stamps(recorded: Recorded, *, holes: int = 20) -> None:
    """Rows that share one time: true doubles are left out, others spread over the time to the next stamp."""
    t = recorded.time_s
    same = np.diff(t) == 0
    if not same.any():
        return
    double = _equal_rows(recorded, same)
    if double.any():
        keep = np.concatenate(([True], ~double))
        rows = np.flatnonzero(double)
        recorded.keep(keep)
        recorded.say(f"{rows.size} repeated rows left out", rows - np.arange(rows.size))
        t = recorded.time_s
        same = np.diff(t) == 0
        if not same.any():
            return
    first = np.concatenate(([True], ~same))
    starts = np.flatnonzero(first)
    counts = np.diff(np.concatenate((starts, [t.size])))
    stamps = t[starts]
    gaps = np.diff(stamps)
    usual = float(np.median(gaps)) if gaps.size else 1.0
    hole = (counts[1:] == 2) & (gaps > _HOLE * usual) & (np.append(gaps[1:], usual) < _HOLE * usual)  # one came late
    if holes and np.median(counts) == 1 and hole.any():
        late = starts[1:][hole]
        recorded.time_s = t.copy()
        recorded.time_s[late] -= 0.5 * np.minimum(gaps[hole], 2.0 * usual)
        recorded.say("of two rows with one time the first put into the empty time before it", late)
        _shared_stamps(recorded, holes=holes - 1)  # a step too small for its clock moves nothing
        return
    room = np.minimum(np.concatenate((gaps, [usual])), max(usual, 1e-3))
    place = np.arange(t.size) - np.repeat(starts, counts)
    full = np.maximum(counts, np.median(counts))  # the first and the last stamp's time is seldom whole
    step = room / np.concatenate((full[:1], counts[1:-1], full[-1:])) if counts.size > 1 else room / counts
    stamps[0] += room[0] - counts[0] * step[0] if counts.size > 1 else 0.0
    recorded.time_s = np.repeat(stamps, counts) + place * np.repeat(step, counts)
    shared = np.flatnonzero(same) + 1
    recorded.say(f"{shared.size} rows shared their time with the row before; spread evenly", shared)


def _equal_rows(recorded: Recorded, same: NDArray[np.bool_]) -> NDArray[np.bool_]:
    at = np.flatnonzero(same)
    equal = np.ones(at.size, dtype=bool)
    for values in (*recorded.columns.values(), *recorded.extra.values()):
        a, b = values[at], values[at + 1]
        equal &= (a == b) | (np.isnan(a) & np.isnan(b))
        if not equal.any():
            break
    out = np.zeros_like(same)
    out[at] = equal
    # at 10 rows per stamp, standing on the ramp, equal rows are the recorder's rate and not doubles
    return out if equal.mean() > 0.9 or at.size < 0.3 * same.size else np.zeros_like(same)


def _on_the_heels(recorded: Recorded) -> None:
    """A fix right behind another, where it stands still or leaps: written twice, or under the time of the next."""
    latitude, longitude = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    t = recorded.time_s
    if latitude is None or longitude is None or t.size < _SET_ROWS // 2 or typical_step_s(t) < _SLOW_STEP_S:
        return
    way = way_m(latitude, longitude)
    speed = way / np.diff(t)
    usual = float(np.median(speed[np.isfinite(speed)])) if np.isfinite(speed).any() else 0.0
    close = (np.diff(t) < _CLOSE * typical_step_s(t)) & ((way == 0.0) | (speed > _LEAPS * usual)) & (usual > _SET_MPS)
    if close.sum() < _OFTEN_CLOSE * t.size:
        _leave_out(recorded, np.concatenate(([True], ~close)), "right behind another, at its place or a leap away,")


def _report_gaps(recorded: Recorded) -> None:
    steps = np.diff(recorded.time_s)
    gaps = np.flatnonzero(steps > max(5.0 * typical_step_s(recorded.time_s), 3.0))
    if gaps.size:
        longest = f"{float(steps.max()):,.0f} s"
        several = f"{gaps.size} gaps in the recording, the longest {longest}"
        said = f"one gap of {longest} in the recording" if gaps.size == 1 else several
        recorded.say(said, np.append(gaps, gaps[-1] + 1), count=int(gaps.size))
