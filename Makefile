# Two commands matter: `make demo` and `make test`. Both set everything up first.
PYTHON ?= python3
BIN := .venv/bin
# Days of the accuracy report: nothing is tuned on these seeds.
SEEDS ?= 22000-22099
TAPS_SEEDS ?= 25000-25039
MOMENTS_SEEDS ?= 30000-30029
SETUP := .venv/.set-up
# npm with this machine's Node, or with the one of a wheel put into .venv where there is none.
NPM := $(BIN)/python web/npm.py
MODULES := web/node_modules/.package-lock.json
PAGES := server/unsown/static/desk.html
PAGE_SOURCES := $(shell find web/src web/cab web/public web/*.html web/*.ts web/*.json -type f 2>/dev/null)

.PHONY: setup web demo test lint types soak bench docs wheel clean

setup: $(SETUP) $(PAGES)

$(SETUP): pyproject.toml
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade pip
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	touch $(SETUP)

$(MODULES): web/package-lock.json web/.npmrc | $(SETUP)
	$(NPM) --check || $(BIN)/python -m pip install --quiet --disable-pip-version-check '$(shell sed -n 's/^WHEEL = "\(.*\)"/\1/p' web/npm.py)'
	$(NPM) ci --silent
	touch $(MODULES)

web: $(PAGES)

$(PAGES): $(MODULES) $(PAGE_SOURCES)
	$(NPM) run --silent build -- --logLevel warn

# Serves until Ctrl-C; DEMO_ONCE=1, or CI being set, leaves it at the printed day.
demo: setup
	$(BIN)/unsown demo --out demo-out
	@if [ -z "$(DEMO_ONCE)$(CI)" ]; then \
	  echo; echo "The same farm as pages:"; \
	  exec $(BIN)/unsown serve --demo --data demo-out/farm; \
	fi

lint: setup
	$(BIN)/ruff check server tests docs web hatch_build.py
	$(BIN)/ruff format --check server tests docs web hatch_build.py
	$(NPM) run --silent lint
	$(BIN)/bandit --quiet --configfile pyproject.toml --recursive server

types: setup
	$(BIN)/mypy
	$(NPM) run --silent types

test: lint types
	$(NPM) run --silent test
	$(BIN)/python -m pytest -q --numprocesses 3 --dist loadfile --no-loadscope-reorder

soak: setup
	$(BIN)/python -m pytest -q -m soak --soak
	$(BIN)/python tests/soak/accuracy.py --seeds $(SEEDS) --pegs --out docs/reference/accuracy.md
	$(BIN)/python tests/soak/taps.py --seeds $(TAPS_SEEDS) --out docs/reference/accuracy.md
	$(BIN)/python tests/soak/moments.py --seeds $(MOMENTS_SEEDS) --out docs/reference/accuracy.md

bench: setup
	$(BIN)/python tests/bench/run.py --write

docs: setup
	$(BIN)/python docs/refresh.py

wheel: setup
	$(BIN)/python -m build --wheel

clean:
	rm -rf .venv demo-out dist build web/node_modules server/unsown/static
