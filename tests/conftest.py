"""Shared fixtures: where the invented airplanes are."""

import compileall
import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from _pytest.assertion import rewrite
from _pytest.runner import runtestprotocol
from hypothesis import HealthCheck, settings

import airwork
from airwork.jobs.workers import one_thread_each

# Where the environment forbids compiled files, each worker and command would compile everything anew.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# A worker on each core: a second thread of its own is waited for, 0.3 to 1 s in 4 s of reading beside other work.
if "PYTEST_XDIST_WORKER" in os.environ:
    one_thread_each()

# The patterns of addresses that jsonschema would put together take a second, and no schema here asks for them.
sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]

# A busy machine is no fault of the code. One that decides (CI) tries the same examples each time; all others search on.
settings.register_profile(
    "airwork",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=bool(os.environ.get("CI")),
    max_examples=40,
)
settings.register_profile("thorough", settings.get_profile("airwork"), max_examples=2000)
settings.load_profile("airwork")
AIRPLANES = Path(airwork.__file__).parent / "demo_files" / "airplanes"
SHARED = Path(__file__).resolve().parents[2] / "shared" / "recordings" / "loops_and_parabolas_5hz.csv"


@pytest.fixture(scope="session")
def airplane_folder() -> Path:
    """Folder of the invented airplanes that ship with the demo."""
    return AIRPLANES


@pytest.fixture(scope="session")
def whole_flight() -> Path:
    """The whole open recording, where it lies beside the project."""
    if not SHARED.is_file():
        pytest.skip("the whole open recording is not beside the project; the excerpt is tested")
    return SHARED


ROOM_BYTES = 3_000_000_000  # a whole run leaves a third of it


def _in_memory(config: pytest.Config) -> None:
    """Files of the tests lie in memory where there is room: a database of a test is three hundred files, and making
    and removing them on a disk took a sixth of the processor time of all tests. Workers find the folder as their own.
    """
    memory = Path("/dev/shm")
    if config.option.basetemp or "PYTEST_DEBUG_TEMPROOT" in os.environ or not os.access(memory, os.W_OK):
        return
    if shutil.disk_usage(memory).free < ROOM_BYTES:
        return
    folder = Path(tempfile.mkdtemp(prefix="airwork-", dir=memory))
    folder.chmod(0o711)  # PostgreSQL runs as somebody else
    os.environ["PYTEST_DEBUG_TEMPROOT"] = str(folder)
    config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))


def _write_a_share(config: pytest.Config) -> None:
    """In a fresh copy each worker would write every test's asserts out for itself, for ten seconds, and compile all
    that is tested; so each begins with its share of the files and finds the others' done.
    """
    given = getattr(config, "workerinput", None)
    if given is None:
        return
    state, number = config.stash[rewrite.assertstate_key], int(given["workerid"].removeprefix("gw"))
    for path in sorted(Path(__file__).parent.rglob("test_*.py"))[number :: given["workercount"]]:
        cached = rewrite.get_cache_dir(path) / (path.stem + rewrite.PYC_TAIL)
        if rewrite._read_pyc(path, cached) is None and rewrite.try_makedirs(cached.parent):
            source, code = rewrite._rewrite_test(path, config)
            rewrite._write_pyc(state, code, source, cached)
    for path in sorted(Path(airwork.__file__).parent.rglob("*.py"))[number :: given["workercount"]]:
        compileall.compile_file(path, quiet=2)  # where that is not done


def pytest_configure(config: pytest.Config) -> None:
    """The logbook is the tests' own, here and in the commands they start."""
    gc.disable()  # until all is collected
    _in_memory(config)
    _write_a_share(config)
    if hasattr(config, "workerinput") or config.getoption("dist", "no") == "no":  # who hands tests out runs none
        import sql_alike

        sql_alike.share()
    folder = tempfile.mkdtemp(prefix="airwork-", dir=os.environ.get("PYTEST_DEBUG_TEMPROOT"))
    os.environ["XDG_DATA_HOME"] = folder  # where the user's own logbook would be
    os.environ.pop("AIRWORK_DATA", None)
    config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))


def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """A worker tells of a test in one message, not in five: how it went, and what of its making or clearing away
    failed or took long. Telling took more processor time than pytest's own part of running it.
    """
    if not hasattr(item.config, "workerinput"):
        return None
    for report in runtestprotocol(item, log=False, nextitem=nextitem):
        if report.when == "call" or not report.passed or report.duration > 0.1:
            item.ihook.pytest_runtest_logreport(report=report)
    return True


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Nothing of what collecting loads is garbage: looking for it took a quarter of the time, and of writing the
    asserts out a fifth.
    """
    try:
        return (yield)
    finally:
        gc.enable()


def pytest_collection_finish() -> None:
    """What is loaded by now stays to the end: it need not be looked through for garbage again and again."""
    gc.freeze()
    gc.set_threshold(400_000, 20, 20)


LONG = {
    "verdict_table", "many_layouts", "falsified", "carrying", "airplane_fit", "attacks", "by_day", "hostile",
    "learning", "docs", "correct", "truth", "demo", "crash", "set_up_contract", "ideal", "seal", "asking",
}  # fmt: skip


TOGETHER = {"tests/web", "tests/logbook"}  # a Chromium and a school; a PostgreSQL: made for one worker of two


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object | None:
    """Where files are kept together, these folders are too; of more than two workers all would wait for the one."""
    from xdist.scheduler import LoadFileScheduling

    class ByFileOrFolder(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = super()._split_scope(nodeid)
            folder = file.rpartition("/")[0]
            return folder if folder in TOGETHER else file

    few = config.getvalue("dist") == "loadfile" and len(config.getvalue("tx")) <= 2
    return ByFileOrFolder(config, log) if few else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that wait for a browser or a server begin, then the long ones, so that none is left alone at the end."""
    browser = {item.path for item in items if item.get_closest_marker("browser")}
    waits = {"web", "jobs", "live"}

    def place(item: pytest.Item) -> tuple[bool, bool, bool]:
        path = item.path
        return path not in browser, path.parent.name not in waits, path.stem.removeprefix("test_") not in LONG

    items.sort(key=place)
