# Needs python3 (3.11 or later), pip and make; the rest is fetched once, from the locks.
#
#   make demo    the main job on the log that ships with the tool; leaves its pictures in demo-out/
#   make test    the tests, with the system packages they need
#   make check   style, types and layers
#   make locks   the two locks again from pyproject.toml (needs uv); UPGRADE=1 for newer releases
#   make clean   away with what the others left

PYTHON ?= python3
export PYTHON

RUN = PYTHONPATH="$(CURDIR)/src" .venv-run/bin/python
DEV = PYTHONPATH="$(CURDIR)/src" .venv/bin/python
TESTS =
LOCK = UV_CUSTOM_COMPILE_COMMAND="make locks" uv pip compile --quiet --universal --python-version 3.11 \
	--generate-hashes $(if $(UPGRADE),--upgrade) pyproject.toml

.PHONY: demo test check style types layers locks clean run-environment dev-environment

demo: run-environment
	@$(RUN) -m pacewright demo --out-dir demo-out

test: dev-environment
	@.ci/system-packages
	$(DEV) -m pytest -n auto --dist loadfile $(TESTS)

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

locks:
	$(LOCK) --output-file requirements.lock
	$(LOCK) --extra terrain --extra postgres --group dev --constraint requirements.lock --output-file requirements-dev.lock

clean:
	rm -rf .venv .venv-run demo-out .mypy_cache .pytest_cache .ruff_cache .import_linter_cache .hypothesis
	find src tests bench -name __pycache__ -type d -prune -exec rm -rf {} +
