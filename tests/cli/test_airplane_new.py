"""`airwork airplane new`: a file to start from that says by line what it still needs, and never writes over another."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from airwork.airplane import load_airplane
from airwork.airplane.file.load import BLANK, parse_airplane_file
from airwork.cli import main
from airwork.errors import InputError

ANSWERS = {
    "name": '"Two pages"', "maximum_takeoff_weight_lb": "1500", "airspeed_indicator_unit": '"mph"',
    "rated_power_hp": "85", "rated_rpm": "2575", "fuel_system": '"carburetor"', "type": '"fixed_pitch"',
}  # fmt: skip


ROWS = {
    "airspeed_calibration.flaps_up": ("50", "53", "100", "100"), "performance.stall": ("1500", "40"),
    "performance.cruise": ("2000", "2400", "65", "90", "5.0"), "performance.climb": ("1500", "15", "500", "65"),
    "performance.takeoff": ("1500", "15", "800", "1500", "-10", "9", "15"),
    "performance.landing": ("1500", "15", "550", "1300"), "performance.glide": ("9.0",),
}  # fmt: skip


def parse_refusals(text: str) -> set[str]:
    """Tables whose rows still say FILL IN."""
    with pytest.raises(InputError) as refused:
        parse_airplane_file(text)
    return {f"{one.where.table}" for one in refused.value.each if "still to be filled in" in one.problem}


def test_what_is_needed_is_named_by_line_until_it_is_typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "two_pages.toml"
    assert main(["airplane", "new", str(path)]) == 0
    assert "airwork airplane check --read-back" in capsys.readouterr().out
    assert main(["airplane", "check", str(path)]) == 2
    said = capsys.readouterr().err
    assert re.search(r"\[airplane\] \(line \d+\), maximum_takeoff_weight_lb: still to be filled in", said)
    assert re.search(r"\[airplane\] \(line \d+\), name: still to be filled in", said)
    text = path.read_text()
    with pytest.raises(InputError) as refused:
        load_airplane(path)
    assert "[airplane] (line 8), name: still to be filled in" in [
        f"{one.where.within}: {one.problem}" for one in refused.value.each
    ]
    for key, value in ANSWERS.items():
        text = re.sub(rf'^{key} = "FILL IN"', f"{key} = {value}", text, flags=re.MULTILINE)
    path.write_text(text)
    assert load_airplane(path).name == "Two pages"
    typed = [line for line in text.partition("[airplane]")[2].splitlines() if not line.startswith("# ")]
    assert "FILL IN" not in "\n".join(typed)


def test_every_table_it_shows_is_one_a_file_may_have() -> None:
    """With the # taken away nothing is an unknown key; numbers are not typed yet."""
    text = "".join(f"{line.removeprefix('# ')}\n" for line in BLANK.read_text().partition("\n\n")[2].splitlines()
                   if not re.match(r"# [A-Z]|# typed or", line))  # fmt: skip
    for key, value in ANSWERS.items():
        text = re.sub(rf'^{key} = "FILL IN"', f"{key} = {value}", text, flags=re.MULTILINE)
    assert parse_refusals(text) == set(ROWS)  # an example left as it came is refused, not flown by
    for table, numbers in ROWS.items():
        before, of, after = text.partition(f"[{table}]")
        typed = iter(numbers)
        row = re.compile(r'"FILL IN"')
        head, nxt, rest = after.partition("\n[")
        text = f"{before}{of}{row.sub(lambda _, typed=typed: next(typed), head)}{nxt}{rest}"
    text = re.sub(r"(kias|_lb|_gal|_ft2|_ft|_rpm|_kt|arm_in) = 0\b", r"\1 = 60", text)
    polygon = "polygon = [{ weight_lb = 900, arm_in = 60 }, { weight_lb = 1500, arm_in = 60 }, "
    text = re.sub(r"polygon = \[.*?\n\]", polygon + "{ weight_lb = 900, arm_in = 70 }]", text, flags=re.DOTALL)
    text = text.replace("empty_weight_lb = 60", "empty_weight_lb = 900").replace("_rpm = 60", "_rpm = 2600")
    file = parse_airplane_file(re.sub(r"weight_lb = 60\b", "weight_lb = 1500", text))
    assert file.fuel is not None
    assert file.weight_and_balance is not None
    tables = {name for name in type(file.performance).model_fields if getattr(file.performance, name) is not None}
    assert tables == {"stall", "cruise", "climb", "takeoff", "landing", "glide"}


def test_an_existing_file_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    assert main(["airplane", "new", str(path)]) == 2
    assert "mine.toml" in capsys.readouterr().err
    assert path.read_text() == "mine"
    assert main(["airplane", "new", str(tmp_path / "mine.txt")]) == 2
    assert main(["airplane", "new", str(tmp_path / "missing" / "mine.toml")]) == 2
