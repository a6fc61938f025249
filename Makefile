# Two commands from nothing: `make demo` and `make test`. Both install what they need.
# PYTHON=... chooses an interpreter (else tools/python finds one), VENV=... another folder for its environment.
SHELL := /bin/bash
VENV ?= .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: bench demo test setup lint check-types floors unit locales faults fuzz proof lock docker-steps clean

demo: $(VENV)/runs
	$(BIN)/labelkit demo --out demo

test: setup lint check-types floors unit

setup: $(VENV)/tests

# Making artwork needs less than half of what the tests need. What builds labelkit itself is locked too.
$(VENV)/runs: pyproject.toml requirements/runtime.txt tools/apt-packages tools/python
	tools/apt-packages
	"$${PYTHON:-$$(tools/python)}" -m venv $(VENV)
	$(BIN)/pip install -q --no-compile -r requirements/runtime.txt
	PIP_CONSTRAINT=requirements/tests.txt $(BIN)/pip install -q --no-deps -e .
	$(BIN)/pip uninstall -q -y setuptools
	touch $@

$(VENV)/tests: $(VENV)/runs requirements/tests.txt
	tools/apt-packages tests
	$(BIN)/pip install -q -r requirements/tests.txt
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

# What the tests are worth: the oracle on more workspaces, 200 small wrong changes of the code (docs/proof.md).
proof: setup
	LABELKIT_PROOF_EXAMPLES=100 $(BIN)/pytest tests/oracle
	$(BIN)/python tools/mutants.py --count 200 --seed 1

# Ratios to general libraries in one run, written to docs/benchmarks.md.
bench: setup
	$(BIN)/python benchmarks/report.py

# Damaged files for every reader: docs/fuzzing.md. FUZZ="--seconds 600 --seed 7" says otherwise.
FUZZ ?= --seconds 60 --seed 1
fuzz: setup
	$(BIN)/python tools/fuzz.py $(FUZZ)

# Resolve the locked sets anew (names and versions only), for every supported Python at once.
lock:
	tools/lock

# The Dockerfile's steps in a bare Debian, where no container runtime is. As root.
docker-steps:
	tools/docker-steps.py

clean:
	rm -rf $(VENV) demo dist build
