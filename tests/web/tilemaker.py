"""Makes a small PMTiles file by the format's own public library: a lake, a road and a named town near KOGA."""

from __future__ import annotations

import gzip
import math
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import mapbox_vector_tile
from pmtiles.tile import Compression, TileType, zxy_to_tileid
from pmtiles.writer import write

WEST, SOUTH, EAST, NORTH = -102.4, 40.8, -101.2, 41.9
LAKE = [(-101.95, 41.20), (-101.60, 41.20), (-101.60, 41.27), (-101.95, 41.27), (-101.95, 41.20)]
ROAD = [(-102.30, 41.05), (-101.70, 41.13), (-101.25, 41.10)]
TOWN = (-101.72, 41.13)
LAYERS = ("earth", "water", "roads", "places")
GROUND = [(-103.0, 40.0), (-100.5, 40.0), (-100.5, 42.5), (-103.0, 42.5), (-103.0, 40.0)]


def place_of(longitude: float, latitude: float, zoom: int) -> tuple[float, float]:
    """Tile numbers with fractions in the web's Mercator projection."""
    n = 1 << zoom
    y = math.asinh(math.tan(math.radians(latitude)))
    return (longitude + 180.0) / 360.0 * n, (1.0 - y / math.pi) / 2.0 * n


def vector_tile(zoom: int, x: int, y: int) -> bytes:
    """One tile with everything in it, cut off far outside its edges."""

    def at(point: tuple[float, float]) -> tuple[float, float]:
        px, py = place_of(*point, zoom)
        return (px - x) * 4096.0, (1.0 - (py - y)) * 4096.0

    def ring(points: list[tuple[float, float]]) -> str:
        return ", ".join("{:.1f} {:.1f}".format(*at(p)) for p in points)

    import shapely

    box = shapely.box(-300, -300, 4396, 4396)

    def cut(wkt: str) -> object:
        return shapely.intersection(shapely.from_wkt(wkt), box)

    rows = [("earth", f"POLYGON (({ring(GROUND)}))", {}), ("water", f"POLYGON (({ring(LAKE)}))", {"name": "Test Lake"}),
            ("roads", f"LINESTRING ({ring(ROAD)})", {}),
            ("places", "POINT ({:.1f} {:.1f})".format(*at(TOWN)), {"name": "Test Town"})]  # fmt: skip
    layers = []
    for name, wkt, properties in rows:
        shape = cut(wkt)
        if not shape.is_empty:  # type: ignore[attr-defined]
            layers.append({"name": name, "features": [{"geometry": shape, "properties": properties}]})
    return gzip.compress(mapbox_vector_tile.encode(layers), mtime=0)


def picture_tile(zoom: int, x: int, y: int) -> bytes:
    """A PNG of one color, 256 by 256."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = (b"\x00" + b"\xc0\x20\x20" * 256) * 256
    head = struct.pack(">IIBBBBB", 256, 256, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def make_tiles(path: Path, *, pictures: bool = False, zooms: range = range(11), **metadata: object) -> Path:
    """The file; `metadata` takes the place of the usual one's entries."""
    make: Callable[[int, int, int], bytes] = picture_tile if pictures else vector_tile
    with write(str(path)) as out:
        wanted = []
        for zoom in zooms:
            x0, y0 = place_of(WEST, NORTH, zoom)
            x1, y1 = place_of(EAST, SOUTH, zoom)
            wanted += [(zoom, x, y) for x in range(int(x0), int(x1) + 1) for y in range(int(y0), int(y1) + 1)]
        for zoom, x, y in sorted(wanted, key=lambda t: zxy_to_tileid(*t)):
            out.write_tile(zxy_to_tileid(zoom, x, y), make(zoom, x, y))
        header = {
            "tile_type": TileType.PNG if pictures else TileType.MVT,
            "tile_compression": Compression.NONE if pictures else Compression.GZIP,
            "min_lon_e7": round(WEST * 1e7), "min_lat_e7": round(SOUTH * 1e7),
            "max_lon_e7": round(EAST * 1e7), "max_lat_e7": round(NORTH * 1e7),
            "center_zoom": 8, "center_lon_e7": -1017700000, "center_lat_e7": 411200000,
        }  # fmt: skip
        usual = {
            "attribution": '<a href="https://example.org">drawn for a test</a> &amp; nothing else',
            "vector_layers": [{"id": name, "fields": {"name": "String"}} for name in LAYERS],
        }
        out.finalize(header, {**usual, **metadata})
    return path
