"""Lessons planned once for each state of lesson and airplane: what takes long and no logbook changes."""

from __future__ import annotations

from airwork.jobs.files import load_airplane
from airwork.lesson.file import parse_lesson
from airwork.lesson.lesson import Lesson
from airwork.lesson.plan import WorkedOut, work_out
from airwork.web.folder import Entry, changed_s
from airwork.web.kept import Kept
from airwork.web.lesson_form import LessonForm
from airwork.web.which_lesson import form_of

_read: Kept[Lesson] = Kept(200)
_worked_out: Kept[WorkedOut] = Kept(100)


def read(entry: Entry, form: LessonForm | None = None) -> Lesson:
    """The lesson of a form, or as its file stands, read once for each state of it.

    Raises
    ------
    InputError : what is wrong in it.
    """
    if form is None:
        here = entry.path.parent  # where its airplane's file is looked for
        beside = (changed_s(place) for place in (here, here / "airplanes", here.parent / "airplanes"))
        return _read.of((entry.path, entry.changed_s, *beside), lambda: read(entry, form_of(entry, {})))
    form.require_read()
    return parse_lesson(form.text, where="lesson", folder=entry.path.parent)


def planned(lesson: Lesson) -> WorkedOut:
    """The lesson in its airplane as that stands now.

    Raises
    ------
    InputError, NotPossible, OutOfRange : as `work_out`.
    """
    airplane = load_airplane(lesson.airplane_path)
    return _worked_out.of((lesson, airplane), lambda: work_out(lesson, airplane))
