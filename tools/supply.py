"""What airwork is put together from: the exact tested set, its licenses, its bill of materials.

    python tools/supply.py lock        requirements.lock anew: every package with its version and hash
python tools/supply.py licenses    docs/licenses.md anew: what ships with the program, its license, where it says so
python tools/supply.py wheel dist  build the wheel, and beside it its bill of materials (CycloneDX, by cyclonedx-bom)
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
import tomllib
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LOCK, PAGE = ROOT / "requirements.lock", ROOT / "docs" / "licenses.md"
# Licenses under which the whole may be passed on as Apache-2.0 beside them, by what packages call them.
ALLOWED = re.compile(r"MIT|BSD|Apache|ISC|PSF|Python Software Foundation|Zlib|Unlicense|MPL|CC0|Bitstream Vera", re.I)
IN_WORDS = {"dejavu-fonts-ttf": "Bitstream Vera"}  # what says "see my license": as that license is called
STRONG = re.compile(r"\bA?GPL|(?<!Lesser )General Public License", re.I)


def _name(text: str) -> str:
    return re.sub(r"[-_.]+", "-", text).lower()


def shipped() -> dict[str, metadata.Distribution]:
    """Every package the installed program needs, extras of its own left out, by name."""
    from packaging.requirements import Requirement

    found: dict[str, metadata.Distribution] = {}
    waiting = [
        Requirement(r) for r in tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    ]
    while waiting:
        wanted = waiting.pop()
        if wanted.marker and not any(wanted.marker.evaluate({"extra": e}) for e in ("", *wanted.extras)):
            continue
        name = _name(wanted.name)
        if name in found:
            continue
        found[name] = metadata.distribution(wanted.name)
        extras = ("", *wanted.extras)
        inner = [Requirement(r) for r in found[name].requires or ()]
        waiting += [r for r in inner if r.marker is None or any(r.marker.evaluate({"extra": e}) for e in extras)]
    return dict(sorted(found.items()))


def license(of: metadata.Distribution) -> str:
    """What a package says its license is, in one line."""
    about = of.metadata
    said = about.get("License-Expression") or ""
    classes = [c.rpartition(" :: ")[2] for c in about.get_all("Classifier") or () if c.startswith("License ::")]
    short = (about.get("License") or "").strip().splitlines()
    return (said or ", ".join(classes) or (short[0] if short else "")).strip()[:100]


def licenses() -> str:
    """The page."""
    rows = [f"| {name} | {license(of) or 'not said'} |" for name, of in shipped().items()]
    frontend = json.loads((ROOT / "frontend" / "package-lock.json").read_text("utf-8"))["packages"]
    rows += [
        f"| {name} (from npm) | {IN_WORDS.get(name, one.get('license', 'not said'))} |"
        for path, one in sorted(frontend.items()) if (name := path.removeprefix("node_modules/")) and not one.get("dev")
    ]  # fmt: skip
    return (
        "# Licenses of what ships\n\n"
        "airwork itself is Apache-2.0. It needs these packages, and carries those from npm; each license is what\n"
        "the package says of itself. `python tools/supply.py licenses` writes this page, a test holds it.\n\n"
        "| package | license |\n| --- | --- |\n" + "\n".join(rows) + "\n"
    )


def lock() -> str:
    """Every package of the tests and checks with the version and the hash of the file that is installed here."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.json"
        command = [
            "install",
            "--quiet",
            "--dry-run",
            "--ignore-installed",
            "--report",
            str(report),
            "--group",
            "dev",
            ".",
        ]
        subprocess.run([sys.executable, "-m", "pip", *command], cwd=ROOT, check=True)
        return locked(json.loads(report.read_text("utf-8")))


def locked(report: dict) -> str:
    """The lock of pip's report (its format 1)."""
    found = {}
    for one in report["install"]:
        hashes = one["download_info"].get("archive_info", {}).get("hashes", {})
        name = _name(one["metadata"]["name"])
        if name != "airwork":
            found[name] = f"{name}=={one['metadata']['version']} --hash=sha256:{hashes['sha256']}"
    at = report["environment"]
    where = f"{at['implementation_name']} {at['python_version']} on {at['sys_platform']} {at['platform_machine']}"
    head = f"# The exact tested set, for {where}.\n"
    return (
        head
        + "# Written by python tools/supply.py lock\n"
        + "\n".join(line for _, line in sorted(found.items()))
        + "\n"
    )


def wheel(into: Path) -> None:
    """The wheel and its bill of materials, of an environment that holds the wheel and what it needs, nothing else."""
    into.mkdir(parents=True, exist_ok=True)
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(into), str(ROOT)], check=True
    )
    (built,) = into.glob("airwork-*.whl")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, "-m", "venv", folder], check=True)
        python = Path(folder) / "bin" / "python"
        subprocess.run([python, "-m", "pip", "install", "--quiet", str(built)], check=True)
        subprocess.run([python, "-m", "pip", "uninstall", "--quiet", "--yes", "setuptools"], check=False)
        bill = built.with_suffix(".cdx.json")
        made = [sys.executable, "-m", "cyclonedx_py", "environment", "--pyproject", str(ROOT / "pyproject.toml")]
        subprocess.run([*made, "--output-reproducible", "--of", "JSON", "-o", str(bill), str(python)], check=True)
    text = bill.read_text("utf-8")
    bill.write_text(text.replace(folder, "").replace(str(ROOT), "."), "utf-8")  # no path of this machine
    print(f"{built.name}, {bill.name}")


def main() -> None:
    words = sys.argv[1:]
    if words == ["lock"]:
        LOCK.write_text(lock(), "utf-8")
    elif words == ["licenses"]:
        PAGE.write_text(licenses(), "utf-8")
    elif words[:1] == ["wheel"] and len(words) == 2:
        wheel(Path(words[1]))
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
