"""The hours of a pilot's flights as rows, and printed as a table with sums over as many pages as it takes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from airwork.logbook.pages import FlightLine, Totals
from airwork.logbook.records import Person, hours
from airwork.output.typeset import Paper, typeset

SEAL_MARK = {"sealed": " ✓", "claimed": " (claimed)", "broken": " (BROKEN SEAL)", "not signed": ""}
KINDS = ("total", "dual", "solo", "pic", "cross_country", "night")
HEAD = ("date", "airplane", "route", "with", "total", "dual", "solo", "pic", "xc", "night", "instr", "ldg", "night ldg",
        "remarks")  # fmt: skip


def hours_rows(lines: Sequence[FlightLine], sums: Totals) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """Each flight as cells under `HEAD`, in the order given, and the sums. Hours as logged, blank for none."""
    rows = []
    for line in lines:
        f = line.logged.flight
        landings = [m for m in line.logged.movements if m.what == "landing"]
        rows.append(
            (
                f.local_date.isoformat(), _airplane(line), line.way,
                line.instructor + SEAL_MARK[line.signed.state],
                *(hours(getattr(f, f"{k}_s")) for k in KINDS),
                hours(f.instrument_actual_s + f.instrument_simulated_s),
                str(sum(m.number for m in landings) or ""), str(sum(m.number for m in landings if m.night) or ""),
                f.remarks.replace("\n", " "),
            )
        )  # fmt: skip
    instrument = sums.time_s("instrument_actual") + sums.time_s("instrument_simulated")
    total = (
        "sum", "", "", "", *(hours(sums.time_s(k)) for k in KINDS), hours(instrument), str(sums.landings or ""),
        str(sums.landings_night or ""), f"{sums.flights} flights",
    )  # fmt: skip
    return rows, total


def hours_pdf(
    pilot: Person, lines: Sequence[FlightLine], sums: Totals, printed_on: date, paper: Paper = "letter"
) -> bytes:
    """The flights as a PDF, the head repeated on each page, sums at the end, room for a signature."""
    rows, total = hours_rows(lines, sums)
    data = {
        "pilot": pilot.name,
        "certificate": " ".join(filter(None, (pilot.certificate_held, pilot.certificate_number))),
        "printed": printed_on.isoformat(),
        "span": f"{rows[0][0]} to {rows[-1][0]}" if rows else "no flights",
        "head": HEAD,
        "rows": rows,
        "total": total,
    }
    return typeset("hours.typ", data, paper, across=True)


def _airplane(line: FlightLine) -> str:
    plane = line.logged.airplane
    return f"{plane.registration} {plane.make_model}" if plane else ""
