"""The dispatcher: what it prints, its exit codes, and that it loads nothing heavy."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from types import ModuleType

import pytest

import airwork
from airwork import cli
from airwork.errors import InputError, NotPossible, OutOfRange, UnitError


def _airwork(*args: str, options: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *options, "-m", "airwork", *args], capture_output=True, text=True, check=False
    )


@pytest.fixture
def probe(monkeypatch: pytest.MonkeyPatch):
    """A command 'probe' that does what the test says."""

    def install(run, configure=lambda parser: None) -> None:
        module = ModuleType("airwork.cli.probe", "Probe the dispatcher.\n\nExample: airwork probe")
        module.run, module.configure = run, configure
        monkeypatch.setitem(sys.modules, "airwork.cli.probe", module)
        monkeypatch.setitem(cli.COMMANDS, "probe", ("probe", "a probe"))

    return install


def _raise(problem: BaseException):
    def run(args):
        raise problem

    return run


@pytest.mark.parametrize("args", [[], ["-h"], ["--help"], ["help"]])
def test_help_lists_every_command_and_the_caution(args, capsys) -> None:
    assert cli.main(args) == cli.DONE
    out = capsys.readouterr().out
    for name, (_, text) in cli.COMMANDS.items():
        assert name in out
        assert text in out
    assert "Not for navigation" in out
    assert max(map(len, out.splitlines())) <= 120


@pytest.mark.parametrize("noun", ["airplane", "lesson", "recording"])
def test_help_of_a_noun_lists_its_verbs(noun, capsys) -> None:
    assert cli.main([noun, "--help"]) == cli.DONE
    out = capsys.readouterr().out
    verbs = [name for name in cli.COMMANDS if name.split()[0] == noun]
    assert verbs
    for name in verbs:
        assert f"  {name} " in out
        assert cli.COMMANDS[name][1] in out


def test_a_negative_value_is_a_value_and_no_option(probe) -> None:
    seen = []

    def configure(parser) -> None:
        for name in ("--oat", "--headwind", "--slope"):
            parser.add_argument(name)

    def run(args) -> int:
        seen.append((args.oat, args.headwind, args.slope))
        return cli.DONE

    probe(run, configure)
    assert cli.main(["probe", "--oat", "-10C", "--headwind=-3kt", "--slope", "-0.5%"]) == cli.DONE
    assert seen == [("-10C", "-3kt", "-0.5%")]


def test_version_is_the_packages(capsys) -> None:
    assert cli.main(["--version"]) == cli.DONE
    assert capsys.readouterr().out == f"airwork {airwork.__version__}\n"


@pytest.mark.parametrize(
    "args", [["numbres"], ["numbres", "--json"], ["--nonsense"], ["airplane"], ["airplane", "chekc"]]
)
def test_an_unknown_command_is_one_line_and_exit_code_2(args, capsys) -> None:
    assert cli.main(args) == cli.COULD_NOT
    got = capsys.readouterr()
    assert got.out == ""
    assert got.err.count("\n") == 1
    assert got.err.startswith("airwork: no command ")


def test_a_noun_alone_is_told_its_verbs(capsys) -> None:
    assert cli.main(["airplane"]) == cli.COULD_NOT
    err = capsys.readouterr().err
    assert all(name in err for name in cli.COMMANDS if name.startswith("airplane "))


@pytest.mark.parametrize(
    "problem",
    [
        InputError("no row for 2,450 rpm.", where="larkmoor.toml"),
        UnitError("'5 kt' is not a mass; write one of lb, kg.", where="--weight"),
        OutOfRange("pressure altitude [ft]", 12_400, 0, 8000, hint="Check the altimeter setting."),
        NotPossible("full throttle does not hold this bank."),
    ],
    ids=lambda p: type(p).__name__,
)
def test_a_foreseen_failure_is_one_line_and_exit_code_2(problem, probe, capsys) -> None:
    probe(_raise(problem))
    assert cli.main(["probe"]) == cli.COULD_NOT
    got = capsys.readouterr()
    assert got.err == f"airwork probe: {problem}\n"
    assert got.out == ""


def test_a_missing_file_names_the_file(probe, capsys) -> None:
    probe(_raise(FileNotFoundError(errno.ENOENT, "No such file or directory", "lesson.toml")))
    assert cli.main(["probe"]) == cli.COULD_NOT
    assert capsys.readouterr().err == "airwork probe: lesson.toml: No such file or directory\n"


def test_a_fault_of_our_own_is_owned_up_to_without_a_traceback(probe, capsys, monkeypatch) -> None:
    monkeypatch.delenv("AIRWORK_TRACEBACK", raising=False)
    probe(_raise(ZeroDivisionError("division by zero")))
    assert cli.main(["probe"]) == cli.COULD_NOT
    err = capsys.readouterr().err
    assert "fault in airwork itself (ZeroDivisionError: division by zero)" in err
    assert err.count("\n") == 1
    monkeypatch.setenv("AIRWORK_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        cli.main(["probe"])


def test_stopping_with_the_keyboard_is_130(probe, capsys) -> None:
    probe(_raise(KeyboardInterrupt()))
    assert cli.main(["probe"]) == 130
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("code", [cli.DONE, cli.NOT_MET, cli.COULD_NOT])
def test_a_commands_own_exit_code_is_handed_on(code, probe) -> None:
    probe(lambda args: code)
    assert cli.main(["probe"]) == code


def test_options_reach_the_command_and_are_not_abbreviated(probe, capsys) -> None:
    seen = {}
    probe(lambda args: seen.update(vars(args)) or 0, lambda parser: parser.add_argument("--weight"))
    assert cli.main(["probe", "--weight", "2200lb"]) == cli.DONE
    assert seen == {"weight": "2200lb"}
    with pytest.raises(SystemExit) as stopped:
        cli.main(["probe", "--wei", "2200lb"])
    assert stopped.value.code == cli.COULD_NOT
    said = capsys.readouterr().err
    assert "unrecognized arguments: --wei 2200lb; did you mean --weight?" in said
    assert said.count("\n") == 1


def test_a_mistyped_command_is_met_with_the_nearest(capsys) -> None:
    assert cli.main(["debreif", "x.csv"]) == cli.COULD_NOT
    assert "no command 'debreif'; did you mean debrief?" in capsys.readouterr().err


def test_a_commands_help_has_its_text_and_the_caution(probe, capsys) -> None:
    probe(lambda args: 0)
    with pytest.raises(SystemExit) as stopped:
        cli.main(["probe", "--help"])
    assert stopped.value.code == 0
    out = capsys.readouterr().out
    assert "Example: airwork probe" in out
    assert "Not for navigation" in " ".join(out.split())


def test_two_words_are_tried_before_one(probe, monkeypatch) -> None:
    probe(lambda args: 1)
    monkeypatch.setitem(cli.COMMANDS, "probe deep", ("probe", "two words"))
    assert cli._find(["probe", "deep", "-x"]) == ("probe deep", ["-x"])
    assert cli._find(["probe", "-x"]) == ("probe", ["-x"])


def test_help_in_a_fresh_interpreter_loads_nothing_heavy() -> None:
    """`-X importtime` lists every import on stderr."""
    done = _airwork("--help", options=("-X", "importtime"))
    assert done.returncode == 0
    imported = {line.rsplit("|", 1)[1].strip() for line in done.stderr.splitlines() if line.startswith("import time:")}
    assert "airwork.cli" in imported  # the list is real
    heavy = {"numpy", "scipy", "pint", "pydantic", "polars", "matplotlib", "argparse", "typing", "dataclasses", "re"}
    assert not {name for name in imported if name.split(".")[0] in heavy}


def test_the_command_and_the_module_answer_alike() -> None:
    done = _airwork("--version")
    assert (done.returncode, done.stdout) == (0, f"airwork {airwork.__version__}\n")
    done = _airwork("nonsense")
    assert (done.returncode, done.stdout) == (2, "")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_reader_that_goes_away_leaves_no_traceback(unbuffered: str) -> None:
    """As with `airwork --help | head -0`: the reading end is closed before anything is written."""
    read, write = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "airwork", "--help"],
            stdout=write,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
        )
    finally:
        os.close(write)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_command_that_cannot_be_loaded_is_owned_up_to(capsys, monkeypatch) -> None:
    monkeypatch.delenv("AIRWORK_TRACEBACK", raising=False)
    monkeypatch.setitem(cli.COMMANDS, "absent", ("no_such_module", "a command without its module"))
    assert cli.main(["absent"]) == cli.COULD_NOT
    assert "fault in airwork itself (ModuleNotFoundError" in capsys.readouterr().err


def test_logbook_alone_lists_its_commands(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as done:
        cli.main(["logbook"])
    assert done.value.code == 0
    assert "standing    what forbids a lesson" in capsys.readouterr().out
