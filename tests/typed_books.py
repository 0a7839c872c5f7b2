"""Invented books as a person types them, and what the questions make of them: on the page, without its pages.

Question after question, a bar or a new line after each; an empty answer skips one, and ends a table.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from airwork.airplane.writing import Question, assemble, questions, toml_text

# Typed as a person does, in whatever unit is at hand.
EVENING = """Testbird 160||N160|Testbird handbook 1966|4|mph||normal utility|2300 lb||165|34 ft
155|2700|carb|yes|75|lean to peak RPM|50 less|fixed|74 in|2300 2450
left wing, 21, 20|right wing, 21 gal, 75.7 L|
left, left wing|right, right wing|off, none|
30|10|fullest|on for takeoff
lever|12, 121|24, 100 kt|36, 109|
50, 57|60, 65|80, 81|100, 100|130, 128|
40, 48|60, 64|80, 81|110, 110||
|47|57|72|91|122|79|67|maneuvering, 2000, 114|
|178|143|121|white, 47, 121|green, 57, 143|yellow, 143, 178||2700|-1.52 3.8|0, 2|15|14000|spins; flying inverted long
firewall|1385|85.8|front seats, 85, 500|rear seats, 117.5, 400|fuel, 95|baggage, 141, 120|
|1400, 82|1900, 82|2300, 86|2300, 93|1400, 93|
1400, 82|1900, 82|1950, 82.5|1950, 86.5|1400, 86.5|
yes|0 lb|2300||
2300, 0, 57|2300, 3, 47|
4000, 2000, 41|4000, 2400, 63|6000, 2100, 43|6000, 2400, 60|||
4000, 0, 2400, 63, 121, 9.0, 8.1, 7.1|4000, 0, 2500, 71, 128, 10, 9.1, -|
||2300, 2000, 20, 640, 78|2300, 4000, 20, 520, 77||-10 % per 10 C
0, 0, 0, 0|4000, 7, 1.6, 9|8000, 17, 3.4, 24|
1|64|||2000, 0, 20, 700, 1465|2000, 2000, 20, 840, 1795|
headwind, -19, 9 kt|dry_grass, 17, -, roll|above_standard, 10, 14 C|
3|67|||2300, 0, 20, 500, 1115|2300, 2000, 20, 535, 1155|
headwind, -19, 9 kt|dry_grass, 15, -, roll|above_standard_temperature, 5, 25 F|
1:9.7"""

# A European book: kg, mm, m, L, deviations from standard; stalls calibrated by bank, corrections of the whole.
EUROPEAN = """Zweisitzer||||2|kt|kg mm m L ISA PS|normal|750||16,3|10.2
100 PS|2700|carb|yes||fixed|170|
left, 60, 55|right, 60, 55|
left, left|right, right|off, none|
|||
|15, 90|35, 80|
50, 52|60, 61|80, 80|100, 99|
40, 44|50, 52|60, 61|80, 80||
calibrated|44|49|57|66|||57|
|150|120|80||2700|||||
|480|1820|front seats, 1900|fuel, 1950|
|500, 1700|650, 1700|750, 1780|750, 1950|500, 1950|
|calibrated|banks 0° 30°|750, 0, 49, 52.5|750, 2, 44, -|
|above percent speed economy|
0, ISA, 2400, 65, 98, 17,5|2000, 0, 2400, 62, 99, 16.8|
||750, 0, 0, 780, 65|750, 0, 20, 700|750, 2000, 0, 700|750, 2000, 20, 620||
0|52|||750, 0, 0, 240, 480|750, 0, 20, 270, 540|750, 2000, 0, 290, 590|750, 2000, 20, 330, 670|
dry_grass, 10, -, whole|headwind, -10, 9|
2|57|||750, 0, 0, 150, 400|750, 0, 20, 155, 410|750, 2000, 0, 160, 420|750, 2000, 20, 165, 430|
dry_grass, 10, -, whole|headwind, -10, 9|
1:11"""

# Source of the form: books of the 1970s, one weight, standard air, a column for each wind, speeds calibrated; invented.
SEVENTIES = """Old Four||||4|mph|°F|normal|2300 lb||174|36 ft 1 in
150 hp|2700|carb|yes||fixed|76|
left, 21, 19|right, 21, 19|
left, left|right, right|off, none|
|||
|10, 110|40, 100|
50, 57|60, 65|80, 81|100, 100|130, 128|
40, 48|60, 64|80, 81|110, 110||
calibrated|55|63|74|83|120|80|78|
calibrated|174|140 MCAS|100||2700|-1.52 3.8|0 2||13,100|
|1385|40|front seats, 37|rear seats, 73|fuel, 48|baggage, 95, 120|
mac|58.8|25.9|1500, 16|1950, 16|2300, 22|2300, 36|1500, 36|
|calibrated||2300, 0, 63|2300, 1, 60|2300, 2, 55|
|speed best_power|
2500, 2300, 112, 7.0|2500, 2500, 123, 8.6|5000, 2300, 111, 6.7|5000, 2500, 122, 8.1|7500, 2500, 121, 7.7|
altitude||0, 670|5000, 440|10000, 210||-20 fpm per 10 C|
0|70|altitude|wind 0 10 20 kt|0, 865, 1525, 615, 1170, 405, 850
5000, 1255, 2480, 920, 1955, 635, 1480|
above_standard, 10, 25 F, share|
2|70|wind altitude||0, 0, 520, 1250|0, 5000, 600, 1385|
hot, 10, 60 F, share|head wind, -10, 4 kt|
9:1"""

# A diesel: one lever sets the load, no RPM is printed; kW, kg, m, L. Invented.
DIESEL = """Diesel||||4|kt|kg, arm m, m L kW|normal|1120||16,2|11,2
108|2300|fuel inj|diesel||constant|1,90 m|
left, 61, 57|right, 61, 57|
off, none|left, left|right, right|
|||
|10, 104|35, 93|||
|46|55|62|74|108|74|61|
|180|143|93||2300|-1,52 3,8||7 m/s||
|661|0,962|front seats, 1,13, 230|rear seats, 2,05, 200|fuel, 1,23|baggage, 2,63, 50|
|750, 0,9|950, 0,9|1120, 1,01|1120, 1,17|750, 1,17|
1120||
1120, 0, 55|1120, 2, 46||
above load speed rich|
2000, 0, 60, 97, 17.7|2000, 0, 70, 105, 20.6|2000, 0, 80, 112, 23.6|6000, 0, 70, 109, 20.6||
||
1||altitude temp||0, 15, 300, 520|2000, 11, 350, 610|
temperature, 10, 10 C|dry grass, 15, -, roll|headwind, -10, 9|
|||||
10.5"""


def cells_of(line: str) -> list[str]:
    """The cells of a row: a comma and a blank stand between."""
    return re.split(r",\s+", line.strip())


def answered(book: str) -> Iterator[tuple[Question, str | list[list[str]], Any]]:
    """(question, what is typed: a text or rows of cells, the answer as read) of a book, in a handbook's order."""
    left = iter(book.replace("\n", "|").split("|"))
    answers: dict[str, Any] = {}
    while (q := next((q for q in questions(answers) if q.key not in answers), None)) is not None:
        if q.columns:
            rows = [cells_of(line) for line in iter(lambda: next(left, ""), "")]
            answers[q.key] = [q.row_of(row) for row in rows]
            for row in answers[q.key]:
                if q.look is not None:
                    q.look(row)
            yield q, rows, answers[q.key]
        else:
            text = next(left)
            answers[q.key] = q.read(text or q.default) if text or q.default else None
            yield q, text, answers[q.key]
    assert next(left, None) is None, "answers to spare"


def answers_of(book: str) -> dict[str, Any]:
    """The answers by question."""
    return {q.key: answer for q, _, answer in answered(book)}


def file_text(book: str) -> str:
    """The airplane file of a book."""
    return toml_text(assemble(answers_of(book)))
