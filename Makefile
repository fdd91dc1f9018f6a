# `make` alone lists the targets. Each one makes .venv first if it is missing or out of date.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
# What the environment was last made from; newer sources make it again.
READY := $(VENV)/.ready

.DEFAULT_GOAL := help
.PHONY: help setup demo test check style types contracts pages bench docs lock clean

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z]+:.*## / {printf "  make %-7s %s\n", $$1, $$2}' Makefile

setup: $(READY) ## make .venv from requirements.lock

# At a terminal somebody can end what serves; a script or a machine that checks can't.
demo: $(READY) ## the whole job on an invented house; at a terminal, its field page as well
	@if [ -t 1 ] && [ -z "$$CI" ]; then $(BIN)/ventwright demo; else $(BIN)/ventwright demo --once; fi

# Tests that wait for a browser or a server leave the processor to others: as many processes as cores,
# at most four. `pytest` itself, without make, runs them one after the other.
test: $(READY) ## all tests and doctests
	$(BIN)/python -m pytest --numprocesses auto --maxprocesses 4 --dist loadfile --no-loadscope-reorder

check: style types contracts pages ## style, types, import contracts, freshness of generated pages

style: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

contracts: $(READY)
	$(BIN)/lint-imports --no-cache --no-logo

pages: $(READY)
	$(BIN)/python tools/docs.py --check

bench: $(READY) ## every benchmark; the last line of each is one JSON object
	@set -e; for file in benchmarks/*.py; do echo "== $$file"; $(BIN)/python $$file --json; done

docs: $(READY) ## write the generated pages under docs/reference
	$(BIN)/python tools/docs.py

# Universal: one file for every system and every Python from 3.11 on. No index is named in it, so it
# works with whichever index pip is set to, and the hashes hold that index to the same files.
lock: $(READY) ## pin every dependency of pyproject.toml again, with hashes
	$(BIN)/uv --no-config pip compile --quiet --upgrade --universal --python-version 3.11 \
	  --all-extras --generate-hashes --no-header --no-annotate \
	  --output-file requirements.lock pyproject.toml
	$(BIN)/python -m pytest tests/architecture/test_lock.py

clean: ## remove .venv, caches and outputs
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis build dist demo out

$(READY): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "Ventwright needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Name another one: make PYTHON=python3.12 ...")'
	@echo "Making $(VENV) from requirements.lock (a minute or two the first time) ..."
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@
