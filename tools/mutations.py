"""Would the tests notice? A sample of small faults is put into each part, and its tests are run against every one.

    python tools/mutations.py                       30 faults in each part
    python tools/mutations.py fuel judge -n 100     more, in these two
    python tools/mutations.py airdata --seed 8      another sample

The faults (a sign, a comparison, a constant, a condition turned round …) are cosmic-ray's; only an evenly drawn sample
of them is tried, by its seed, since all would take days. Those that change nothing but a type hint are no faults.
Against each, those tests are run that call the function it is in, quickest first, in a fork of one process; where none
of them notices, all of their files in a fresh one. Works on a copy: the tree is left alone. A fault that survives is
printed with its line: either a test is missing there or the line does nothing. Exit 1 if a part is below 85 %.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
AIM = 0.85
GRADING = ["tests/maneuvers/test_grading.py", "tests/maneuvers/test_judge_grading.py"]
PARTS: dict[str, tuple[str, list[str]]] = {  # the code, and the tests that should notice
    "airdata": ("airdata", ["tests/airdata"]),
    "performance": ("airplane/performance", ["tests/airplane/performance"]),
    "fuel": ("lesson/fuel.py", ["tests/lesson/test_legs_and_fuel.py", "tests/lesson/test_verdict.py"]),
    "debrief": ("debrief", ["tests/debrief", *GRADING]),
    "judge": ("maneuvers/grading/judge.py", GRADING),
}
# In the copy's tests, all in one process: each test is run once, and which functions it calls is noted; then, for each
# fault, a fork of the process gets the faulty code in the place of the sound and runs the tests that call it.
PLUGIN = """
import json, os, pathlib, signal, sys, time, types
import pytest
ORDERS = json.loads(pathlib.Path(os.environ["MUTATIONS"]).read_text("utf-8")) if "MUTATIONS" in os.environ else {}
failed = []

def pytest_runtest_logreport(report):
    if report.failed:
        failed.append(report.nodeid)

def run(items):
    for item, after in zip(items, [*items[1:], items[0]]):
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        yield item
        if failed:
            return

def bare(thing):
    for name in ("__wrapped__", "__func__", "fget", "func"):
        thing = getattr(thing, name, thing)
    return thing if isinstance(thing, types.FunctionType) else None

def put(old, new):
    "The new functions' code into the old ones, of a module or a class; values in every place that has them."
    for name, value in list(vars(new).items() if isinstance(new, type) else new.items()):
        was = vars(old).get(name)
        if isinstance(value, type) and isinstance(was, type) and value.__module__ == old.__name__:
            put(was, value)
        elif (one := bare(was)) and (other := bare(value)):
            if one.__code__.co_freevars == other.__code__.co_freevars:
                one.__code__, one.__defaults__ = other.__code__, other.__defaults__
                one.__kwdefaults__ = other.__kwdefaults__
            if hasattr(was, "cache_clear"):
                was.cache_clear()
        elif isinstance(old, types.ModuleType) and isinstance(value, (int, float, str, tuple, dict)) and value != was:
            for module in list(sys.modules.values()):
                if module and module.__name__.startswith("airwork") and vars(module).get(name) is was:
                    setattr(module, name, value)

def pytest_runtestloop(session):
    if not ORDERS:
        return None
    code, calls, cost = ORDERS["code"], {}, {}
    called = set()
    def look(frame, event, argument):
        if event == "call" and frame.f_code.co_filename.startswith(code):
            called.add((frame.f_code.co_filename, frame.f_code.co_firstlineno))
    began = time.process_time()
    sys.setprofile(look)
    for item in run(session.items):
        cost[item], began = time.process_time() - began, time.process_time()
        for one in called:
            calls.setdefault(one, []).append(item)
        called.clear()
    sys.setprofile(None)
    out = []
    if failed:
        raise SystemExit("the tests fail without any fault: " + failed[0])
    for fault in ORDERS["faults"]:
        near = {i for line in fault["lines"] for i in calls.get((fault["file"], line), ())}
        child = os.fork()
        if not child:
            signal.alarm(120)
            module = next(m for m in list(sys.modules.values()) if getattr(m, "__file__", "") == fault["file"])
            space = {"__name__": module.__name__, "__file__": fault["file"], "__package__": module.__package__}
            try:
                exec(compile(fault["code"], fault["file"], "exec"), space)
                put(module, space)
                for item in run(sorted(near, key=cost.get)) if near else ():
                    pass
            except BaseException:
                os._exit(1)
            os._exit(bool(failed))
        out.append(os.waitpid(child, 0)[1] != 0)
        with open(ORDERS["out"], "w") as to:
            json.dump([out, [sorted({i.nodeid.split("::")[0] for line in f["lines"]
                       for i in calls.get((f["file"], line), ())}) for f in ORDERS["faults"]]], to)
    return True
