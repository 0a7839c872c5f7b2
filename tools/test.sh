#!/bin/sh
# All set-up and every check, from a clean machine: sh tools/test.sh [pytest arguments]
set -eu
cd "$(dirname "$0")/.."
venv="${AIRWORK_VENV:-.venv}"
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --upgrade "pip>=25.1"
"$venv/bin/python" -m pip install --quiet --editable . --group dev
"$venv/bin/ruff" check .
"$venv/bin/mypy"
"$venv/bin/lint-imports" --no-cache >/dev/null || "$venv/bin/lint-imports" --no-cache
exec "$venv/bin/python" -m pytest -n auto "$@"
