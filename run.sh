#!/bin/sh
# Install and run:  ./run.sh ARGS        Install and test:  ./run.sh test [pytest's arguments]
# Needs Python 3.11 or newer with venv, or uv; and a package index the first time. Touches only .venv/ beside it.
set -eu
cd "$(dirname "$0")"
venv=.venv
fits() { "$1" -c 'import sys, ensurepip, venv; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; }
if ! [ -x "$venv/bin/python" ]; then
  python=
  for name in "${PYTHON:-}" python3 python3.13 python3.12 python3.11 python; do
    [ -n "$name" ] && fits "$name" && { python=$name; break; }
  done
  if [ -n "$python" ]; then "$python" -m venv "$venv"
  elif command -v uv >/dev/null 2>&1; then uv venv -q --seed -p '>=3.11,<3.14' "$venv"
  else
    echo "No Python 3.11 or newer with venv was found. Debian and Ubuntu: sudo apt install python3-venv. macOS: brew install python" >&2
    exit 1
  fi
fi
stamp=$venv/.installed
want=run; [ "${1:-}" = test ] && want=test
if ! [ "$stamp-$want" -nt pyproject.toml ] || ! [ "$stamp-$want" -nt constraints.txt ]; then
  echo "evener: installing into $venv (once)" >&2
  extra=; [ "$want" = test ] && extra='[test]'
  "$venv/bin/python" -m pip install -q --disable-pip-version-check -c constraints.txt -e ".$extra"
  touch "$stamp-$want"
fi
if [ "$want" = test ]; then
  shift
  [ $# -gt 0 ] || set -- -n 2 --dist worksteal
  exec "$venv/bin/python" -m pytest "$@"
fi
exec "$venv/bin/evener" "$@"
