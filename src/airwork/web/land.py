"""What lies around a flight on an offline map: land from the bundled vector file, airports and runways. Degrees.

Lakes, rivers, borders and towns come from the packed data beside it (map_data/ORIGIN.md).
"""

from __future__ import annotations

import io
import json
import lzma
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from airwork.errors import InputError

PER_DEG, TOWNS_PER_DEG = 10_000, 1000
MOST_TOWNS = 60
CREDIT = "Coast: Natural Earth. Lakes, rivers: GSHHG. Towns: GeoNames, CC BY 4.0. Roads: by your own --tiles."
Kind = Literal["lakes", "rivers", "borders"]


def _read(name: str) -> dict[str, NDArray[Any]]:
    packed = resources.files("airwork.web").joinpath("map_data", f"{name}.npz.xz").read_bytes()
    with np.load(io.BytesIO(lzma.decompress(packed))) as found:
        return {key: found[key] for key in found.files}


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of one kind. points : longitude, latitude, whole. boxes : west, south, east, north of each line."""

    points: NDArray[np.int32]
    starts: NDArray[np.int64]
    counts: NDArray[np.int32]
    levels: NDArray[np.int8]
    boxes: NDArray[np.int32]


@lru_cache(maxsize=3)
def _lines(kind: Kind) -> Lines:
    """Unpacked once for a running server."""
    raw = _read(kind)
    counts = raw["counts"]
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.int64)
    points = np.cumsum(raw["steps"], axis=0, dtype=np.int64)
    before = np.repeat(points[starts] - raw["steps"][starts], counts, axis=0)  # each line begins anew
    points = (points - before).astype(np.int32)
    low, high = (f.reduceat(points, starts, axis=0) for f in (np.minimum, np.maximum))
    return Lines(points, starts, counts, raw["levels"], np.hstack([low, high]))


def lines_in(kind: Kind, south: float, west: float, north: float, east: float) -> list[dict[str, Any]]:
    """Lines that come near a box: {"level", "points": [[latitude, longitude], …]}; a long one is cut to the box."""
    all_ = _lines(kind)
    b = all_.boxes
    w, s, e, n = (round(x * PER_DEG) for x in (west, south, east, north))
    near = np.flatnonzero((b[:, 0] <= e) & (b[:, 2] >= w) & (b[:, 1] <= n) & (b[:, 3] >= s))
    out = []
    for k in near.tolist():
        points = all_.points[all_.starts[k] : all_.starts[k] + all_.counts[k]]
        if kind != "lakes":  # the stretch inside, one point more on each side
            x, y = points.T
            inside = np.flatnonzero((x >= w) & (x <= e) & (y >= s) & (y <= n))
            if not inside.size:
                continue
            points = points[max(inside[0] - 1, 0) : inside[-1] + 2]
        out.append({"level": int(all_.levels[k]), "points": (points[:, ::-1] / PER_DEG).round(4).tolist()})
    return out


@lru_cache(maxsize=1)
def _towns() -> tuple[NDArray[np.int32], NDArray[np.uint8], list[str]]:
    raw = _read("towns")
    names = raw["names"].tobytes().decode().split("\n")
    return np.cumsum(raw["at"], axis=0, dtype=np.int64).astype(np.int32), raw["size"], names


def towns_in(south: float, west: float, north: float, east: float) -> list[dict[str, Any]]:
    """The largest towns of a box, largest first: {"name", "at", "people"} (people to a tenth of a power of ten)."""
    at, size, names = _towns()
    w, s, e, n = (round(x * TOWNS_PER_DEG) for x in (west, south, east, north))
    inside = np.flatnonzero((at[:, 0] >= w) & (at[:, 0] <= e) & (at[:, 1] >= s) & (at[:, 1] <= n))
    most = inside[np.argsort(-size[inside].astype(int), kind="stable")][:MOST_TOWNS]
    return [
        {"name": names[k], "at": [at[k, 1] / TOWNS_PER_DEG, at[k, 0] / TOWNS_PER_DEG],
         "people": round(10.0 ** (int(size[k]) / 10))}
        for k in most.tolist()
    ]  # fmt: skip


def around(south: float, west: float, north: float, east: float) -> dict[str, Any]:
    """Everything of a box, and whose data it is."""
    box = south, west, north, east
    return {"lakes": lines_in("lakes", *box), "rivers": lines_in("rivers", *box),
            "borders": lines_in("borders", *box), "towns": towns_in(*box), "credit": CREDIT}  # fmt: skip


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
        **around(*box(WATER_DEG)),
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
