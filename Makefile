# Two commands matter: `make run` and `make test`. Each sets itself up.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: run test lint types tests bench step clean

run: $(VENV)/run.stamp
	@$(BIN)/benchproof serve --demo

test: lint types tests

lint: $(VENV)/test.stamp
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .

types: $(VENV)/test.stamp
	@$(BIN)/mypy

# Everything on embedded SQLite, then what touches the database again on PostgreSQL.
tests: $(VENV)/test.stamp
	@$(BIN)/pytest -n 2
	@$(BIN)/pytest -n 2 --database postgresql tests/store tests/stock tests/api tests/pages tests/test_cli_labels.py

bench: $(VENV)/test.stamp
	@$(BIN)/python -m tests.speed

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

step: $(VENV)/test.stamp  ## write the next numbered step: make step NAME=add_colour
	@$(BIN)/python -m inventory.store.new_step $(NAME)
