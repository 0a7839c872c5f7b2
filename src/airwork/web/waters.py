"""Lakes, rivers, borders and towns around a flight, from the packed data beside it (map_data/ORIGIN.md)."""

from __future__ import annotations

import io
import lzma
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

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
