# Two commands: `make demo` rehearses the main example into out/, `make test` runs the tests.
# Both make their own virtual environment first; a second run finds it ready.

VENV ?= .venv
PYTHON ?= python3
BIN := $(VENV)/bin
SOURCES := $(shell find model assembly exports \( -name node_modules -o -path exports/page/built \) -prune \
	-o -type f ! -name '*.pyc' -print)

.PHONY: demo test bench clean

demo: $(VENV)/installed
	@.ci/pictures $(BIN)/python
	@$(BIN)/dryfit rehearse examples/orchard_gate.toml -o out

test: $(VENV)/editable
	@.ci/browser
	@$(BIN)/python -m pytest

bench: $(VENV)/editable
	@$(BIN)/python -m tests.bench

clean:
	rm -rf $(VENV) out dist build

# The demo runs what a user gets: the built wheel. The tests run the checkout.
$(VENV)/installed: $(BIN)/pip pyproject.toml $(SOURCES)
	@.ci/install $(VENV) installed .

$(VENV)/editable: $(BIN)/pip pyproject.toml
	@.ci/install $(VENV) editable --editable '.[dev]'

$(BIN)/pip:
	@.ci/environment $(PYTHON) $(VENV)
