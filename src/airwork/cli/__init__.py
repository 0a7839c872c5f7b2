"""The `airwork` command: a table of commands, each loaded only when it is called.

One module per command under `airwork.cli`, with `configure(parser)` and `run(args) -> int`. Exit codes: 0 done,
1 (with --strict) done but the standard or the verdict was not met, 2 could not be done.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Collection

TYPE_CHECKING = False  # typing's own costs 4 ms, and --help needs none of it
if TYPE_CHECKING:
    from argparse import ArgumentParser
    from types import ModuleType
    from typing import NoReturn

DONE, NOT_MET, COULD_NOT = 0, 1, 2

# The day's verbs stand alone; care of one kind of thing is noun + verb. name -> (module, one line)
COMMANDS: dict[str, tuple[str, str]] = {
    "numbers": ("numbers", "an airplane's numbers for today's air and weight"),
    "demo": ("demo", "set up the demo in a folder and do the whole job on it"),
    "brief": ("brief", "a lesson file in, the verdict, plan and card out"),
    "follow": ("follow", "in flight: the card that keeps time, calls, a recording, then the debrief"),
    "debrief": ("debrief", "a recording in, a graded debrief out"),
    "airplane check": ("airplane_check", "look for a typist's mistakes in an airplane file"),
    "airplane new": ("airplane_new", "write an airplane file to start from"),
    "airplane schema": ("airplane_schema", "print the JSON Schema of the airplane file, for editors"),
    "airplane fit": ("airplane_fit", "learn this airplane from readings and recordings"),
    "airplane plot": ("airplane_plot", "power curve, climb, bank and collapse plots"),
    "lesson new": ("lesson_new", "write a lesson file to start from"),
    "recording show": ("recording_show", "what is in a recording, what is missing, what it can be graded on"),
    "recording map": ("recording_map", "settle once what the columns of a file mean"),
    "serve": ("serve", "the whole job in a browser: today, debrief, airplanes, students"),
    "logbook": ("logbook", "students, flights, marks, endorsements, what is left"),
}

OF_JOBS = ("weight", "altimeter", "elevation", "standard")  # what a job names; a command had it from its option
CAUTION = (
    "The airplane's handbook, your authority's rules and your instructor decide; airwork only computes. "
    "Not for navigation."
)


def _overview() -> str:
    from airwork.version import VERSION

    lines = [f"airwork {VERSION}: prepare, brief, fly, debrief, record", "", "usage: airwork COMMAND [options]", ""]
    return "\n".join([*lines, *_listed(COMMANDS)])


def _listed(names: Collection[str]) -> list[str]:
    width = max(map(len, names)) + 2
    lines = [f"  {name:<{width}}{COMMANDS[name][1]}" for name in names]
    return [*lines, "", "airwork COMMAND --help shows a command's options and an example.", CAUTION]


def _find(argv: list[str]) -> tuple[str, list[str]] | None:
    for words in (2, 1):
        name = " ".join(argv[:words])
        if len(argv) >= words and name in COMMANDS:
            return name, argv[words:]
    return None


def _values_kept(args: list[str]) -> list[str]:
    """The same arguments with a negative value tied to its option, so that `--oat -10C` isn't taken for an option."""
    out: list[str] = []
    for arg in args:
        negative = arg.startswith("-") and arg[1:2].isdigit()
        if negative and out and out[-1].startswith("--") and "=" not in out[-1] and out[-1] != "--":
            out[-1] += f"={arg}"
        else:
            out.append(arg)
    return out


def print_json(value: object) -> None:
    """Plain data on stdout as JSON (RFC 8259): a number that is none becomes null, since JSON has no NaN."""
    import json

    from airwork.logbook.as_json import plain

    print(json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False, default=str))


def command() -> None:
    """The program itself: one command, then the end of the process.

    What a command loads lives to its end; looking for circles in it, on the way and at the end, cost a sixth of it.
    The arrays of a flight are too small to be shared out among threads: waiting for each other costs more.
    """
    import gc

    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # looking for some in every package costs 40 ms
    gc.set_threshold(400_000, 20, 20)
    code = main()
    gc.freeze()
    sys.exit(code)


