"""Enter a student, instructor, airplane, place, flight, endorsement, date or note.

  airwork logbook add student "Ann Example" --born 1990-02-03 --zone America/Denver --aimed private
  airwork logbook add airplane INV155 --file larkmoor_155
  airwork logbook add place HOME --lat 40.0 --lon -105.0 --zone America/Denver
  airwork logbook add flight --student Ann --instructor Ike --airplane INV155 --start "2026-06-14 09:00" \\
      --end "2026-06-14 10:18" --route HOME HOME --takeoffs 4 --landings "3 full-stop" --landings 1
  airwork logbook add flights old_pages.csv --student Ann
  airwork logbook add endorsement --student Ann --instructor Ike --kind endorsement.solo --airplane "Larkmoor 155"
  airwork logbook add date --person Ann --kind medical.third --on 2026-01-05
  airwork logbook add note "flares high" --student Ann --by Ike --for-instructors
"""

from __future__ import annotations

import argparse

WHAT = {
    "student": "logbook_add_people", "instructor": "logbook_add_people", "airplane": "logbook_add_fleet",
    "place": "logbook_add_fleet", "flight": "logbook_add_flight", "flights": "logbook_add_flight",
    "endorsement": "logbook_add_papers", "date": "logbook_add_papers", "note": "logbook_add_papers",
}  # fmt: skip


def configure(parser: argparse.ArgumentParser) -> None:
    """What to enter; the rest belongs to it, whose module takes `what` beside what every command's takes."""
    parser.add_argument("what", choices=list(WHAT), metavar="WHAT", help=", ".join(WHAT))
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)
