"""What lies around a flight on an offline map: land from the bundled vector file, airports and runways. Degrees."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.errors import InputError
from airwork.web import waters

MARGIN_DEG = 0.8  # airports shown around what was flown
LAND_DEG = 3.0  # land drawn around it: more than any first view shows
WATER_DEG = 1.2  # lakes, rivers and towns around it
MOST_AIRPORTS = 60
MOST_OWN_BYTES = 10_000_000
LINES, AREAS = {"LineString", "MultiLineString"}, {"Polygon", "MultiPolygon"}
SKIPPED = {"closed", "heliport", "balloonport"}


def surroundings(south: float, west: float, north: float, east: float) -> dict[str, Any]:
    """What a pilot knows the area by, in a box with a margin around: land, lakes, rivers, borders, towns, airports."""

    def box(margin: float) -> tuple[float, float, float, float]:
        return (
            round(max(south - margin, -89.0), 1), round(west - margin, 1),
            round(min(north + margin, 89.0), 1), round(east + margin, 1),
        )  # fmt: skip

    return {
        "land": land_in(*box(LAND_DEG)),
        "airports": airports_in(*box(MARGIN_DEG)),
        **waters.around(*box(WATER_DEG)),
    }


@dataclass(frozen=True)
class World:
    """The land file's lines, and its polygons as rings of line numbers with the box each lies in."""

    arcs: list[NDArray[np.float64]]  # each (n, 2): longitude, latitude
    polygons: list[list[list[int]]]
    boxes: NDArray[np.float64]  # (polygons, 4): west, south, east, north

    def ring(self, numbers: list[int]) -> NDArray[np.float64]:
        """A closed ring; a number below zero is a line run backwards."""
        parts = [self.arcs[k] if k >= 0 else self.arcs[~k][::-1] for k in numbers]
        return np.concatenate([parts[0], *(p[1:] for p in parts[1:])])


@lru_cache(maxsize=1)
def _world() -> World:
    """Read once for a running server."""
    raw = resources.files("airwork.web").joinpath("static", "vendor", "land-10m.json").read_bytes()
    topology = json.loads(raw)
    scale, shift = (np.array(topology["transform"][k]) for k in ("scale", "translate"))
    arcs = [np.cumsum(np.array(arc, dtype=float), axis=0) * scale + shift for arc in topology["arcs"]]
    low, high = np.array([a.min(axis=0) for a in arcs]), np.array([a.max(axis=0) for a in arcs])
    polygons: list[list[list[int]]] = []
    for geometry in topology["objects"]["land"]["geometries"]:
        polygons += geometry["arcs"] if geometry["type"] == "MultiPolygon" else [geometry["arcs"]]
    outer = [[k if k >= 0 else ~k for k in polygon[0]] for polygon in polygons]
    boxes = np.array([[*low[o].min(axis=0), *high[o].max(axis=0)] for o in outer])
    return World(arcs, polygons, boxes)


@lru_cache(maxsize=64)
def land_in(south: float, west: float, north: float, east: float) -> dict[str, Any]:
    """The land inside a box as one GeoJSON geometry."""
    import shapely

    world = _world()
    b = world.boxes
    near = (b[:, 0] <= east) & (b[:, 2] >= west) & (b[:, 1] <= north) & (b[:, 3] >= south)
    parts = []
    for k in np.flatnonzero(near).tolist():
        outer, *holes = (world.ring(r) for r in world.polygons[k])
        shape = shapely.Polygon(outer, [h for h in holes if len(h) > 3])
        part = shapely.clip_by_rect(shape, west, south, east, north)
        if not part.is_empty:
            parts.append(shapely.make_valid(part))
    joined = shapely.union_all(parts) if parts else shapely.Polygon()
    found: dict[str, Any] = json.loads(shapely.to_geojson(shapely.set_precision(joined, 1e-4)))
    return found


@lru_cache(maxsize=64)
def airports_in(south: float, west: float, north: float, east: float) -> list[dict[str, Any]]:
    """Airports inside a box with their runways' ends; of many, the larger ones and those nearest to the middle."""
    import polars as pl

    from airwork import aerodromes

    raw, ends = aerodromes.table("airports"), aerodromes.table("runways")
    if raw is None or ends is None:
        return []
    lat, lon = pl.col("latitude_deg"), pl.col("longitude_deg")
    size = pl.col("type").replace_strict({"large_airport": 0, "medium_airport": 1}, default=2)
    away = (lat - (south + north) / 2.0).abs() + (lon - (west + east) / 2.0).abs()
    columns = ["ident", "name", "type", "latitude_deg", "longitude_deg"]
    found = (
        pl.read_csv(raw, columns=columns, schema_overrides={"latitude_deg": pl.Float64, "longitude_deg": pl.Float64})
        .filter(lat.is_between(south, north), lon.is_between(west, east), ~pl.col("type").is_in(list(SKIPPED)))
        .with_columns(size=size, away=away)
        .sort("size", "away")
        .head(MOST_AIRPORTS)
    )
    out = {
        row["ident"]: {"ident": row["ident"], "name": row["name"], "size": row["size"], "runways": [],
                       "at": [round(row["latitude_deg"], 5), round(row["longitude_deg"], 5)]}
        for row in found.iter_rows(named=True)
    }  # fmt: skip
    four = [f"{end}_{axis}_deg" for end in ("le", "he") for axis in ("latitude", "longitude")]
    strips = pl.read_csv(ends, columns=["airport_ident", *four], schema_overrides=dict.fromkeys(four, pl.Float64))
    for ident, *at in strips.filter(pl.col("airport_ident").is_in(list(out))).drop_nulls().iter_rows():
        out[ident]["runways"].append([[round(at[0], 5), round(at[1], 5)], [round(at[2], 5), round(at[3], 5)]])
    return list(out.values())


def own_map(folder: Path) -> dict[str, Any]:
    """Lakes (areas) and roads (lines) of the user's own GeoJSON files in the folder's map/, geometry only.

    Raises
    ------
    InputError : a file that is no GeoJSON or is too large; names it.
    """
    found: dict[str, list[Any]] = {"lines": [], "areas": []}
    for path in sorted((folder / "map").glob("*.geojson")):
        if path.stat().st_size > MOST_OWN_BYTES:
            raise InputError(f"is larger than {MOST_OWN_BYTES // 1_000_000} MB; cut it to the area.", where=path.name)
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
            features = data["features"] if data["type"] == "FeatureCollection" else [data]
            geometries = [f["geometry"] if f["type"] == "Feature" else f for f in features]
            for geometry in geometries:
                kind = geometry["type"] if geometry else ""
                if kind in LINES | AREAS:
                    shown = {"type": kind, "coordinates": geometry["coordinates"]}
                    found["lines" if kind in LINES else "areas"].append(shown)
        except (ValueError, KeyError, TypeError, RecursionError):
            raise InputError("is no GeoJSON.", where=path.name) from None
    return found