def main(argv: list[str] | None = None) -> int:
    """Run one command; every foreseeable failure is one line on stderr and exit code 2."""
    try:
        try:
            return _answer(list(sys.argv[1:] if argv is None else argv))
        finally:
            sys.stdout.flush()
    except BrokenPipeError:  # the reader (a pager, head) has gone: not our fault, and nothing to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _answer(args: list[str]) -> int:
    if not args or args[0] in {"-h", "--help", "help"}:
        print(_overview())
        return DONE
    if args[0] == "--version":
        from airwork.version import VERSION

        print(f"airwork {VERSION}")
        return DONE
    found = _find(args)
    if args == ["logbook"]:  # a word with many commands of its own: they are listed
        args, found = ["logbook", "--help"], ("logbook", ["--help"])
    if found is None:
        verbs = [name for name in COMMANDS if name.split()[0] == args[0]]
        if verbs and args[1:2] in (["-h"], ["--help"]):
            print("\n".join([f"usage: airwork {args[0]} COMMAND [options]", "", *_listed(verbs)]))
            return DONE
        firsts = {name.split()[0]: text for name, (_, text) in COMMANDS.items()}
        hint = f"try: {', '.join(verbs)}" if verbs else f"{meant(args[0], firsts)}airwork --help lists the commands."
        print(f"airwork: no command {' '.join(args[: 2 if verbs else 1])!r}; {hint}", file=sys.stderr)
        return COULD_NOT
    return _run(*found)


def meant(word: str, known: dict[str, str]) -> str:
    """ "did you mean show? " of a mistyped command, or which speak of the word; nothing where none does.

    known : command -> its one line.
    """
    if near := _near(word, known):
        return f"did you mean {near}? "
    about = [name for name, line in known.items() if len(word) > 3 and word.lower() in line.lower()]
    return f"perhaps {', '.join(about)}? " if about else ""


def _near(word: str, known: Collection[str]) -> str | None:
    """The known word a mistyped one is nearest to."""
    import difflib

    return next(iter(difflib.get_close_matches(word, sorted(known), 1)), None)


def parser_of(name: str, module: ModuleType) -> ArgumentParser:
    """A command's parser, described by its module's docstring; the examples stand indented."""
    import argparse

    class Parser(argparse.ArgumentParser):
        """One line for what can't be read, with the option that was meant."""

        def error(self, message: str) -> NoReturn:
            wrong = [w.partition("=")[0] for w in message.partition("unrecognized arguments: ")[2].split()]
            near = next((n for w in wrong if w.startswith("--") and (n := _near(w, self._option_string_actions))), None)
            more = f"; did you mean {near}?" if near else ""
            self.exit(COULD_NOT, f"{self.prog}: {message}{more} ({self.prog} --help shows all of it)\n")

        def _check_value(self, action: argparse.Action, value: object) -> None:
            if action.choices is not None and value not in action.choices:
                known = list(map(str, action.choices))
                near = _near(str(value), known)
                hint = f"did you mean {near}? " if near else ""
                raise argparse.ArgumentError(action, f"{value!r}; {hint}one of {', '.join(known)}")

    lines = (module.__doc__ or "").splitlines()
    return Parser(
        prog=f"airwork {name}", epilog=CAUTION, allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        description="\n".join(f"  {x}" if x.startswith("airwork ") else x for x in lines),
    )  # fmt: skip


def _run(name: str, rest: list[str]) -> int:
    import importlib

    from airwork.errors import AirworkError

    try:
        module = importlib.import_module(f"airwork.cli.{COMMANDS[name][0]}")
        parser = parser_of(name, module)
        module.configure(parser)
        return int(module.run(parser.parse_args(_values_kept(rest))))
    except AirworkError as problem:
        option = "--" if str(getattr(problem, "where", "")) in OF_JOBS else ""
        print(f"airwork {name}: {option}{problem}", file=sys.stderr)
        return COULD_NOT
    except KeyboardInterrupt:
        print("stopped; nothing was half-written.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        raise
    except OSError as problem:
        path = f"{problem.filename}: " if problem.filename else ""
        print(f"airwork {name}: {path}{problem.strerror or problem}", file=sys.stderr)
        return COULD_NOT
    except Exception as problem:
        if os.environ.get("AIRWORK_TRACEBACK"):
            raise
        kind = type(problem).__name__
        print(
            f"airwork {name}: a fault in airwork itself ({kind}: {problem}). Nothing was half-written. "
            "Please report it; AIRWORK_TRACEBACK=1 shows where.",
            file=sys.stderr,
        )
        return COULD_NOT
