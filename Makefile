# Two commands matter: `make demo` and `make test`. Both set everything up first.
PYTHON ?= python3
BIN := .venv/bin
# Days of the accuracy report: nothing is tuned on these seeds.
SEEDS ?= 20000-20099
SETUP := .venv/.set-up

.PHONY: setup demo test lint types soak bench docs wheel clean

setup: $(SETUP)

$(SETUP): pyproject.toml
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade pip
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	touch $(SETUP)

demo: setup
	$(BIN)/unsown demo --out demo-out

lint: setup
	$(BIN)/ruff check server tests docs
	$(BIN)/ruff format --check server tests docs

types: setup
	$(BIN)/mypy

test: lint types
	$(BIN)/python -m pytest -q

soak: setup
	$(BIN)/python -m pytest -q -m soak --soak
	$(BIN)/python tests/soak/accuracy.py --seeds $(SEEDS) --pegs --out docs/reference/accuracy.md

bench: setup
	$(BIN)/python tests/bench/run.py --write

docs: setup
	$(BIN)/python docs/refresh.py

wheel: setup
	$(BIN)/python -m build --wheel

clean:
	rm -rf .venv demo-out dist build
