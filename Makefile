# Two commands from nothing: `make demo` and `make test`. Both install what they need.
SHELL := /bin/bash
PYTHON ?= python3.11
BIN := .venv/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: bench demo test setup lint check-types floors unit locales faults fuzz lock clean

demo: setup
	$(BIN)/labelkit demo --out demo

test: setup lint check-types floors unit

setup: .venv/ready

.venv/ready: pyproject.toml requirements.lock tools/apt-packages
	tools/apt-packages
	$(PYTHON) -m venv .venv
	$(BIN)/pip install -q -r requirements.lock
	$(BIN)/pip install -q --no-deps --no-build-isolation -e .
	touch $@

lint:
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

check-types:
	$(BIN)/mypy

floors:
	$(BIN)/lint-imports --no-logo

unit:
	$(BIN)/pytest

# Bring every catalog in step with the statements; report words and signatures side by side.
locales: setup
	$(BIN)/python -m labelkit.wording.maintenance

# The whole campaign of injected faults: six minutes and more.
faults: setup
	$(BIN)/python tools/faults.py

# Ratios to general libraries in one run, written to docs/benchmarks.md.
bench: setup
	$(BIN)/python benchmarks/report.py

# Damaged files for every reader: docs/fuzzing.md. FUZZ="--seconds 600 --seed 7" says otherwise.
FUZZ ?= --seconds 60 --seed 1
fuzz: setup
	$(BIN)/python tools/fuzz.py $(FUZZ)

# Resolve anew and write the locked environment (names and versions only).
lock:
	$(PYTHON) -m venv .venv/lock
	.venv/lock/bin/pip install -q -e .[dev]
	.venv/lock/bin/pip freeze --exclude-editable > requirements.lock
	rm -r .venv/lock

clean:
	rm -rf .venv demo dist build
