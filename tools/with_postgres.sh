#!/usr/bin/env bash
# Runs a command with a PostgreSQL server of its own: tools/with_postgres.sh make test
# The server listens on loopback, lives in a temporary folder, and is gone afterwards. The command
# finds its address in VENTWRIGHT_TEST_POSTGRES_URL.
set -euo pipefail

bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1 || true)
[ -n "$bin" ] || bin=$(pg_config --bindir 2>/dev/null || true)
if [ -z "$bin" ] || [ ! -x "$bin/initdb" ]; then
  echo "PostgreSQL is not installed: apt-get install postgresql" >&2
  exit 1
fi

folder=$(mktemp -d)
as_server() { "$@"; }
if [ "$(id -u)" -eq 0 ]; then # the server refuses to run as root
  chown postgres "$folder"
  as_server() { runuser -u postgres -- "$@"; }
fi
stop() {
  as_server "$bin/pg_ctl" --pgdata="$folder/data" --mode=immediate stop >/dev/null 2>&1 || true
  rm -rf "$folder"
}
trap stop EXIT

port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
cd "$folder"
as_server "$bin/initdb" --pgdata="$folder/data" --username=ventwright --auth=trust \
  --encoding=UTF8 --locale=C >/dev/null
# Nothing here outlives the run, so the server need not wait for the disk.
as_server "$bin/pg_ctl" --pgdata="$folder/data" --log="$folder/log" --wait start >/dev/null \
  --options="-p $port -c listen_addresses=127.0.0.1 -c unix_socket_directories=$folder -c fsync=off" ||
  { cat "$folder/log" >&2; exit 1; }
cd "$OLDPWD"
VENTWRIGHT_TEST_POSTGRES_URL="postgresql://ventwright@127.0.0.1:$port/postgres" "$@"
