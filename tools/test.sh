#!/bin/sh
# All set-up and every check, from a clean machine: sh tools/test.sh [pytest arguments]
set -eu
cd "$(dirname "$0")/.."
venv="${AIRWORK_VENV:-.venv}"

# PostgreSQL, Chromium (as a shell where there is one: it takes half the processor time), nginx and a reader of PDF for
# the tests that need them; without root those tests are skipped and say so.
install() { DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$1" >/dev/null 2>&1; }
wanted=""
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || wanted="$wanted postgresql"
command -v chromium-headless-shell >/dev/null 2>&1 || wanted="$wanted chromium-headless-shell"
command -v pdftohtml >/dev/null 2>&1 || wanted="$wanted poppler-utils"
[ -x /usr/sbin/nginx ] || command -v nginx >/dev/null 2>&1 || wanted="$wanted nginx-light"
if [ -n "$wanted" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  apt-get update -qq >/dev/null 2>&1 || true
  for one in $wanted; do
    install "$one" || { [ "$one" = chromium-headless-shell ] && install chromium; } \
      || echo "could not install: $one" >&2
  done
fi

# In CI nothing may be skipped for lack of a service.
[ -z "${CI:-}" ] || { AIRWORK_REQUIRE_POSTGRES=1; AIRWORK_REQUIRE_ALL=1; export AIRWORK_REQUIRE_POSTGRES AIRWORK_REQUIRE_ALL; }

# A Python compiled without optimizations takes an eighth longer over all tests: then the system's, if of one version.
python=python3
plain='import sys, sysconfig; sys.exit("--enable-optimizations" in sysconfig.get_config_var("CONFIG_ARGS"))'
version='import ensurepip, sys, venv; print(sys.version_info[:2])'
if python3 -c "$plain" 2>/dev/null && [ "$(python3 -c "$version")" = "$(/usr/bin/python3 -c "$version" 2>&1)" ]; then
  python=/usr/bin/python3
fi
[ -x "$venv/bin/python" ] || "$python" -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --upgrade "pip>=25.1"
# CI takes the exact tested set; where its files don't fit (another platform, another index) the newest that fit.
if [ -n "${CI:-}${AIRWORK_LOCKED:-}" ] && "$venv/bin/python" -m pip install --quiet --require-hashes -r requirements.lock; then
  "$venv/bin/python" -m pip install --quiet --editable . --no-deps
else
  "$venv/bin/python" -m pip install --quiet --editable . --group dev
fi
"$venv/bin/ruff" check .
"$venv/bin/ruff" format --check --quiet .
"$venv/bin/mypy"
"$venv/bin/lint-imports" --no-cache >/dev/null || "$venv/bin/lint-imports" --no-cache
# By file: what the tests of one file share (a server, a debrief, a logbook) is made once; by folder with few workers
# (tests/conftest.py).
exec "$venv/bin/python" -m pytest -n auto --dist loadfile --no-loadscope-reorder "$@"
