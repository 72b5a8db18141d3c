# lidwise. `make help` lists what there is.
SHELL := /bin/bash
PYTHON ?= python3.10
VENV := .venv
BIN := $(VENV)/bin
LOCK := requirements.lock
READY := $(VENV)/.ready
ARGS ?=
export RASA_TELEMETRY_ENABLED := false
export TF_CPP_MIN_LOG_LEVEL := 3

.DEFAULT_GOAL := help
.PHONY: help setup run train test lint check bench bench-understanding lock clean

help: ## List the targets.
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "  make %-20s %s\n", $$1, $$2}'
	@echo "Give options with ARGS, such as: make run ARGS='--port 8080'"

setup: $(READY) ## Install everything into .venv (seconds when nothing has changed).

$(READY): $(LOCK) pyproject.toml
	@command -v $(PYTHON) >/dev/null || { echo "Python 3.10 is needed: $(PYTHON) is not found. Set PYTHON=..."; exit 1; }
	@test -x $(BIN)/python || { echo "Making $(VENV) ..."; $(PYTHON) -m venv $(VENV); }
	@awk '/^uv==/{on=1} on{print} on&&!/\\$$/{exit}' $(LOCK) > $(VENV)/installer.txt
	@test -x $(BIN)/uv || { echo "Installing the installer ..."; $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --require-hashes -r $(VENV)/installer.txt; }
	@echo "Installing the packages of $(LOCK) (about 3 GB the first time) ..."
	@$(BIN)/uv pip sync --quiet --python $(BIN)/python --require-hashes $(LOCK)
	@$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation --editable .
	@touch $(READY)

run: setup ## Start the assistant and print its address; Ctrl-C stops it.
	@$(BIN)/lidwise run $(ARGS)

train: setup ## Train the language model anew.
	@$(BIN)/lidwise train $(ARGS)

check: setup ## Prove the rule book.
	@$(BIN)/lidwise check $(ARGS)

lint: setup ## Format, lint and type checks.
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy

test: lint ## Run every test.
	@$(BIN)/lidwise train --if-needed
	@$(BIN)/python -m pytest -q -n 2 --dist worksteal tests/rules tests/dialogue tests/language $(ARGS)
	@$(BIN)/python -m pytest -q -n 2 --dist loadfile tests/bot $(ARGS)

bench: setup ## Measure speed and memory, each beside a baseline of the same run.
	@$(BIN)/python -m rules.bench
	@$(BIN)/lidwise train --if-needed
	@$(BIN)/python -m bot.bench

bench-understanding: setup ## Measure what is understood, beside other ways (the first time about half an hour).
	@$(BIN)/lidwise train --if-needed
	@$(BIN)/python -m bot.measure $(ARGS)
	@$(BIN)/python -m bot.measure.thresholds
	@$(BIN)/python -m bot.measure.classifiers
	@$(BIN)/python -m bot.measure.finders

lock: setup ## Bring the lock file up to date with pyproject.toml.
	@$(BIN)/uv pip compile --quiet pyproject.toml --extra dev --python-version 3.10 --generate-hashes --no-emit-index-url --no-header -o $(LOCK)

clean: ## Remove the environment, the model and the stored conversations.
	@rm -rf $(VENV) .data *.egg-info
