#!/bin/sh
# Proof on a clean machine: the wheel alone, in a new environment and an empty home, does the job.
#   sh tools/clean_machine.sh [--with-tests] [python3]
# Builds the wheel, installs nothing but it, and runs the demo, the numbers and the served pages in an empty folder
# with an empty environment. Then the README's first command from a copy of the sources, in the same empty home;
# --with-tests: its second one too, which takes minutes. Prints what it does; exits with 1 at the first thing that fails.
set -eu
cd "$(dirname "$0")/.."
tests=""
[ "${1:-}" = --with-tests ] && { tests=yes; shift; }
sources="$PWD"
python="$(command -v "${1:-python3}")"
clean="$(mktemp -d)"
server=""
finish() {
  code=$?
  [ -z "$server" ] || kill "$server" 2>/dev/null || true
  rm -rf "$clean"
  [ "$code" = 0 ] && echo "clean machine: all of it works" || echo "clean machine: FAILED (exit $code)" >&2
  exit "$code"
}
trap finish EXIT
say() { printf '== %s\n' "$*"; }
fail() { echo "clean machine: $*" >&2; exit 1; }
chmod 755 "$clean" # a database server of the tests runs as somebody else
mkdir "$clean/home" "$clean/work" "$clean/wheel" "$clean/tmp"

say "wheel: built from the sources as they stand"
"$python" -m venv "$clean/build"
"$clean/build/bin/python" -m pip --quiet --quiet wheel --no-deps --wheel-dir "$clean/wheel" .
wheel="$(ls "$clean"/wheel/airwork-*.whl)"
echo "   $(basename "$wheel"), $(wc -c <"$wheel") bytes"

say "environment: new, with the wheel and what it asks for"
"$python" -m venv "$clean/venv"
"$clean/venv/bin/python" -m pip --quiet --quiet install "$wheel"
echo "   $("$clean/venv/bin/python" -m pip list --format=freeze | wc -l) packages"

