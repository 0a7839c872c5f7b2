"""The fit's report as text for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from airwork.airplane.performance.report import NOT_SEPARABLE, FitReport

_KINDS = {"level": "level", "full_throttle_climb": "climb", "idle_glide": "glide"}


def fit_text(report: FitReport) -> str:
    """Everything the report holds, one subject after another."""
    return "\n".join(_lines(report))


def _lines(report: FitReport) -> Iterator[str]:
    for part in (_made_from, _left_out, _used, _asked, _book_differences, _known, _missing, _against_book):
        yield from part(report)


def _made_from(report: FitReport) -> Iterator[str]:
    count = len(report.used)
    yield f"{report.airplane}: fitted to {', '.join(report.from_handbook) or 'no handbook table'}"
    flights = f"{report.flights} recorded flight{'' if report.flights == 1 else 's'} and " if report.flights else ""
    yield f"and {flights}{count} reading{'' if count == 1 else 's'} of this airplane."
    yield from (f"  {line}" for line in report.segments)
    yield from (f"  assumed: {assumption}" for assumption in report.assumed)


def _left_out(report: FitReport) -> Iterator[str]:
    if not report.left_out:
        return
    yield from ("", "Left out")
    for item in report.left_out:
        yield f"  {_reading(item.reading)}: {item.why}"
        if item.fit_says is not None:
            yield f"    the fit says {item.fit_says:,.0f} {item.unit}. {item.with_it}".rstrip()
    yield "  Check figure, unit and flap; --keep-outliers uses them all the same."


def _used(report: FitReport) -> Iterator[str]:
    if not report.used:
        return
    yield from ("", "Readings used, and how far the fit of all the others is from each (+ is more than was read)")
    for row in report.used:
        yield f"  {_off(row):<34}{_reading(row)}"
        if not row["checked"]:
            yield f"  {'':<34}nothing checks this reading: a second one with this flap setting would"


def _asked(report: FitReport) -> Iterator[str]:
    yield from _titled("To be asked", report.questions)


def _titled(title: str, lines: Sequence[str]) -> Iterator[str]:
    """Lines under their title; nothing without any."""
    if lines:
        yield from ("", title, *(f"  {line}" for line in lines))


def _book_differences(report: FitReport) -> Iterator[str]:
    yield from ("", "How this airplane differs from its book")
    if report.differences:
        yield from (f"  {d.words}" for d in report.differences)
    else:
        yield "  can't be said: it takes a handbook's tables, and readings or recorded flights of this airplane"
    if report.leans:
        yield f"  {report.leans}"


def _known(report: FitReport) -> Iterator[str]:
    yield from ("", "What is known, with the half-width of the 90 % band")
    yield f"  {'':<34}{'answer':>14}  {'general':>8}{'+ book':>8}{'+ readings':>12}   fixed by"
    for k in report.known:
        again = "" if report.resampled_90 is None else f" (resampled {_n(report.resampled_90[k.answer])})"
        yield (
            f"  {k.answer:<34}{_n(k.value):>9} {k.unit:<4}  {'±' + _n(k.general_90):>8}{'±' + _n(k.handbook_90):>8}"
            f"{'±' + _n(k.readings_90):>12}   {k.by}{again}"
        )
    yield f"  {NOT_SEPARABLE}"


def _missing(report: FitReport) -> Iterator[str]:
    yield from _titled("Still asked for", report.missing)


def _against_book(report: FitReport) -> Iterator[str]:
    if not report.against_book:
        return
    yield from ("", "The physics, fitted to the handbook alone, against its rows (model less printed; calibrated)")
    yield f"  {'table':<34}{'rows':>5}{'mean':>8}{'rms':>8}{'worst':>8}  unit"
    for s in report.against_book_by_table:
        yield f"  {s.table:<34}{s.rows:>5}{s.mean:>+8.1f}{s.rms:>8.1f}{s.worst:>+8.1f}  {s.unit}"
    table = ""
    for row in report.against_book:
        if row.table != table:
            table = row.table
            yield from ("", f"  {table} [{row.unit or '1'}]", f"  {'printed':>10}{'model':>10}{'off':>8}   conditions")
        yield f"  {row.printed:>10,.1f}{row.model:>10,.1f}{row.difference:>+8.1f}   {row.conditions}"


def _off(row: dict[str, Any]) -> str:
    """How far off, in RPM and knots."""
    words = f"{row['off']:+,.0f} {row['off_unit']}"
    knots = row["off_kt"]
    if knots is not None and abs(knots) >= 0.5:
        words += f", as if {abs(knots):.0f} kt {'faster' if knots > 0 else 'slower'}"
    return words


def _reading(row: dict[str, object]) -> str:
    flap = row["flap_notch"]
    parts = [
        _KINDS[str(row["kind"])],
        "flaps up" if flap == 0 else f"flap notch {flap}",
        str(row["dial"]) or f"{row['kcas']:.0f} KCAS",
        f"{row['weight_lb']:,.0f} lb",
        f"{row['pressure_altitude_ft']:,.0f} ft",
    ]
    if "rpm" in row:
        parts.append(f"{row['rpm']:,.0f} RPM")
    if "manifold_pressure_inhg" in row:
        parts.append(f"{row['manifold_pressure_inhg']:.1f} inHg")
    if "rate_of_climb_fpm" in row:
        parts.append(f"{row['rate_of_climb_fpm']:+,.0f} ft/min".replace("-", "−"))
    if row.get("recording"):
        parts.append(f"{row['recording']}, {row.get('note', '')}")
    return ", ".join(parts)


def _n(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 10 else f"{value:,.1f}"
