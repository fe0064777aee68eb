# Two commands matter: make demo, make test. Each does all its own set-up.

VENV    := .venv
BIN     := $(VENV)/bin
PYTHON  ?= $(shell .ci/find-python)

.PHONY: demo test lint types wheel bench check clean docs figures fixtures gallery

demo: $(VENV)/.keysense
	$(BIN)/keysense demo

test: $(VENV)/.test
	.ci/system-packages jackd chromium pango
	$(BIN)/pytest -n 2 --dist loadgroup $(TESTS)

lint: $(VENV)/.test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

# dashboards/ is installed as keysense.dashboards: mypy reads the tree as it will be installed.
types: $(VENV)/.test
	rm -rf build/types && mkdir -p build/types && cp -r keysense fixtures build/types/ && cp -r dashboards build/types/keysense/
	cd build/types && ../../$(BIN)/mypy --config-file ../../pyproject.toml -p keysense -p fixtures

wheel: $(VENV)/.test
	.ci/wheel-test $(BIN)/python

check: lint types test wheel

bench: $(VENV)/.bench
	.ci/system-packages jackd chromium
	$(BIN)/python tests/bench $(BENCH)

docs: $(VENV)/.test
	$(BIN)/python .ci/write_docs.py

figures: $(VENV)/.test
	$(BIN)/python .ci/write_figures.py

gallery: $(VENV)/.test
	.ci/system-packages chromium
	$(BIN)/python tests/gallery.py

fixtures: $(VENV)/.test
	$(BIN)/python -m fixtures.make
	$(BIN)/python -m fixtures.scores.make
	for score in keysense/demo/scores/*.musicxml; do cp fixtures/scores/$$(basename $$score) $$score; done

$(VENV)/.python:
	@test -n "$(PYTHON)" || { echo "keysense needs Python 3.11, 3.12 or 3.13 with venv: install python3.12, then run make again." >&2; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --upgrade pip
	@touch $@

# Python 3.13 has no ready-made build of the MIDI library: its headers let pip build it.
$(VENV)/.keysense: $(VENV)/.python pyproject.toml
	$(BIN)/python -c 'import sys; sys.exit(sys.version_info < (3, 13))' && .ci/system-packages alsa-headers || true
	$(BIN)/pip install --quiet --editable '.[listen]' || $(BIN)/pip install --quiet --editable .
	@touch $@

$(VENV)/.test: $(VENV)/.keysense
	$(BIN)/pip install --quiet --editable '.[test]'
	@touch $@

$(VENV)/.bench: $(VENV)/.test
	$(BIN)/pip install --quiet --editable '.[bench]'
	@touch $@

clean:
	rm -rf $(VENV) build dist *.egg-info bench-results
