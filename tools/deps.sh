#!/usr/bin/env bash
# Installs the Debian packages that tests need, when they are missing and this may be done.
set -eu
missing=()
need() { command -v "$1" >/dev/null 2>&1 || missing+=("$2"); }
need chromium chromium
need mosquitto mosquitto
need socat socat
need tmux tmux
need pdftoppm poppler-utils
# The server of pymodbus imports serial, which the Debian package only recommends.
for python in /usr/bin/python3 python3; do
	if "$python" -c 'import pymodbus.server, serial_asyncio' >/dev/null 2>&1; then modbus=yes; fi
done
[ "${modbus:-}" = yes ] || missing+=(python3-pymodbus python3-serial python3-serial-asyncio)
[ ${#missing[@]} -eq 0 ] && exit 0
if ! command -v apt-get >/dev/null 2>&1 || [ "$(id -u)" != 0 ]; then
	echo "missing for the tests: ${missing[*]}; install them by hand" >&2
	exit 0
fi
echo "installing ${missing[*]}"
apt-get update -qq
DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
