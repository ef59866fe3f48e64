# Two commands matter: `make run` and `make test`. Each sets itself up.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DAYS := sunday leap-day new-years-eve clock-change
TESTS ?= tests

.PHONY: run test lint types tests sqlite postgresql test-days $(DAYS) bench migration clean

run: $(VENV)/run.stamp
	@$(BIN)/benchproof serve --demo

# Make each of some targets whatever became of the others, tell every result at the end, and fail when one failed.
define each
results=; failed=0; for part in $(1); do \
	if $(MAKE) --no-print-directory $$part; then results="$$results $$part passed."; \
	else results="$$results $$part FAILED."; failed=1; fi; \
done; echo "Results:$$results"; exit $$failed
endef

test: $(VENV)/test.stamp
	@$(call each,lint types sqlite postgresql)

tests: $(VENV)/test.stamp
	@$(call each,sqlite postgresql)

lint: $(VENV)/test.stamp
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/lint-imports

types: $(VENV)/test.stamp
	@$(BIN)/mypy

# Everything on embedded SQLite; what touches the database again on PostgreSQL.
sqlite: $(VENV)/test.stamp
	@$(BIN)/pytest -n 2

postgresql: $(VENV)/test.stamp
	@$(BIN)/pytest -n 2 --database postgresql tests/store tests/domain tests/api tests/pages tests/cli/test_labels.py

# The tests as on another day, in another zone: make test-days, or make leap-day TESTS=tests/domain
test-days: $(VENV)/test.stamp
	@$(call each,$(DAYS))

sunday: WHEN = UTC 2026-06-14 12:00:00
leap-day: WHEN = UTC 2028-02-29 10:00:00
new-years-eve: WHEN = Pacific/Auckland 2027-12-31 23:50:00
clock-change: WHEN = America/Los_Angeles 2026-11-01 01:30:00
$(DAYS): $(VENV)/test.stamp
	@echo "Tests as of $(WHEN):"
	@TZ=$(firstword $(WHEN)) AS_OF="$(wordlist 2,3,$(WHEN))" $(BIN)/pytest -n 2 $(TESTS) --ignore tests/browser

bench: $(VENV)/test.stamp
	@$(BIN)/python -m tests.benchmarks.run

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed.")'
	@echo "Setting up $(VENV) ..."
	@$(PYTHON) -m venv $(VENV)

$(VENV)/run.stamp: pyproject.toml | $(VENV)/bin/python
	@echo "Installing what the service needs ..."
	@$(BIN)/pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/test.stamp: pyproject.toml | $(VENV)/bin/python
	@echo "Installing what the tests need (a minute or two) ..."
	@$(BIN)/pip install --quiet --disable-pip-version-check --editable ".[test]"
	@touch $@ $(VENV)/run.stamp

clean:
	rm -rf build *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis

migration: $(VENV)/test.stamp  ## write the next numbered migration: make migration NAME=add_colour
	@$(BIN)/python -m inventory.store.new_migration $(NAME)
