"""Would the tests notice? A sample of small faults is put into each part, and its tests are run against every one.

    python tools/mutations.py                       30 faults in each part
    python tools/mutations.py fuel judge -n 100     more, in these two
    python tools/mutations.py airdata --seed 8      another sample

The faults (a sign, a comparison, a constant, a condition turned round …) are cosmic-ray's; only an evenly drawn sample
of them is tried, by its seed, since all would take days. Those that change nothing but a type hint, or only how strict
a record or a `zip` is with wrong use, and those that are no Python any more, are no faults.

First each test of the part is run once, and which functions it calls is noted; then, for each fault, those that call
the function it is in, quickest first, in a new process, until one fails. Works on a copy: the tree is left alone. Each
answer is printed as it comes and kept in `scratch/mutations/`, as are the calls: stopped at any moment, the same
command goes on from there. A fault noticed stays so while its module stays as it is; one that survived is tried again
when a test of the part has changed. A fault that survives is printed with its line: either a test is missing there or
the line does nothing. Exit 1 if a part is below 85 %.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import json
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).parent.parent
KEPT = ROOT / "scratch" / "mutations"
AIM = 0.85
ENOUGH_S = 60  # of processor time for the tests against one fault; a loop without end is noticed by it
GRADING = [f"tests/maneuvers/test_{n}.py" for n in ("grading", "grading_causes", "grading_pattern", "judge_grading")]
PARTS: dict[str, tuple[str, list[str]]] = {  # the code, and the tests that should notice
    "airdata": ("airdata", ["tests/airdata"]),
    "performance": ("airplane/performance", ["tests/airplane/performance", "tests/recording/test_flown.py"]),
    "fuel": ("lesson/fuel.py", ["tests/lesson/test_legs_and_fuel.py", "tests/lesson/test_verdict.py"]),
    "debrief": ("debrief", ["tests/debrief", *GRADING]),
    "judge": ("maneuvers/grading/judge.py", GRADING),
}


class Calls:
    """A plug-in for pytest: which functions of some code each test calls, and what it costs. [s]"""

    def __init__(self, code: Path) -> None:
        self.code, self.found, self.failed = f"{code}", {}, set()
        self.called: set[str] = set()

    def look(self, frame, event, argument):
        if frame.f_code.co_filename.startswith(self.code):
            self.called.add(f"{frame.f_code.co_filename}:{frame.f_code.co_qualname}")

    def pytest_runtest_logstart(self):
        self.began = resource.getrusage(resource.RUSAGE_SELF).ru_utime
        self.called = set()
        sys.settrace(self.look)

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_runtest_logfinish(self, nodeid):
        sys.settrace(None)
        cost = resource.getrusage(resource.RUSAGE_SELF).ru_utime - self.began
        if nodeid not in self.failed:
            self.found[nodeid] = [round(cost, 3), sorted(self.called)]


class Bare(ast.NodeTransformer):
    """Code without what changes no answer: hints of types, records made frozen, `zip` made strict."""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns = None
        every = [*node.args.args, *node.args.posonlyargs, *node.args.kwonlyargs, node.args.vararg, node.args.kwarg]
        for argument in filter(None, every):
            argument.annotation = None
        for inner in ast.walk(node):
            if isinstance(inner, ast.AnnAssign):
                inner.annotation = ast.Constant(None)
        self.generic_visit(node)
        return node

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.AST:
        for one in node.decorator_list:
            if isinstance(one, ast.Call) and ast.unparse(one.func).endswith("dataclass"):
                one.keywords = []
        self.generic_visit(node)
        return node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        if isinstance(node.func, ast.Name) and node.func.id == "zip":
            node.keywords = []
        self.generic_visit(node)
        return node

    def visit_If(self, node: ast.If) -> ast.AST:
        if ast.unparse(node.test).removeprefix("not ") == "TYPE_CHECKING":
            return ast.Pass()
        self.generic_visit(node)
        return node


@dataclass(frozen=True)
class Fault:
    """One small fault: the line of its file that it changes, and the whole file with it."""

    file: Path
    line: int
    operator: str
    code: str

    @property
    def name(self) -> str:
        """The same for the same fault in the same code."""
        return hashlib.sha256(f"{self.file.name}\n{self.code}".encode()).hexdigest()[:16]


def draw(files: list[Path], count: int, seed: int) -> Iterator[Fault]:
    """An evenly drawn sample of all the faults in some files."""
    from cosmic_ray import plugins
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.mutating import mutate_code

    found = []
    for file in files:
        nodes = list(ast_nodes(get_ast_from_path(file)))
        for name in sorted(plugins.operator_names()):
            kind = plugins.get_operator(name)
            if not kind.arguments():
                places = [p for node in nodes for p, _ in kind().mutation_positions(node)]
                found += [(file, line, name, number) for number, (line, _) in enumerate(places)]
    random.Random(seed).shuffle(found)
    for file, line, name, number in found:
        if not count:
            return
        code = file.read_text("utf-8")
        changed = mutate_code(code, plugins.get_operator(name)(), number)
        if changed and bare(changed) not in (None, bare(code)):
            count -= 1
            yield Fault(file, line, name, changed)


def bare(code: str) -> str | None:
    """What of some code can be run; nothing of what any reader of it would refuse."""
    try:
        return ast.dump(Bare().visit(ast.parse(code)))
    except SyntaxError:
        return None


def function_at(file: Path, line: int) -> str:
    """The innermost function around a line, as its code object is called; nothing outside of all."""

    def within(body: list[ast.stmt], name: str) -> str:
        for node in body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                first = min([node.lineno, *(d.lineno for d in node.decorator_list)])
                if first <= line <= (node.end_lineno or first):
                    mark = "" if isinstance(node, ast.ClassDef) else ".<locals>"
                    inner = within(node.body, f"{name}{node.name}{mark}.")
                    return inner or ("" if isinstance(node, ast.ClassDef) else f"{name}{node.name}")
        return ""

    return within(ast.parse(file.read_text("utf-8")).body, "")


def in_a_child(work, limit_s: int) -> int:
    """What a function answers in a fork of this process; 1 if it takes too much or dies."""
    child = os.fork()
    if not child:
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s + 5))
            signal.alarm(20 * limit_s)
            quiet = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(quiet, stream)
            os._exit(int(work()))
        except BaseException:
            os._exit(1)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def run(words: list[str], *plugins: object) -> int:
    """The tests named, in this process."""
    import pytest

    already = "ignore::pytest.PytestAssertRewriteWarning"  # the libraries are loaded before pytest begins
    options = ["-q", "-p", "no:cacheprovider", "-p", "_hypothesis_pytestplugin", "-W", already]
    return int(pytest.main([*options, *words], plugins=list(plugins)))


class Part:
    """One part of the code in the copy, with what was found out about it before."""

    def __init__(self, name: str, folder: Path) -> None:
        self.name, self.folder, (code, tests) = name, folder, PARTS[name]
        self.where = folder / "src" / "airwork" / code
        self.files = sorted(self.where.rglob("*.py")) if self.where.is_dir() else [self.where]
        named = [folder / test for test in tests if (folder / test).exists()]
        self.tests = [f for t in named for f in (sorted(t.rglob("test_*.py")) if t.is_dir() else [t])]
        self.kept = KEPT / f"{name}.json"
        self.known = json.loads(self.kept.read_text("utf-8")) if self.kept.exists() else {"calls": {}, "faults": {}}
        self.now = hashlib.sha256(b"".join(f.read_bytes() for f in self.tests)).hexdigest()

    def keep(self) -> None:
        KEPT.mkdir(parents=True, exist_ok=True)
        new = self.kept.with_suffix(".new")
        new.write_text(json.dumps(self.known), "utf-8")
        new.replace(self.kept)

    def note_calls(self) -> None:
        """Run every test file that is new or changed, once and without any fault."""
        for file in self.tests:
            name, is_ = str(file.relative_to(self.folder)), hashlib.sha256(file.read_bytes()).hexdigest()
            if self.known["calls"].get(name, [""])[0] == is_:
                continue
            out = self.folder / "calls.json"

            def work(name: str = name, out: Path = out) -> int:
                calls = Calls(self.where)
                run([name], calls)
                out.write_text(json.dumps([calls.found, sorted(calls.failed)]), "utf-8")
                return 0

            if in_a_child(work, 10 * ENOUGH_S) or not out.exists():
                sys.exit(f"{self.name}: {name} can not be run")
            found, failed = json.loads(out.read_text("utf-8"))
            out.unlink()
            for test in failed:
                print(f"  left out, it fails without any fault: {test}", flush=True)
            short = {
                t: [cost, [c.removeprefix(f"{self.folder}/") for c in calls]] for t, (cost, calls) in found.items()
            }
            self.known["calls"][name] = [is_, short]
            print(f"  {name}: {len(found)} tests", flush=True)
            self.keep()

        names = {str(file.relative_to(self.folder)) for file in self.tests}
        every = {t: c for name in names for t, (c, _) in self.known["calls"][name][1].items()}
        if in_a_child(lambda: run(sorted(every, key=every.get)[:30]), ENOUGH_S):
            sys.exit(f"{self.name}: its tests fail without any fault")

    def near(self, fault: Fault) -> list[str]:
        """The tests that call the function a fault is in (or any of the module), quickest first, as many as fit."""
        file, function = str(fault.file.relative_to(self.folder)), function_at(fault.file, fault.line)
        wanted = f"{file}:{function}" if function else f"{file}:"
        names = {str(f.relative_to(self.folder)) for f in self.tests}
        every = [(cost, test) for name, (_, found) in self.known["calls"].items() if name in names
                 for test, (cost, calls) in found.items()
                 if any(c == wanted or c.startswith(f"{wanted}." if function else wanted) for c in calls)]  # fmt: skip
        chosen, sum_s = [], 0.0
        for cost, test in sorted(every):
            sum_s += cost
            if chosen and sum_s > ENOUGH_S / 2:
                break
            chosen.append(test)
        return chosen

    def notices(self, fault: Fault, number: int) -> bool:
        """Whether any of those tests fails with a fault."""
        if not (tests := self.near(fault)):
            return False
        before, stamp = fault.file.read_text("utf-8"), fault.file.stat()
        fault.file.write_text(fault.code, "utf-8")
        os.utime(fault.file, (number, number))  # a time of its own: nobody takes the compiled file of another
        try:
            return in_a_child(lambda: run(["-x", *tests]), ENOUGH_S) != 0
        finally:
            fault.file.write_text(before, "utf-8")
            os.utime(fault.file, (stamp.st_atime, stamp.st_mtime))

    def tried(self, count: int, seed: int) -> Iterator[tuple[Fault, bool]]:
        """Each fault drawn, and whether any test failed with it."""
        for number, fault in enumerate(draw(self.files, count, seed), 1_000_000):
            kept = self.known["faults"].get(fault.name)
            if not (kept and (kept["noticed"] or kept["tests"] == self.now)):
                kept = {"noticed": self.notices(fault, number), "tests": self.now}
                self.known["faults"][fault.name] = kept
                self.keep()
            yield fault, kept["noticed"]


def main() -> int:
    """Print every fault as it is tried, and the share noticed for each part."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all without")
    parser.add_argument("-n", "--number", type=int, default=30, help="faults to try in each part")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if unknown := set(asked.parts) - PARTS.keys():
        parser.error(f"no part {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    if find_spec("cosmic_ray") is None:
        parser.error("the faults are cosmic-ray's, which is not here: pip install --group mutation")
    os.environ |= {"POLARS_MAX_THREADS": "1", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    worst = 1.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for part in ("src", "tests", "bench", "demo", "docs", "tools"):
            shutil.copytree(ROOT / part, folder / part)
        shutil.copy(ROOT / "pyproject.toml", folder)
        os.chdir(folder)
        sys.path[:0] = [str(folder / "src"), str(folder)]
        os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:2])
        for library in (
            "pytest",
            "hypothesis",
            "_hypothesis_pytestplugin",
            "numpy",
            "scipy.optimize",
            "scipy.signal",
            "polars",
            "pydantic",
        ):
            __import__(library)  # once for all the forks; nothing of airwork
        for part in asked.parts or PARTS:
            here = Part(part, folder)
            here.note_calls()
            tried = noticed = 0
            for fault, seen in here.tried(asked.number, asked.seed):
                tried, noticed = tried + 1, noticed + seen
                line = fault.file.read_text("utf-8").splitlines()[fault.line - 1].strip()
                at = f"{fault.file.relative_to(folder / 'src')}:{fault.line}"
                print(
                    f"  {'noticed' if seen else 'SURVIVED'}: {at} {fault.operator.split('/')[-1]}: {line}", flush=True
                )
            share = noticed / max(tried, 1)
            worst = min(worst, share)
            print(f"{part:<12} {share:4.0%} noticed of {tried} tried (seed {asked.seed})", flush=True)
    return 0 if worst >= AIM else 1


if __name__ == "__main__":
    sys.exit(main())
