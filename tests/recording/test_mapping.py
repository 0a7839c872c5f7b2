"""A layout settled once is found again by the header."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.mapping import FILE_NAME, find_mapping, fingerprint, write_mapping
from recording.test_layouts import MADE
from recording.writing import GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

ODD = {
    "Qx": ("lat_deg", 7),
    "Qy": ("lon_deg", 7),
    "Qh": ("alt_m", 2),
    "Qv": ("ias_kmh", 3),
    "Roll": ("bank_deg", 2),
}
SETTLED = {"Qx": "latitude:deg", "Qy": "longitude:deg", "Qh": "indicated_altitude:m",
           "Qv": "indicated_airspeed:km/h",
           "Roll": "ignore"}  # fmt: skip
NAMES = ["UTC Time", *ODD]


def test_without_a_mapping_odd_names_are_read_by_their_cells_and_said(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, ODD)))
    said = [m.what.partition(":")[0] for m in flight.mends if "taken as" in m.what]
    assert said == ["'Qx' taken as latitude", "'Qy' taken as longitude", "'Qh' taken as gps altitude",
                    "'Qv' taken as indicated airspeed"]  # fmt: skip
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-8)
    assert flight["gps_altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.02)
    assert flight["ias_mps"] == pytest.approx(GET["ias_kmh"](MADE) / 3.6, abs=0.01)


def test_places_too_coarse_to_show_the_way_are_listed(tmp_path: Path) -> None:
    coarse = {name: (key, min(digits, 2)) for name, (key, digits) in ODD.items()}
    assert read_flight(save(tmp_path, table(MADE, coarse))).source["not_understood"] == ["Qx", "Qy", "Qh", "Qv"]


def test_a_mapping_beside_the_file_is_found_by_the_header(tmp_path: Path) -> None:
    write_mapping(tmp_path / FILE_NAME, NAMES, SETTLED, "one.csv")
    flight = read_flight(save(tmp_path, table(MADE, ODD), "two.csv"))
    assert flight["ias_mps"] == pytest.approx(GET["ias_kmh"](MADE) / 3.6, abs=0.01)
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-8)
    assert flight.columns["altitude_m"].values == pytest.approx(MADE.altitude_m, abs=0.02)
    assert "Roll" in flight.source["not_needed"]
    assert flight.source["mapping"].endswith(FILE_NAME)


def test_another_header_has_another_fingerprint(tmp_path: Path) -> None:
    assert fingerprint(["a", "b"]) != fingerprint(["b", "a"])
    assert fingerprint([" A ", "b"]) == fingerprint(["a", "B"])
    write_mapping(tmp_path / FILE_NAME, ["other"], SETTLED, "x")
    assert not read_flight(save(tmp_path, table(MADE, ODD))).source.get("mapping")


def test_writing_keeps_the_other_layouts_and_replaces_the_same(tmp_path: Path) -> None:
    path = tmp_path / FILE_NAME
    write_mapping(path, ["a"], {"a": "bank:deg"}, "a.csv")
    write_mapping(path, ["b"], {"b": "pitch:deg"}, "b.csv")
    write_mapping(path, ["a"], {"a": "bank:rad"}, "a2.csv")
    layouts = tomllib.loads(path.read_text())["layouts"]
    assert layouts[fingerprint(["a"])]["columns"] == {"a": "bank:rad"}
    assert layouts[fingerprint(["b"])]["columns"] == {"b": "pitch:deg"}


def test_a_mapping_given_by_name_must_hold_the_layout(tmp_path: Path) -> None:
    path = tmp_path / "school.toml"
    write_mapping(path, ["other"], {}, "x")
    with pytest.raises(InputError, match="holds no layout for the header"):
        read_flight(save(tmp_path, table(MADE, ODD)), mapping=path)
    write_mapping(path, NAMES, SETTLED, "x")
    assert np.isfinite(read_flight(save(tmp_path, table(MADE, ODD)), mapping=path)["ias_mps"]).all()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[layouts", "not valid TOML"),
        ("[layouts.x]\ncolumns = { a = 3 }", "columns must be"),
        ("\xff", "not UTF-8 text"),
    ],
)
def test_a_broken_mapping_is_refused_by_name(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "m.toml"
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(InputError, match=message):
        find_mapping(tmp_path / "f.csv", ["a"], path)


def test_a_mapping_with_an_unknown_quantity_or_unit_is_refused(tmp_path: Path) -> None:
    for meaning, message in (("speediness:kt", "no such quantity"), ("bank:furlong", "unknown")):
        write_mapping(tmp_path / FILE_NAME, NAMES, {**SETTLED, "Roll": meaning}, "x")
        with pytest.raises(InputError, match=message):
            read_flight(save(tmp_path, table(MADE, ODD)))


def test_numbers_without_names_can_be_named(tmp_path: Path) -> None:
    rows = "\n".join(f"{k},{40 + k * 1e-4:.6f},{-100 + k * 1e-4:.6f},{1000 + k}" for k in range(100))
    path = save(tmp_path, rows + "\n")
    with pytest.raises(InputError, match="no column tells the time"):
        read_flight(path)
    columns = {
        "column 1": "elapsed:s",
        "column 2": "latitude:deg",
        "column 3": "longitude:deg",
        "column 4": "gps_altitude:ft",
    }
    write_mapping(tmp_path / FILE_NAME, [f"column {k}" for k in range(1, 5)], columns, "x")
    flight = read_flight(path)
    assert len(flight) == 100
    assert flight["gps_altitude_m"][0] == pytest.approx(304.8)
