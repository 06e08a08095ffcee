# Needs python3 (3.11 or later), pip and make; the rest is fetched once, from the locks.
#
#   make demo              the main job on the log that ships with the tool; leaves its pictures in demo-out/
#   make test              all tests, with the system packages they need
#   make test-fast         what a change needs, in a few minutes: all but the slow ones
#   make test-statistical  the claims about many made walks
#   make test-browser      the pages in a real browser
#   make test-lowest       the fast tests with the lowest releases that pyproject.toml admits (Python 3.11)
#   make docs              the documents as a site, with its pictures, in docs-out/
#   make check             style, types and layers
#   make locks             the locks again from pyproject.toml (needs uv); UPGRADE=1 for newer releases
#   make clean             away with what the others left
#
# TESTS names some of the tests: make test TESTS=tests/core. NO_SKIPS=1 lets a skipped test fail.

PYTHON ?= python3
export PYTHON

RUN = PYTHONPATH="$(CURDIR)/src" .venv-run/bin/python
DEV = PYTHONPATH="$(CURDIR)/src" .venv/bin/python
TESTS =
# Tests run side by side, one more than there are processors, for those in a browser wait; each reckons on one
# of them, where a linear algebra library would else start threads for all.
WORKERS = $(shell expr $$(nproc 2>/dev/null || echo 2) + 1)
export OPENBLAS_NUM_THREADS = 1
export OMP_NUM_THREADS = 1
PYTEST = -m pytest -n $(WORKERS) --dist loadfile --durations 10 $(if $(NO_SKIPS),--no-skips)
LOCK = UV_CUSTOM_COMPILE_COMMAND="make locks" uv pip compile --quiet --universal --python-version 3.11 \
	--generate-hashes $(if $(UPGRADE),--upgrade) pyproject.toml
EXTRAS = --extra cluster --extra grids --extra https --extra terrain --extra postgres --extra read
LOWEST = build/lowest.txt

DOCS_OUT = docs-out

.PHONY: demo docs test test-fast test-statistical test-browser test-lowest check style types layers locks docs-outputs schema clean \
	run-environment dev-environment system-packages

demo: run-environment
	@$(RUN) -m pacewright demo --out-dir demo-out

test: dev-environment system-packages
	$(DEV) $(PYTEST) $(TESTS)

test-fast: dev-environment system-packages
	$(DEV) $(PYTEST) -m "not slow" $(TESTS)

test-statistical: dev-environment
	$(DEV) $(PYTEST) -m statistical $(TESTS)

test-browser: dev-environment system-packages
	$(DEV) $(PYTEST) -m browser $(TESTS)

test-lowest: system-packages
	@.ci/environment .venv-lowest requirements-lowest.lock
	PYTHONPATH="$(CURDIR)/src" .venv-lowest/bin/python $(PYTEST) -m "not slow" $(TESTS)

docs: dev-environment system-packages
	$(DEV) docs/site/build.py $(DOCS_OUT)

# After a change of what commands print: their outputs in the pages anew. Read what changed.
docs-outputs: dev-environment
	$(DEV) docs/site/console.py docs/*.md

# After a change of what --json holds: its nested keys in the published schema anew. Read what changed.
schema: dev-environment
	PYTHONPATH="$(CURDIR)/src:$(CURDIR)/tests" .venv/bin/python tests/support/json_schema.py

check: style types layers

style: dev-environment
	$(DEV) -m ruff check .
	$(DEV) -m ruff format --check .

types: dev-environment
	$(DEV) -m mypy

layers: dev-environment
	$(DEV) -c "from importlinter.cli import lint_imports_command; lint_imports_command()"

run-environment:
	@.ci/environment .venv-run requirements.lock

dev-environment:
	@.ci/environment .venv requirements-dev.lock

system-packages:
	@.ci/system-packages

locks:
	$(LOCK) --output-file requirements.lock
	$(LOCK) $(EXTRAS) --group dev --constraint requirements.lock --output-file requirements-dev.lock
	mkdir -p build
	$(LOCK) $(EXTRAS) --resolution lowest-direct --no-header --output-file $(LOWEST)
	$(LOCK) $(EXTRAS) --group dev --constraint $(LOWEST) --output-file requirements-lowest.lock

clean:
	rm -rf .venv .venv-run .venv-lowest build demo-out docs-out
	rm -rf .mypy_cache .pytest_cache .ruff_cache .import_linter_cache .hypothesis
	find src tests bench -name __pycache__ -type d -prune -exec rm -rf {} +
