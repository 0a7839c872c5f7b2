"""A map file of the user's own in PMTiles (version 3, an open format): checked once, then served in pieces.

Vector tiles are fetched by the page itself with HTTP range requests and drawn in our own colors; picture tiles are
taken out of the file here.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from airwork.errors import InputError

HEADER_BYTES = 127
PICTURES = {"PNG": "image/png", "JPEG": "image/jpeg", "WEBP": "image/webp", "AVIF": "image/avif"}
MOST_BYTES = 5_000_000  # of the list of contents, or of one tile
MOST_LAYERS = 200
ADDRESS = "/map/tiles.pmtiles"
WATER = re.compile(r"water|ocean|sea|lake|river|marine|hydro", re.IGNORECASE)
ROADS = re.compile(r"road|street|transport|highway|rail|path|track", re.IGNORECASE)
BORDERS = re.compile(r"bound|border|admin", re.IGNORECASE)
GROUND = re.compile(r"^(land|earth|country|countries|continent)s?$", re.IGNORECASE)
WORDS = re.compile(r"place|label|name|poi|city|cities|town", re.IGNORECASE)
BUILT = re.compile(r"build|house", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Tiles:
    """What is known of the file. picture : media type of picture tiles, "" for vector tiles.

    layers : (name, look) of a vector file, in the order they are drawn; look is ground, area, water, built, roads,
    borders or words.
    box_deg : south, west, north, east.
    """

    path: Path
    picture: str
    layers: tuple[tuple[str, str], ...]
    credit: str
    least_zoom: int
    most_zoom: int
    box_deg: tuple[float, float, float, float]

    def as_json(self) -> dict[str, Any]:
        """For the page's script."""
        return {
            "url": ADDRESS if not self.picture else "/map/tiles/{z}/{x}/{y}",
            "picture": bool(self.picture), "layers": [list(one) for one in self.layers], "credit": self.credit,
            "least": self.least_zoom, "most": self.most_zoom, "box": list(self.box_deg),
        }  # fmt: skip


def open_tiles(path: Path) -> Tiles:
    """Look into a PMTiles file.

    Raises
    ------
    InputError : there is no such file, it is no PMTiles file, it is cut short, or its tiles can't be drawn.
    """
    where = str(path)
    try:
        with path.open("rb") as source:
            return _read(path, source, path.stat().st_size)
    except OSError as problem:
        raise InputError(f"can't be opened: {problem.strerror or problem}.", where=where) from None


def _read(path: Path, source: IO[bytes], size: int) -> Tiles:
    from pmtiles.tile import Compression, TileType

    where = str(path)

    def get(offset: int, length: int) -> bytes:
        if length > MOST_BYTES:
            raise InputError("its list of contents is damaged.", where=where)
        source.seek(offset)
        return source.read(length)

    reader = _reader(get)
    head = get(0, HEADER_BYTES)
    if head[:7] != b"PMTiles":
        raise InputError("is no PMTiles file.", where=where)
    if len(head) < HEADER_BYTES or head[7] != 3:
        found = head[7] if len(head) > 7 else "none"
        raise InputError(f"PMTiles of version {found}; version 3 is read.", where=where)
    try:
        header: dict[str, Any] = reader.header()
        end = max(header[f"{part}_offset"] + header[f"{part}_length"]
                  for part in ("root", "metadata", "leaf_directory", "tile_data"))  # fmt: skip
        if end > size:
            raise InputError(f"is cut short: {size:,} of {end:,} bytes are there.", where=where)
        metadata = reader.metadata() if header["metadata_length"] else {}
    except InputError:
        raise
    except Exception:  # whatever a damaged file does to the reader
        raise InputError("its list of contents is damaged.", where=where) from None
    kind, packed = header["tile_type"], header["tile_compression"]
    if kind is TileType.MVT:
        if packed not in {Compression.NONE, Compression.GZIP}:
            raise InputError(f"its tiles are packed with {packed.name.lower()}; gzip or none is read.", where=where)
        names = [str(one["id"]) for one in _list(metadata, "vector_layers") if isinstance(one, dict) and one.get("id")]
        if not names:
            raise InputError("names no layers of its vector tiles (vector_layers in its metadata).", where=where)
        layers, picture = _looks(names[:MOST_LAYERS]), ""
    elif kind.name in PICTURES:
        layers, picture = (), PICTURES[kind.name]
    else:
        raise InputError("holds neither vector tiles (MVT) nor pictures (PNG, JPEG, WebP, AVIF).", where=where)
    box = tuple(header[f"{name}_e7"] / 1e7 for name in ("min_lat", "min_lon", "max_lat", "max_lon"))
    credit = metadata.get("attribution", "") if isinstance(metadata, dict) else ""
    return Tiles(
        path, picture, layers, _plain(str(credit)), int(header["min_zoom"]), int(header["max_zoom"]),
        (box[0], box[1], box[2], box[3]),
    )  # fmt: skip


def _reader(get: Callable[[int, int], bytes]) -> Any:
    """The public reader of the format; it has no types."""
    from pmtiles import reader

    make: Any = reader.Reader
    return make(get)


def _list(metadata: Any, key: str) -> list[Any]:
    found = metadata.get(key) if isinstance(metadata, dict) else None
    return found if isinstance(found, list) else []


def _plain(credit: str) -> str:
    """The makers' credit without its markup; shown as text."""
    import html

    return " ".join(html.unescape(re.sub(r"<[^>]*>", "", credit)).split())[:300]


def _looks(names: list[str]) -> tuple[tuple[str, str], ...]:
    """How each layer is drawn, from what its name says; the ground first, words last."""
    order = ("ground", "area", "water", "built", "roads", "borders", "words")
    rules = ((GROUND, "ground"), (WORDS, "words"), (WATER, "water"), (ROADS, "roads"), (BORDERS, "borders"),
             (BUILT, "built"))  # fmt: skip
    found = [(name, next((look for rule, look in rules if rule.search(name)), "area")) for name in names]
    return tuple(sorted(found, key=lambda one: order.index(one[1])))


def picture_tile(tiles: Tiles, zoom: int, x: int, y: int) -> bytes | None:
    """One picture tile, read from the file; None where there is none."""
    if not (tiles.least_zoom <= zoom <= tiles.most_zoom and 0 <= x < 1 << zoom and 0 <= y < 1 << zoom):
        return None
    with tiles.path.open("rb") as source:

        def get(offset: int, length: int) -> bytes:
            source.seek(offset)
            return source.read(min(length, MOST_BYTES))

        try:
            found: bytes | None = _reader(get).get(zoom, x, y)
        except Exception:  # a damaged directory deeper in the file
            return None
    return found
