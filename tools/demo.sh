#!/bin/sh
# All set-up and the main job on the demo, from a clean machine: sh tools/demo.sh
set -eu
cd "$(dirname "$0")/.."
venv="${AIRWORK_VENV:-.venv}"
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --upgrade "pip>=25.1"
"$venv/bin/python" -m pip install --quiet --editable .
exec "$venv/bin/airwork" demo "$@"