"""


class Bare(ast.NodeTransformer):
    """Code without what nothing is done with: hints of arguments, results and local values, and words about it."""

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

    def visit_If(self, node: ast.If) -> ast.AST:
        if isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            node.body = [ast.Pass()]
        self.generic_visit(node)
        return node


@dataclass(frozen=True)
class Fault:
    """One small fault: the line of its file that it changes, and the whole file with it."""

    file: Path
    line: int
    operator: str
    code: str


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
        if changed and bare(changed) != bare(code):
            count -= 1
            yield Fault(file, line, name, changed)


def bare(code: str) -> str:
    """What of some code can be run; faulty code stays different whatever it is."""
    try:
        return ast.dump(Bare().visit(ast.parse(code)))
    except SyntaxError:
        return code


def functions_at(file: Path, line: int) -> set[int]:
    """First lines of the innermost function around a line (its decorators' first); every one of the file without."""
    spans = []
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef):
            first = min([node.lineno, *(d.lineno for d in node.decorator_list)])
            spans.append((first, node.end_lineno or first))
    around = [first for first, last in spans if first <= line <= last]
    return {max(around)} if around else {first for first, _ in spans}


def tried(name: str, count: int, seed: int, folder: Path) -> list[tuple[Fault, bool]]:
    """Each fault drawn of a part, and whether any test failed with it."""
    code, tests = PARTS[name]
    there, where = [test for test in tests if (ROOT / test).exists()], folder / "src" / "airwork" / code
    found = list(draw(sorted(where.rglob("*.py")) if where.is_dir() else [where], count, seed))
    orders, out = folder / "orders.json", folder / "out.json"
    sound = Fault(found[0].file, found[0].line, "none", found[0].file.read_text("utf-8"))  # must not be noticed
    asked = [
        {"file": str(f.file), "code": f.code, "lines": sorted(functions_at(f.file, f.line))} for f in (sound, *found)
    ]
    orders.write_text(json.dumps({"code": str(where), "out": str(out), "faults": asked}), "utf-8")
    environment = os.environ | {
        "PYTHONPATH": f"{folder / 'src'}{os.pathsep}{folder}", "PYTHONDONTWRITEBYTECODE": "1",
        "POLARS_MAX_THREADS": "1",
    }  # fmt: skip

    def run(*words: str, **more: str) -> int:
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", *words]
        done = subprocess.run(command, cwd=folder, env=environment | more, capture_output=True, text=True, check=False)
        return done.returncode

    run("-p", "forking", *there, MUTATIONS=str(orders))
    if not out.exists():
        sys.exit(f"{name}: its tests fail without any fault")
    (control, *noticed), (_, *files) = json.loads(out.read_text("utf-8"))
    out.unlink()
    if control:
        sys.exit(f"{name}: its tests fail in a fork without any fault")
    for k, fault in enumerate(found):
        if not noticed[k]:  # what was worked out before the fault came may have hidden it: once more, from the start
            before = fault.file.read_text("utf-8")
            fault.file.write_text(fault.code, "utf-8")
            noticed[k] = bool(run(*(files[k] or there)))
            fault.file.write_text(before, "utf-8")
    return list(zip(found, noticed, strict=True))


def main() -> int:
    """Print the share noticed for each part."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all without")
    parser.add_argument("-n", "--number", type=int, default=30, help="faults to try in each part")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if unknown := set(asked.parts) - PARTS.keys():
        parser.error(f"no part {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    worst = 1.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("src", "tests", "bench", "demo", "docs", "tools"):
            shutil.copytree(ROOT / part, folder / part)
        shutil.copy(ROOT / "pyproject.toml", folder)
        (folder / "forking.py").write_text(PLUGIN, "utf-8")
        for part in asked.parts or PARTS:
            results = tried(part, asked.number, asked.seed, folder)
            for fault in (fault for fault, noticed in results if not noticed):
                line = fault.file.read_text("utf-8").splitlines()[fault.line - 1].strip()
                at = f"{fault.file.relative_to(folder / 'src')}:{fault.line}"
                print(f"  survived: {at} {fault.operator}: {line}", flush=True)
            share = sum(noticed for _, noticed in results) / max(len(results), 1)
            worst = min(worst, share)
            print(f"{part:<12} {share:4.0%} noticed of {len(results)} tried (seed {asked.seed})", flush=True)
    return 0 if worst >= AIM else 1


if __name__ == "__main__":
    sys.exit(main())
