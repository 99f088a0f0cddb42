# Two commands do all set-up on a fresh machine: `make serve` and `make test`.
#   serve     the service with the demo bar on http://127.0.0.1:8000; WASHLINE_DEMO=0 starts it without
#   test      every check, with the short form of the faults
#   check     style, types and floors          bench     the speed goals as ratios
#   campaign  properties with many examples, and the faults with ten times the rounds
#   examples  openapi-examples/ written anew   lock      the lock files written anew
PYTHON ?= python3
SERVE_VENV := .venv-serve
TEST_VENV := .venv
AXE := 4.14.1

.PHONY: serve test check bench campaign examples pictures lock clean

serve: $(SERVE_VENV)/.installed
	WASHLINE_DEMO=$${WASHLINE_DEMO:-1} $(SERVE_VENV)/bin/python -m service serve

test: $(TEST_VENV)/.installed .node/.installed
	$(MAKE) check
	$(TEST_VENV)/bin/python -m pytest -n 3 --dist worksteal --durations=40

check: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/ruff check .
	$(TEST_VENV)/bin/ruff format --check .
	$(TEST_VENV)/bin/mypy
	$(TEST_VENV)/bin/lint-imports

bench: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/python -m tests.benchmarks

campaign: $(TEST_VENV)/.installed
	WASHLINE_EXAMPLES=20000 $(TEST_VENV)/bin/python -m pytest -n 2 tests/test_properties_physical.py \
	  tests/test_properties_readers.py tests/test_choosing.py tests/test_costing.py tests/test_money.py tests/test_pricing.py \
	  tests/test_labelling.py tests/test_lawful.py tests/test_bands_by_draws.py tests/api/test_schemathesis.py
	WASHLINE_ROUNDS=10 $(TEST_VENV)/bin/python -m pytest -n 2 tests/faults tests/api/test_coming.py

examples: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/python -m tests.examples --write

pictures: $(TEST_VENV)/.installed
	$(TEST_VENV)/bin/python -m tests.pictures

lock:
	$(PYTHON) -m venv .venv-lock
	.venv-lock/bin/pip -q install uv
	.venv-lock/bin/uv pip compile --universal --upgrade --generate-hashes --no-header --no-annotate --no-emit-index-url -q pyproject.toml -o .ci/lock-serve.txt
	.venv-lock/bin/uv pip compile --universal --upgrade --generate-hashes --no-header --no-annotate --no-emit-index-url -q --extra test pyproject.toml -o .ci/lock-test.txt

$(SERVE_VENV)/.installed: .ci/lock-serve.txt
	$(PYTHON) -m venv $(SERVE_VENV)
	$(SERVE_VENV)/bin/python -m pip -q --disable-pip-version-check install --require-hashes -r .ci/lock-serve.txt
	touch $@

$(TEST_VENV)/.installed: .ci/lock-test.txt
	$(PYTHON) -m venv $(TEST_VENV)
	$(TEST_VENV)/bin/python -m pip -q --disable-pip-version-check install --require-hashes -r .ci/lock-test.txt
	touch $@

# What checks pages for accessibility, in one version; the test that needs it holds its hash, and says so without it.
.node/.installed: Makefile
	mkdir -p .node
	if command -v npm >/dev/null; then \
	  npm install --prefix .node --no-save --no-audit --no-fund --ignore-scripts --loglevel=error axe-core@$(AXE) && touch $@; \
	else echo "npm is missing, so that pages cannot be checked for accessibility: .ci/browser installs it."; fi

clean:
	rm -rf $(SERVE_VENV) $(TEST_VENV) .venv-lock .node .mypy_cache .ruff_cache .hypothesis
