"""Results of reading files, kept between runs in the platform's cache folder, so that a command needn't check twice.

Checking an airplane file, a lesson or a standard costs several times what the briefing itself does. What was found good
is kept as JSON under a name made from everything it came from: the files' content, this program and its libraries. Any
change makes another name; what can't be read, or doesn't have its own check sum, is made anew. AIRWORK_CACHE=off turns
it off, AIRWORK_CACHE=/some/folder moves it.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

LAYOUT = 1  # of the kept files; a change makes all old ones unread
MOST_FILES = 300  # the oldest go first
_OFF = {"off", "0", "no", "false"}


class NotPlain(TypeError):
    """A value that can't be kept."""


def folder() -> Path | None:
    """Where results are kept; None: nowhere."""
    named = os.environ.get("AIRWORK_CACHE", "")
    if named.strip().lower() in _OFF:
        return None
    if named:
        return Path(named).expanduser()
    import platformdirs

    return Path(platformdirs.user_cache_dir("airwork"))


def name_of(*parts: str | bytes, code: tuple[str, ...], libraries: tuple[str, ...] = ()) -> str | None:
    """One name for everything a result came from; None where that can't be told (the program is in an archive).

    Parameters
    ----------
    parts : the content of the files, and whatever else went in.
    code : folders of airwork that made the result ("." for its own), so that a developer's edit is never missed.
    libraries : packages, found but not imported, whose version or data went in.
    """
    from airwork import __version__

    try:
        marks = [*(_code_mark(c) for c in code), *(_library_mark(name) for name in libraries)]
    except (OSError, ImportError, ValueError):
        return None
    digest = hashlib.sha256(f"{LAYOUT} {__version__}".encode())
    for part in (*parts, *marks):
        raw = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        digest.update(b"%d:" % len(raw))
        digest.update(raw)
    return digest.hexdigest()[:40]


@lru_cache(maxsize=32)
def _code_mark(package: str) -> str:
    seen = []
    with os.scandir(Path(__file__).parent / package) as entries:
        for entry in entries:
            if entry.name.endswith((".py", ".toml")):
                stat = entry.stat()
                seen.append(f"{package}/{entry.name} {stat.st_size} {stat.st_mtime_ns}")
    return "\n".join(sorted(seen))


@lru_cache(maxsize=32)
def _library_mark(name: str) -> str:
    from importlib.util import find_spec

    spec = find_spec(name)
    if spec is None or spec.origin is None:
        return f"{name} missing"
    stat = Path(spec.origin).stat()  # written anew by every installation
    return f"{spec.origin} {stat.st_size} {stat.st_mtime_ns}"


def read(kind: str, name: str | None) -> Any:
    """What was kept under this name, as plain data; None if there is nothing sound."""
    try:
        where = folder()
        if where is None or name is None:
            return None
        head, _, body = (where / f"{kind}-{name}.json").read_bytes().partition(b"\n")
        return json.loads(body) if head.decode() == hashlib.sha256(body).hexdigest() else None
    except (OSError, ValueError, RecursionError, RuntimeError):  # RuntimeError: no home folder
        return None


def write(kind: str, name: str | None, plain: Any) -> None:
    """Keep plain data; whatever prevents it costs only time."""
    from airwork.files import write_whole

    try:
        where = folder()
        if where is None or name is None:
            return
        body = json.dumps(plain, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
        where.mkdir(parents=True, exist_ok=True, mode=0o700)
        file = where / f"{kind}-{name}.json"
        write_whole(file, hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
        file.chmod(0o600)  # a lesson names people
        _thin(where)
    except (OSError, ValueError, TypeError, RuntimeError):
        return


def _thin(where: Path) -> None:
    files = [(f.stat().st_mtime_ns, f) for f in where.glob("*-*.json")]
    for _, old in sorted(files)[: max(len(files) - MOST_FILES, 0)]:
        old.unlink(missing_ok=True)


def to_plain(value: Any) -> Any:
    """Frozen records, tuples, mappings, paths and float arrays as what JSON can hold. NotPlain for anything else."""
    if value is None or isinstance(value, (str, int, float)):
        return value
    if is_dataclass(value) and not isinstance(value, type):
        return {"is": type(value).__name__, "of": [to_plain(getattr(value, f.name)) for f in fields(value)]}
    if isinstance(value, tuple):
        return [to_plain(v) for v in value]
    if isinstance(value, Mapping) and all(isinstance(k, str) for k in value):
        return {"of": {k: to_plain(v) for k, v in value.items()}}
    if isinstance(value, Path):
        return {"is": "Path", "of": str(value)}
    raise NotPlain(type(value).__name__)


def from_plain(plain: Any, classes: Mapping[str, type[Any]]) -> Any:
    """The records again, of these classes only.

    Raises
    ------
    KeyError, TypeError : not what `to_plain` made of them.
    """
    if isinstance(plain, list):
        return tuple([from_plain(p, classes) for p in plain])
    if not isinstance(plain, dict):
        return plain
    of = plain["of"]
    if "is" not in plain:
        return {k: from_plain(v, classes) for k, v in of.items()}
    if plain["is"] == "Path":
        return Path(of)
    kind = classes[plain["is"]]
    return kind(*[from_plain(v, classes) for v in of])


def record(kind: str, name: str | None, classes: Iterable[type[Any]], make: Callable[[], Any]) -> Any:
    """A frozen record (of these classes) from what is kept, else made and kept."""
    known = {c.__name__: c for c in classes}
    plain = read(kind, name)
    if plain is not None:
        try:
            return from_plain(plain, known)
        except (KeyError, TypeError, ValueError, RecursionError):
            pass
    found = make()
    with suppress(NotPlain):
        write(kind, name, to_plain(found))
    return found