# From here on nothing of this machine's settings, home or sources: an empty environment in an empty folder.
cd "$clean/work"
bare() { env -i HOME="$clean/home" TMPDIR="$clean/tmp" LANG=C.UTF-8 PATH="$clean/venv/bin:/usr/bin:/bin" "$@"; }
where="$(bare python -c 'import airwork; print(airwork.__file__)')"
case "$where" in "$clean"/venv/*) ;; *) fail "airwork is not the wheel's: $where" ;; esac

say "airwork demo"
bare airwork demo >demo.txt || fail "airwork demo"
sed -n '1,4p' demo.txt
for made in airwork-demo/lessons/stalls_over_the_lake.card.pdf airwork-demo/logbook.sqlite; do
  [ -s "$made" ] || fail "the demo did not make $made"
done
reports=$(ls airwork-demo/recordings/*.debrief.html | wc -l)
[ "$reports" -ge 5 ] || fail "only $reports debriefs"
echo "   card, logbook and $reports debriefs are there"

say "airwork numbers, brief, debrief, logbook"
bare airwork numbers larkmoor_155 --altitude 6500ft --altimeter 30.05inHg --oat 24C --weight 2200lb >numbers.txt
grep '^  density altitude' numbers.txt || fail "no density altitude among the numbers"
bare airwork brief airwork-demo/lessons/stalls_over_the_lake.toml --data airwork-demo/logbook.sqlite >brief.txt
sed -n 1p brief.txt
bare airwork debrief airwork-demo/recordings/2025-08-14_slow_flight.csv.gz --airplane larkmoor_155 >debrief.txt
grep -m 1 'Slow flight' debrief.txt || fail "the slow flight was not seen"
bare airwork logbook progress "Nora Whitlock" --data airwork-demo/logbook.sqlite >progress.txt
[ -s progress.txt ] || fail "no progress"

say "airwork serve"
port="$(bare python -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')"
env -i HOME="$clean/home" TMPDIR="$clean/tmp" LANG=C.UTF-8 PATH="$clean/venv/bin:/usr/bin:/bin" \
  airwork serve --folder airwork-demo --data airwork-demo/logbook.sqlite --port "$port" >serve.txt 2>&1 &
server=$!
cat >fetch.py <<'PY'
"""Fetch the served pages and everything of this server that they load."""

import re
import sys
import time
import urllib.error
import urllib.request

base = sys.argv[1]
for _ in range(100):
    try:
        urllib.request.urlopen(base + "/", timeout=5).close()
        break
    except (urllib.error.URLError, ConnectionError):
        time.sleep(0.2)
wanted, seen = ["/", "/today.json?lesson=stalls_over_the_lake", "/debriefs", "/airplanes", "/airplanes/larkmoor_155", "/students"], set()
while wanted:
    path = wanted.pop()
    if path in seen:
        continue
    seen.add(path)
    with urllib.request.urlopen(base + path, timeout=60) as answer:
        body, kind = answer.read(), answer.headers.get("content-type", "")
    if answer.status != 200 or not body:
        sys.exit(f"{path}: {answer.status}, {len(body)} bytes")
    if "html" in kind:
        text = body.decode()
        print(f"   {path:<44}{answer.status}  {len(body):>7} bytes  {re.search('<title>(.*?)</title>', text, re.S)[1].strip()}")
        loaded = re.findall(r'<(?:script|img)[^>]*src="([^"]+)"|<link[^>]*rel="stylesheet"[^>]*href="([^"]+)"', text)
        for address in (a or b for a, b in loaded):
            if re.match(r"https?:|//", address) and not address.startswith(base):
                sys.exit(f"{path} loads {address} from elsewhere")
            if address.startswith("/"):
                wanted.append(address.split("#")[0])
print(f"   {len(seen)} addresses, everything the pages load among them")
PY
bare python fetch.py "http://127.0.0.1:$port" || { cat serve.txt >&2; fail "the pages"; }

for browser in chromium-headless-shell chromium chromium-browser google-chrome; do
  if command -v "$browser" >/dev/null 2>&1; then
    say "the page in $browser"
    bare "$(command -v "$browser")" --headless --no-sandbox --disable-gpu --disable-background-networking \
      --user-data-dir="$clean/home/browser" --virtual-time-budget=8000 --dump-dom "http://127.0.0.1:$port/" \
      >dom.html 2>browser.txt || { tail -5 browser.txt >&2; fail "$browser"; }
    grep -q 'Slow flight' dom.html || fail "the lesson does not show in $browser"
    echo "   the lesson shows: $(wc -c <dom.html) bytes after its scripts ran"
    break
  fi
done

say "README: sh tools/demo.sh, from a copy of the sources"
mkdir "$clean/sources"
(cd "$sources" && git ls-files -z | tar --null --files-from=- --ignore-failed-read -cf - 2>/dev/null) | tar -xf - -C "$clean/sources"
# Of this machine's settings only where packages come from and whose certificates it trusts, where it names that.
readme() {
  # shellcheck disable=SC2046
  (cd "$clean/sources" && env -i HOME="$clean/home" TMPDIR="$clean/tmp" LANG=C.UTF-8 \
    PATH="$(dirname "$python"):/usr/local/bin:/usr/bin:/bin" NPM_CONFIG_USERCONFIG="$HOME/.npmrc" $(env | grep -E '^(PIP_|NPM_CONFIG_|NODE_EXTRA_CA|SSL_CERT)[A-Z_]*=[^ ]*$') "$@")
}
readme sh tools/demo.sh --no-page >"$clean/readme.txt" 2>&1 || { tail -5 "$clean/readme.txt" >&2; fail "tools/demo.sh"; }
[ -s "$clean/sources/airwork-demo/logbook.sqlite" ] || fail "tools/demo.sh filled no logbook"
echo "   done"
if [ -n "$tests" ]; then
  say "README: sh tools/test.sh, from the same copy"
  readme sh tools/test.sh >"$clean/readme.txt" 2>&1 || { grep -E "^(FAILED|ERROR|[0-9]+ failed)" "$clean/readme.txt" | head -30 >&2; fail "tools/test.sh"; }
  tail -2 "$clean/readme.txt"
fi
