# Two commands matter: `make demo` and `make test`. Each sets up what it needs in .venv, from the package index only.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
QUIET := --disable-pip-version-check -q

.PHONY: demo demo-vosk test check lint types tests bench pictures clean
.DEFAULT_GOAL := demo

demo: $(VENV)/.cook
	@mkdir -p build
	@$(BIN)/stovehand demo --out build/demo.wav

demo-vosk: $(VENV)/.test
	@$(BIN)/python tests/live/korean.py

test: $(VENV)/.test tests

tests:
	$(BIN)/python -m pytest -n 2 --dist loadscope tests/unit tests/scenarios
	$(BIN)/python -m pytest tests/kills
	$(BIN)/python -m pytest -n 2 tests/clips
	$(BIN)/python -m pytest tests/live
	$(BIN)/python -m pytest tests/screen

lint: $(VENV)/.test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(VENV)/.test
	$(BIN)/mypy

check: lint types test

bench: $(VENV)/.bench
	$(BIN)/python tests/benchmarks/run_all.py

pictures: $(VENV)/.test
	$(BIN)/python tests/benchmarks/make_pictures.py

clean:
	rm -rf build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(VENV)/bin/python:
	@command -v $(PYTHON) >/dev/null || { echo "Python 3.11, 3.12 or 3.13 is needed: install python3 (Debian: apt install python3 python3-venv)."; exit 2; }
	@$(PYTHON) -c 'import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))' || \
	  { echo "Python 3.11, 3.12 or 3.13 is needed, this is $$($(PYTHON) --version): name one with 'make PYTHON=python3.12 demo'."; exit 2; }
	@$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); echo "Python's venv module is missing: install it (Debian: apt install python3-venv)."; exit 2; }
	@$(BIN)/python -m pip install $(QUIET) --upgrade "pip>=25.1"

# what a cook needs
$(VENV)/.cook: pyproject.toml | $(VENV)/bin/python
	@echo "Setting up (once, under a minute on a fast line) ..."
	@$(BIN)/python -m pip install $(QUIET) -e . || { echo "The packages could not be installed: is the package index reachable?"; exit 2; }
	@touch $@

$(VENV)/.test: pyproject.toml | $(VENV)/bin/python
	@echo "Setting up for tests (once, some minutes on a slow line) ..."
	@$(BIN)/python -m pip install $(QUIET) -e . --group lint --group test --group korean || \
	  { echo "The packages could not be installed: is the package index reachable?"; exit 2; }
	@touch $@ $(VENV)/.cook

$(VENV)/.bench: $(VENV)/.test
	@$(BIN)/python -m pip install $(QUIET) --group bench || { echo "The packages could not be installed: is the package index reachable?"; exit 2; }
	@touch $@
