#!/bin/sh
# Makes the environment in which the peer runs: a general pipe-network library that pins old versions
# of much else, so it never shares the project's environment. Git ignores the folder.
set -eu
cd "$(dirname "$0")/.."
python3 -m venv .peers/pandapipes
.peers/pandapipes/bin/python -m pip install --quiet "pandapipes==0.16.0" six
.peers/pandapipes/bin/python -c "import pandapipes; print('pandapipes', pandapipes.__version__)"
