"""What a command loads: only what it needs, so that it starts quickly."""

from __future__ import annotations

import subprocess
import sys


def test_a_briefing_loads_nothing_that_reads_or_recognizes_recordings() -> None:
    code = (
        "import sys; from airwork.cli import main; main(['brief', 'demo', '--no-card']);"
        "found = [m for m in sys.modules if m.startswith('airwork.recording') or m == 'polars'];"
        "print(found, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip().splitlines()[-1] == "[]"
