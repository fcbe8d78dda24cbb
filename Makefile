# What a change must pass. `uv sync --group dev` first; ./run-tests does all of it on a fresh machine.

RUN ?= uv run --no-sync
JOBS ?= 2
# Browsers and servers wait for each other much of the time.
E2E_JOBS ?= 3
PYTEST = $(RUN) pytest --dist worksteal
PLACES = $(wildcard src tests benchmarks tools)

export OPENBLAS_NUM_THREADS ?= 1
export OMP_NUM_THREADS ?= 1

.PHONY: help check check-js format lint types layers test slow e2e bench build

help:
	@echo "make check    format, lint, types, layers and the quick tests: about a minute"
	@echo "make slow     the tests that take longer"
	@echo "make e2e      whole jobs through the command line"
	@echo "make bench    measure speed; see benchmarks/"
	@echo "make build    wheel and source archive in dist/"
	@echo "make format   put the code in shape (changes files)"

check: lint types check-js layers test

format:
	$(RUN) ruff format $(PLACES)
	$(RUN) ruff check --fix $(PLACES)

lint:
	$(RUN) ruff format --check $(PLACES)
	$(RUN) ruff check $(PLACES)

types:
	$(RUN) mypy

check-js:
	tools/check_scripts.sh

layers:
	$(RUN) lint-imports

test:
	$(PYTEST) -n $(JOBS) -m "not slow" --ignore=tests/e2e

slow:
	$(PYTEST) -n $(JOBS) -m slow --ignore=tests/e2e

e2e:
	$(PYTEST) -n $(E2E_JOBS) tests/e2e

bench:
	@missed=""; for script in benchmarks/bench_*.py; do \
	    test -e "$$script" || { echo "no benchmarks/bench_*.py"; exit 1; }; \
	    echo "== $$script"; $(RUN) python "$$script" || missed="$$missed $$script"; \
	done; \
	test -z "$$missed" || { echo "goals missed:$$missed"; exit 1; }

build:
	uv build
