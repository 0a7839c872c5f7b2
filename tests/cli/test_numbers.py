"""`airwork numbers` as a person types it."""

from __future__ import annotations

import json

import pytest

from airwork.cli import main

EXAMPLE = [
    "numbers",
    "larkmoor_155",
    "--altitude",
    "6500ft",
    "--altimeter",
    "30.05inHg",
    "--oat",
    "24C",
    "--weight",
    "2200lb",
]


def lines(capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What was printed."""
    return capsys.readouterr().out.splitlines()


def test_the_example_is_one_screen_of_at_most_100_columns(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(EXAMPLE) == 0
    screen = lines(capsys)
    assert screen[0] == "Larkmoor 155  (invented airplane)"
    assert max(map(len, screen[:-1])) <= 100
    assert len(screen) < 60
    assert any(
        "55 mph (48 kt)" in line and "53 KCAS" in line and "√W between printed weights" in line for line in screen
    )
    assert "Not for navigation" in screen[-1]


def test_json_has_the_same_numbers_and_nothing_else_on_stdout(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*EXAMPLE, "--json", "--bank", "45deg"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["airplane"]["airspeed_indicator_unit"] == "mph"
    assert [s["key"] for s in data["sections"]] == ["air", "power", "speeds", "climb_glide", "turn"]
    pressure = data["sections"][0]["numbers"][0]
    assert pressure == {
        "key": "pressure_altitude", "name": "pressure altitude", "value": pytest.approx(6381, abs=1), "unit": "ft",
        "how": "formula", "source": "ICAO standard atmosphere",
    }  # fmt: skip
    assert "handbook" in data["caution"]


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        ("--altitude 6500 ft --oat=-5°C", "temperature −5°C"),
        ("--altimeter QNH 1018", "altimeter 30.06 inHg"),
        ("--altitude FL065", "altitude 6,500 ft"),
        ("--weight 980 kg", "weight 2,161 lb"),
        ("--speed-unit kt", "never exceed                   155 kt (178 mph)"),
        ("--power 65% --altitude 4000ft", "setting for 65 %               2,430 RPM"),
        ("--power 65 --altitude 4000ft", "setting for 65 %               2,430 RPM"),
        ("--flaps full --bank 30 --altitude 2000ft", "stall, flaps full (36°)"),
        ("--bank=-30deg", "load factor                    1.15 g"),
        ("--fuel 20 gal --load front seats=340lb", "legal in utility"),
        ("--weight 1900lb --runway 2600ft --runway-heading 27 --wind 240/12kt", "6 kt from the left"),
        ("--weight 1900lb --headwind=-4kt --surface wet grass --slope 1", "tailwind 4 kt, +5 % per 2 kt"),
        ("--weight 1900lb --elevation 1200ft --slope=-1%", "downslope 1.0 %, −6 % per 1 %"),
    ],
)
def test_options_are_read_as_people_write_them(capsys: pytest.CaptureFixture[str], options: str, expected: str) -> None:
    arguments: list[str] = []
    for word in options.split():  # a value may contain a blank, as from a quoted shell word
        if word.startswith("--") or (arguments[-1].startswith("--") and "=" not in arguments[-1]):
            arguments.append(word)
        else:
            arguments[-1] += f" {word}"
    assert main(["numbers", "larkmoor_155", *arguments]) == 0
    assert expected in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (["--altitude", "6500"], "--altitude: '6500' has no unit; write one of ft, m, FL065."),
        (["--weight", "2200 mph"], "--weight: "),
        (["--flaps", "half"], "--flaps: 'half' is no flap position; write up, 1 to 3, or full."),
        (["--wind", "240/12"], "--wind: a wind needs --runway-heading, or give --headwind."),
        (["--wind", "400/12", "--runway-heading", "27"], "400 in '400/12' is no direction"),
        (["--wind", "240/12", "--headwind", "5kt"], "give either --wind with --runway-heading, or --headwind."),
        (["--load", "340lb"], 'write NAME=AMOUNT, e.g. "front seats=340lb"'),
        (["--fuel", "20gal", "--fuel", "left wing=3gal"], "give one amount for all tanks"),
        (["--weight", "9000lb"], "the maximum takeoff weight is 2,300 lb"),
    ],
)
def test_what_cannot_be_read_is_one_line_and_exit_2(
    capsys: pytest.CaptureFixture[str], options: list[str], expected: str
) -> None:
    assert main(["numbers", "larkmoor_155", *options]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert expected in said.err
    assert said.err.count("\n") == 1


def test_a_refused_number_does_not_kill_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["numbers", "larkmoor_155", "--altitude", "13000ft", "--weight", "2250lb", "--elevation", "9000ft"]) == 0
    )
    screen = " ".join(capsys.readouterr().out.split())
    assert "takeoff distance outside the takeoff table at 2,000 lb: pressure altitude 9,000" in screen
    assert "never exceed" in screen


def test_an_unknown_airplane_lists_the_invented_ones(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["numbers", "spitfire"]) == 2
    assert "caldmere_200, larkmoor_155, wrenbrook_108" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_every_invented_airplane_has_its_numbers(capsys: pytest.CaptureFixture[str], name: str) -> None:
    assert main(["numbers", name, "--altitude", "4500ft", "--rpm", "2400"]) == 0
    assert "outside" not in capsys.readouterr().out.split("SPEEDS")[1].split("CLIMB")[0]


def test_the_limit_of_each_flap_notch_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Printed in the airplane file: 105, 100 and 95 kt."""
    assert main(["numbers", "larkmoor_155"]) == 0
    screen = " ".join(capsys.readouterr().out.split())
    for words in ("at most with flaps 1 (12°) 121 mph (105 kt)", "at most with flaps 2 (24°) 115 mph (100 kt)",
                  "at most with flaps full (36°) 109 mph (95 kt)"):  # fmt: skip
        assert words in screen


@pytest.mark.parametrize("wind", ["240/12kt", "24012KT", "240° 12 kt", "240 12"])
def test_a_wind_is_read_in_every_way_it_is_written(capsys: pytest.CaptureFixture[str], wind: str) -> None:
    assert main(["numbers", "larkmoor_155", "--runway-heading", "27", "--wind", wind, "--json"]) == 0
    said = capsys.readouterr().out
    assert main(["numbers", "larkmoor_155", "--runway-heading", "27", "--wind", "240/12 kt", "--json"]) == 0
    assert capsys.readouterr().out == said


def test_a_weight_far_above_the_greatest_is_a_slip_and_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """4,200 lb of 2,300 allowed, or a digit lost: no numbers; 100 lb over: its numbers, with the caution."""
    asked = ["numbers", "larkmoor_155", "--altitude", "6500ft", "--altimeter", "30.05inHg", "--oat", "24C", "--weight"]
    assert main([*asked, "4200lb"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "--weight: 4,200 lb can't be this airplane's; the maximum takeoff weight is 2,300 lb." in told.err
    assert main([*asked, "215lb"]) == 2
    assert "--weight: 215 lb can't be this airplane's" in capsys.readouterr().err
    assert main([*asked, "2400lb"]) == 0
    assert "100 lb over the maximum takeoff weight: not to be flown" in capsys.readouterr().out
