"""Plant a typist's slips in books and count what `airplane check` finds.

    python bench/book_slips.py              the books ranges may be chosen by
    python bench/book_slips.py --kept-back  the manners and seeds no range was chosen by
    python bench/book_slips.py --last       two more manners, written when every check stood
    python bench/book_slips.py --newest     two more, in ways of printing the file could not say at first
    python bench/book_slips.py --unread     two more, two typed by hand (bench/books/typed): written, the checks unread
    python bench/book_slips.py --files A.toml B.toml    airplane files from anywhere
    python bench/book_slips.py --show 20    list slips that mattered and were missed (--several 20: complained of twice)

Books: the three shipped airplanes and invented ones in further manners (bench/books, which knows nothing of the
checks). Each slip is planted alone. It matters when it changes a number flown by by more than rounding, it is unsafe
when that is on the unsafe side by more than 10 % (both: books/answers.py). Found: the file is refused, or the check
says something it doesn't say of the sound book. Right table: the first new complaint names the table of the slip.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from books.answers import answers, difference
from books.manners import KEPT_BACK, LAST, MANNERS, NEWEST, UNREAD, Manner
from books.printer import make
from books.slips import SINGLE, WHOLE, planted
from pydantic import ValidationError

from airwork.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import read_printed
from airwork.errors import AirworkError

DEMO = Path(__file__).parent.parent / "src" / "airwork" / "demo_files" / "airplanes"


def books(
    which: tuple[Manner, ...], seeds: list[int], files: list[Path] | None = None
) -> Iterator[tuple[str, dict[str, Any]]]:
    """(name, data) of the books."""
    for path in files or ():
        yield path.stem, with_rows(tomllib.loads(path.read_text()))
    if files:
        return
    if which is MANNERS:
        for name in ("larkmoor_155", "wrenbrook_108", "caldmere_200"):
            data = tomllib.loads((DEMO / f"{name}.toml").read_text())
            yield name, {k: v for k, v in data.items() if k not in {"observations", "fitted"}}
    if which is UNREAD:
        for path in sorted((Path(__file__).parent / "books" / "typed").glob("*.toml")):
            yield f"typed {path.stem}", with_rows(tomllib.loads(path.read_text()))
    for manner in which:
        for seed in seeds:
            yield f"{manner.name} {seed}", make(manner, seed)


def with_rows(data: dict[str, Any]) -> dict[str, Any]:
    """The same with each bare row as a row that names its columns."""
    for table in data.values():
        if isinstance(table, dict):
            columns = table.pop("columns", None)
            if columns:
                table["rows"] = [{k: v for k, v in zip(columns, r, strict=False) if v != "-"} for r in table["rows"]]
            with_rows(table)
    return data


def airplane_of(data: dict[str, Any]) -> Airplane | None:
    """The airplane of a book; None where the file is refused."""
    try:
        found, printed = read_printed(data, AirplaneFile)
        return Airplane(AirplaneFile.model_validate({**found, "printed": printed}))
    except (ValidationError, AirworkError):
        return None


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    sets = {"kept_back": KEPT_BACK, "last": LAST, "newest": NEWEST, "unread": UNREAD}
    for name in sets:
        parser.add_argument(f"--{name.replace('_', '-')}", action="store_true")
    parser.add_argument("--files", type=Path, nargs="+", help="airplane files instead of the invented books")
    parser.add_argument("--seeds", type=int, nargs="+", default=[1])
    parser.add_argument("--slips", type=int, default=4, help="of each kind and book")
    parser.add_argument("--kinds", nargs="*", default=[])
    parser.add_argument("--books", default="")
    parser.add_argument("--show", type=int, default=0)
    parser.add_argument("--several", type=int, default=0, help="list slips with more than one complaint")
    args = parser.parse_args()
    which = next((found for name, found in sets.items() if getattr(args, name)), MANNERS)
    count: Counter[str] = Counter()
    by_kind: dict[str, Counter[str]] = {}
    missed: list[str] = []
    several: list[str] = []
    alarms = []
    for name, data in books(which, args.seeds, args.files):
        if args.books and args.books not in name:
            continue
        sound = airplane_of(data)
        assert sound is not None, name
        clean = check_airplane(sound)
        alarms.append((name, len(clean)))
        known = {str(c) for c in clean}
        truth = answers(sound, sound)
        for kind in (*SINGLE, *WHOLE):
            if args.kinds and not any(k in kind for k in args.kinds):
                continue
            for turn in range(args.slips if kind in SINGLE else 1):
                got = planted(data, kind, f"{name} {kind} {turn}")
                if got is None:
                    continue
                spoiled, table = got
                airplane = airplane_of(spoiled)
                tally = by_kind.setdefault(kind, Counter())
                if airplane is None:
                    count.update(("matters", "found", "right"))
                    tally.update(("matters", "found"))
                    continue
                matters, unsafe = difference(truth, answers(airplane, sound, table))
                if not matters and kind in SINGLE:
                    count["small"] += 1
                    continue
                new = [c for c in check_airplane(airplane) if str(c) not in known]
                hit = bool(new)
                right = hit and table.split(".")[-1] in str(new[0].where)
                tally["matters"] += 1
                tally["found"] += hit
                count["matters"] += 1
                count["found"] += hit
                count["right"] += right
                count["complaints"] += len(new)
                count["unsafe"] += unsafe
                count["unsafe found"] += unsafe and hit
                if kind in WHOLE:
                    count["whole"] += 1
                    count["whole found"] += hit
                if len(new) > 1:
                    each = "".join(f"\n      → {c}" for c in new)
                    several.append(f"{name}: {kind} [{table}] {change(data, spoiled)}{each}")
                if not hit or not right:
                    missed.append(f"{name}: {kind} [{table}] {'UNSAFE ' if unsafe else ''}{change(data, spoiled)}"
                                  + (f" → {new[0]}" if new else ""))  # fmt: skip
    for kind, tally in sorted(by_kind.items(), key=lambda i: i[1]["found"] / max(i[1]["matters"], 1)):
        print(f"{tally['found']:4d} of {tally['matters']:4d}  {kind}")
    share = lambda a, b: f"{count[a]} of {count[b]}, {100 * count[a] / max(count[b], 1):.1f} %"  # noqa: E731
    print(f"\nslips that matter, found: {share('found', 'matters')}   (too small to matter: {count['small']})")
    print(f"unsafe by more than 10 %, found: {share('unsafe found', 'unsafe')}")
    print(f"right table, of those found: {share('right', 'found')}")
    print(f"whole tables in another unit, found: {share('whole found', 'whole')}")
    print(f"complaints for a slip found: {count['complaints'] / max(count['found'], 1):.2f}")
    print(f"complaints about the sound books: {', '.join(f'{n} {c}' for n, c in alarms)}")
    for line in [*missed[: args.show], *several[: args.several]]:
        print("  ", line)
    return 0


def change(old: Any, new: Any, path: str = "") -> str:
    """The first differences between two books."""
    if isinstance(old, dict) and isinstance(new, dict):
        parts = [change(old.get(k), new.get(k), f"{path}.{k}") for k in {**old, **new}]
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        parts = [change(a, b, f"{path}.{i}") for i, (a, b) in enumerate(zip(old, new, strict=True))]
    else:
        return "" if old == new else f"{path}: {old} → {new}"[:150]
    return "; ".join([p for p in parts if p][:3])


if __name__ == "__main__":
    sys.exit(main())
