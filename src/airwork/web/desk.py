"""The desk: recordings brought for a debrief, each in a folder of its own with what is known of it.

A debrief is worked out again from recording and corrections when needed; what a page shows of it is kept beside it.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import time
import unicodedata
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from threading import Lock
from typing import Any, BinaryIO
from uuid import uuid4

from airwork.airplane import Airplane
from airwork.debrief import Debrief
from airwork.debrief.correct import Correction, correct
from airwork.debrief.instructed import Instructed
from airwork.debrief.plan import LessonPlan, plan_from_json, plan_json
from airwork.errors import InputError
from airwork.files import write_whole
from airwork.jobs.debriefing import debrief_flight, flown_lesson
from airwork.jobs.files import load_airplane, load_lesson
from airwork.jobs.learning import learn_from_debrief
from airwork.recording import pointing
from airwork.recording.mapping import FILE_NAME as LAYOUTS
from airwork.recording.mapping import write_mapping
from airwork.version import VERSION
from airwork.web.folder import Folder, changed_s

KEPT_OPEN = 3  # debriefs kept in memory: a two-hour 10 Hz flight takes about 50 MB
DESK = ".airwork-debriefs"  # in the folder that is served
LONGEST_NAME = 120  # bytes; a file system takes 255
COPY_BYTES = 1 << 20
WAITS = "waits.json"  # beside a recording that is not debriefed yet
TEACHES = "teaches.json"  # beside one that its airplane has still to be learned from
UNREAD = "unread.json"  # beside one whose columns somebody must say first: why
FORM = 12  # of what pages show; raised when it changes, so that what was kept is made anew


@dataclass(frozen=True, slots=True)
class About:
    """What is known of a recording on the desk. student : the logbook's id, "" for nobody's."""

    id: str
    file_name: str
    added_utc_s: float
    student: str = ""
    student_name: str = ""
    airplane: str = ""  # key in the folder
    registration: str = ""  # of that airplane in the logbook, where it was named
    airplane_from: str = ""  # how it is known: "chosen", "recording", "last"; "none": judged without by choice
    lesson: str = ""  # key in the folder
    standard: str = "private"
    zone: str = "UTC"
    zone_settled: bool = True  # False: until its debrief tells where it was flown
    aircraft: str = ""  # which one, of a recording that holds several
    elevation: str = ""  # of the ground flown over, as told: "820 ft"
    sha256: str = ""  # of the recording's bytes; "" where it came before that was kept
    flight_id: str = ""  # in the logbook
    flown: str = ""  # local start of the flight, 2025-09-20 08:40 MDT; "" where the recording names no date
    edits: tuple[Correction, ...] = ()
    said: tuple[Instructed, ...] = ()  # of the grading, by an instructor

    @property
    def made_of(self) -> str:
        """What a debrief depends on beside the files."""
        by_hand = [*(asdict(e) for e in self.edits), *(asdict(w) for w in self.said)]
        return json.dumps([self.airplane, self.lesson, self.standard, self.zone, by_hand, self.elevation, self.student,
                           self.aircraft])  # fmt: skip


def _plain_name(file_name: str) -> str:
    """Letters of any script, digits and . _ - of a name that was sent, as long as a file system takes.

    >>> _plain_name("C:\\\\log\\\\飛行 <1>.csv"), _plain_name("../..")
    ('飛行 _1_.csv', 'recording')
    """
    plain = re.sub(r"[^\w. -]", "_", Path(unicodedata.normalize("NFC", file_name).replace("\\", "/")).name)
    return plain.encode()[:LONGEST_NAME].decode(errors="ignore").strip(". ") or "recording"


class Desk:
    """The folder of recordings. Safe for several threads."""

    def __init__(self, path: Path, folder: Folder, kept_open: int = KEPT_OPEN) -> None:
        self.path, self.folder, self.kept_open = path, folder, kept_open
        self._open: OrderedDict[str, tuple[str, Debrief]] = OrderedDict()
        self._lock = Lock()
        self._busy = Lock()  # one debrief is worked out at a time: it takes a whole core and much memory

    def add(
        self, source: BinaryIO, file_name: str, about: About, plan: Mapping[str, Any] | None = None, *,
        later: bool = False,
    ) -> About:  # fmt: skip
        """Take a recording in, debrief it once; nothing stays when it can't be read.

        plan : the lesson as flown, kept with an earlier debrief of the flight. later : it waits for its debrief.
        """
        name = _plain_name(file_name)
        if name.endswith(".json"):  # what is known of a recording is kept beside it in files of that ending
            name = f"recording_{name}"
        place = self.path / about.id
        place.mkdir(parents=True, mode=0o700)
        self.path.chmod(0o700)
        try:
            with (place / name).open("xb") as out:
                shutil.copyfileobj(source, out, COPY_BYTES)
                out.flush()
                os.fsync(out.fileno())
            with (place / name).open("rb") as written:
                about = replace(about, file_name=name, sha256=hashlib.file_digest(written, "sha256").hexdigest())
            if (layouts := self.folder.path / LAYOUTS).is_file():  # as pointed for an earlier file of that layout
                shutil.copy(layouts, place / LAYOUTS)
            if plan:
                self._keep(about, {"": {"airplane": "", "plan": dict(plan)}})
            if later:
                (place / WAITS).touch()
            else:
                self.debrief(about)
            self.note(about)
        except BaseException:
            shutil.rmtree(place, ignore_errors=True)
            raise
        return about

    def is_waiting(self, about: About) -> bool:
        """Not debriefed yet."""
        return (self.path / about.id / WAITS).exists()

    def is_read(self, about: About) -> None:
        """It is debriefed: a flight was told from it."""
        for mark in (WAITS, UNREAD):
            (self.path / about.id / mark).unlink(missing_ok=True)

    def will_teach(self, about: About) -> None:
        """Its airplane is to be learned from it."""
        if about.airplane:
            write_whole(self.path / about.id / TEACHES, "true")

    def is_to_teach(self, about: About) -> bool:
        """Not learned from yet."""
        return (self.path / about.id / TEACHES).exists()

    def teach(self, about: About) -> None:
        """Learn its airplane from it, once."""
        learn_from_debrief(self.debrief(about), self.folder.find("airplane", about.airplane).path)
        (self.path / about.id / TEACHES).unlink(missing_ok=True)

    def why_unread(self, about: About) -> str:
        """Why no flight can be told from it until somebody says what its columns are; "" when it can."""
        place = self.path / about.id / UNREAD
        return str(json.loads(place.read_text(encoding="utf-8"))) if place.exists() else ""

    def left_unread(self, about: About, why: str) -> bool:
        """Leave it on the desk for somebody to say what its columns are, or which aircraft; False where that would not
        help."""
        path = self.recording(about)
        if not self.why_unread(about) and not pointing.is_unknown(path) and not pointing.several(path):
            return False
        write_whole(self.path / about.id / UNREAD, json.dumps(why))
        (self.path / about.id / WAITS).unlink(missing_ok=True)
        return True

    def point(self, about: About, names: Sequence[str], columns: Mapping[str, str], *, everywhere: bool) -> None:
        """Keep what its columns are. everywhere : for the next file of that layout too, whoever brings it."""
        places = [self.path / about.id / LAYOUTS, *([self.folder.path / LAYOUTS] if everywhere else [])]
        for place in places:
            write_mapping(place, names, columns, about.file_name)
        self.read_anew(about)

    def read_anew(self, about: About) -> None:
        """What its columns are or which aircraft it is of is said: it stays while it is read, whatever comes of it."""
        self.note(about)
        write_whole(self.path / about.id / UNREAD, json.dumps("It is being read anew."))

    def all(self) -> list[About]:
        """Everything on the desk, newest first."""
        if not self.path.is_dir():
            return []
        found = [self._read(place) for place in self.path.iterdir() if (place / "about.json").is_file()]
        return sorted((a for a in found if a is not None), key=lambda a: -a.added_utc_s)

    def find(self, debrief_id: str) -> About | None:
        """One of them; None when there is none."""
        if not re.fullmatch(r"[0-9a-f]{32}", debrief_id):
            return None
        return self._read(self.path / debrief_id)

    def twins(self, about: About) -> list[About]:
        """The same recording, brought another time."""
        return [a for a in self.all() if about.sha256 and a.sha256 == about.sha256 and a.id != about.id]

    def note(self, about: About) -> None:
        """Keep what is known. What changes the debrief is debriefed first: what can't be isn't kept."""
        write_whole(self.path / about.id / "about.json", json.dumps(asdict(about), indent=1, ensure_ascii=False))

    def hang(self, flight_id: str, on: str) -> None:
        """What lies here of an entry belongs to another from now on; back with one it left, it is as it left it."""
        for about in self.all():
            if about.flight_id != flight_id:
                continue
            place = self.path / about.id
            as_left = self._read(place, f"as_of_{on}.json") if on else None
            if as_left is None and on:
                write_whole(place / f"as_of_{flight_id}.json", json.dumps(asdict(about), ensure_ascii=False))
            self.note(as_left or replace(about, flight_id=on))

    def remove(self, about: About) -> None:
        """Take a recording off the desk; the logbook keeps its own."""
        with self._lock:
            self._open.pop(about.id, None)
        place = self.path / about.id
        shutil.rmtree(place, ignore_errors=True)  # who learns from it may take their own note away at the same moment
        if place.exists():
            shutil.rmtree(place)

    def recording(self, about: About) -> Path:
        """The recording's file."""
        return self.path / about.id / about.file_name

    def _state(self, about: About) -> str:
        """Changes when the debrief would: another airplane, correction, program; not when a lesson's file is edited."""
        files = [self.folder.find("airplane", about.airplane).changed_s] if about.airplane else []
        files += [changed_s(self._kept_lesson(about)), changed_s(self.path / about.id / LAYOUTS)]
        files += [e.changed_s for e in self.folder.entries("standard") if e.key == about.standard]
        return json.dumps([VERSION, FORM, about.made_of, files])

    def debrief(self, about: About) -> Debrief:
        """The debrief, corrections in it."""
        state = self._state(about)
        with self._busy:
            with self._lock:
                kept = self._open.get(about.id)
                if kept is not None and kept[0] == state:
                    self._open.move_to_end(about.id)
                    return kept[1]
            plan, airplane = self._flown(about)
            found = _debrief(self.recording(about), about, self.folder, plan, airplane)
            state = self._state(about)
            with self._lock:
                self._open[about.id] = (state, found)
                self._open.move_to_end(about.id)
                while len(self._open) > self.kept_open:
                    self._open.popitem(last=False)
        return found

    def _kept_lesson(self, about: About) -> Path:
        return self.path / about.id / "lesson.json"

    def _flown(self, about: About) -> tuple[LessonPlan | None, Airplane | None]:
        """The lesson as flown: kept when it is first debriefed with, so that editing its file changes no debrief.

        Under the name "": the one that came with a flight from the logbook, whichever file it was made from.
        """
        place = self._kept_lesson(about)
        kept = json.loads(place.read_text(encoding="utf-8")) if place.exists() else {}
        if about.lesson in kept:
            one = kept[about.lesson]
            file = Path(one["airplane"])
            return plan_from_json(one["plan"]), load_airplane(file) if one["airplane"] and file.is_file() else None
        if not about.lesson:
            return None, None
        lesson = load_lesson(self.folder.find("lesson", about.lesson).path)
        plan, airplane, _ = flown_lesson(lesson)
        self._keep(about, {**kept, about.lesson: {"airplane": str(lesson.airplane_path), "plan": plan_json(plan)}})
        return plan, airplane

    def _keep(self, about: About, lessons: dict[str, Any]) -> None:
        write_whole(self._kept_lesson(about), json.dumps(lessons, ensure_ascii=False))

    def forget_lesson(self, about: About) -> None:
        """The next debrief takes the lesson's file as it stands then."""
        place = self._kept_lesson(about)
        if place.exists():
            kept = json.loads(place.read_text(encoding="utf-8"))
            self._keep(about, {key: one for key, one in kept.items() if key != about.lesson})

    def kept(self, about: About, name: str, make: Callable[[Debrief], dict[str, Any]]) -> dict[str, Any]:
        """What a page shows, kept beside the recording and made anew when the debrief would be another."""
        state, path = self._state(about), self.path / about.id / f"{name}.kept.json"
        try:
            stored = json.loads(path.read_text(encoding="utf-8"))
            if stored["state"] == state:
                return dict(stored["shown"])
        except (OSError, ValueError, KeyError, TypeError):
            pass  # not made yet, or made by another version
        shown = make(self.debrief(about))
        text = json.dumps({"state": state, "shown": shown}, ensure_ascii=False, separators=(",", ":"))
        write_whole(path, text)
        return dict(json.loads(text)["shown"])

    def _read(self, place: Path, name: str = "about.json") -> About | None:
        try:
            data = json.loads((place / name).read_text(encoding="utf-8"))
            edits = tuple(Correction(**e) for e in data.pop("edits", ()))
            said = tuple(Instructed(**w) for w in data.pop("said", ()))
            return About(**{**data, "id": place.name, "edits": edits, "said": said})
        except (OSError, ValueError, TypeError):
            return None


def new_about(**facts: Any) -> About:
    """A fresh entry."""
    return About(id=uuid4().hex, file_name="", added_utc_s=time.time(), **facts)


def _debrief(
    path: Path, about: About, folder: Folder, plan: LessonPlan | None, lesson_airplane: Airplane | None
) -> Debrief:
    try:
        found = debrief_flight(
            path, airplane=folder.airplane(about.airplane) if about.airplane else lesson_airplane, lesson=plan,
            standard=folder.standard(about.standard), elevation=about.elevation or None,
            aircraft=about.aircraft or None,
        )  # fmt: skip
        return correct(found, about.edits, about.said) if about.edits or about.said else found
    except InputError as problem:  # the server's own path is nobody's business
        raise type(problem)(
            problem.problem, where=str(problem.where).replace(str(path), about.file_name or path.name)
        ) from None
