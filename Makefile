# Two commands matter: make demo, make test. Each does all its own set-up.

VENV    := .venv
BIN     := $(VENV)/bin
PYTHON  ?= $(shell .ci/find-python)
SOURCES := $(shell git ls-files --cached --others --exclude-standard -- keysense dashboards 2>/dev/null | sort)
# A strict editable install links files one by one, so a new file needs a new install.
LISTING := $(shell printf '%s\n' '$(SOURCES)' | cksum | cut -d' ' -f1)

.PHONY: demo test lint types wheel bench check clean docs fixtures

demo: $(VENV)/.keysense-$(LISTING)
	$(BIN)/keysense demo

test: $(VENV)/.test-$(LISTING)
	.ci/system-packages jackd chromium
	$(BIN)/pytest -n 2 --dist loadgroup $(TESTS)

lint: $(VENV)/.test-$(LISTING)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(VENV)/.test-$(LISTING)
	cd .ci && ../$(BIN)/mypy --config-file ../pyproject.toml -p keysense
	$(BIN)/mypy -p fixtures

wheel: $(VENV)/.test-$(LISTING)
	.ci/wheel-test $(BIN)/python

check: lint types test wheel

bench: $(VENV)/.test-$(LISTING)
	.ci/system-packages jackd chromium
	$(BIN)/python tests/bench $(BENCH)

docs: $(VENV)/.test-$(LISTING)
	$(BIN)/python .ci/write_docs.py

fixtures: $(VENV)/.test-$(LISTING)
	$(BIN)/python -m fixtures.make
	$(BIN)/python -m fixtures.scores.make
	for score in keysense/demo/scores/*.musicxml; do cp fixtures/scores/$$(basename $$score) $$score; done

$(VENV)/.python:
	@test -n "$(PYTHON)" || { echo "keysense needs Python 3.11, 3.12 or 3.13 with venv: install python3.12, then run make again." >&2; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --upgrade pip
	@touch $@

# Python 3.13 has no ready-made build of the MIDI library: its headers let pip build it.
$(VENV)/.keysense-$(LISTING): $(VENV)/.python pyproject.toml
	$(BIN)/python -c 'import sys; sys.exit(sys.version_info < (3, 13))' && .ci/system-packages alsa-headers || true
	$(BIN)/pip install --quiet --editable '.[listen]' --config-settings editable_mode=strict \
	  || $(BIN)/pip install --quiet --editable . --config-settings editable_mode=strict
	@rm -f $(VENV)/.keysense-*; touch $@

$(VENV)/.test-$(LISTING): $(VENV)/.keysense-$(LISTING)
	$(BIN)/pip install --quiet --editable '.[test]' --config-settings editable_mode=strict
	@rm -f $(VENV)/.test-*; touch $@

clean:
	rm -rf $(VENV) build dist *.egg-info bench-results
