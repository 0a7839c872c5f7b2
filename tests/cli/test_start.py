"""What a command loads: only what it needs, so that it starts quickly."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def test_a_briefing_loads_nothing_that_reads_or_recognizes_recordings(tmp_path: Path) -> None:
    code = (
        "import sys; from airwork.cli import main; main(['brief', 'demo', '--no-card']);"
        "found = [m for m in sys.modules if m.startswith('airwork.recording') or m == 'polars'];"
        "print(found, file=sys.stderr)"
    )
    environment = os.environ | {"AIRWORK_CACHE": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    assert done.stderr.strip().splitlines()[-1] == "[]"
