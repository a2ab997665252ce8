# `make demo` runs the main job, `make test` proves it; both set themselves up.
.DEFAULT_GOAL := help
PYTHON ?= python3
BIN := .venv/bin
# A throw-away home for what the tools like to cache, so that nothing is left outside this folder.
export PIP_DISABLE_PIP_VERSION_CHECK := 1

help: ## show this list
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

# The virtual environment, once with what the service needs and once more with what its tests need.
.venv/run: constraints.txt pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Traybridge needs Python 3.11 or later; this is " + sys.version.split()[0])'
	@echo "Setting up .venv (first run only; about half a minute)"
	@$(PYTHON) -m venv .venv
	@$(BIN)/pip install --quiet --require-hashes -r constraints.txt
	@$(BIN)/pip install --quiet --no-deps --no-build-isolation --editable .
	@touch $@

.venv/dev: .venv/run tests/constraints.txt
	@echo "Adding the test tools to .venv"
	@$(BIN)/pip install --quiet --require-hashes -r tests/constraints.txt
	@touch $@

demo: .venv/run ## run the main job on the demo scenario and serve it (ONCE=1 stops after the table, DATA=folder, PORT=8080)
	@$(BIN)/traybridge demo $(if $(ONCE),--once) $(if $(DATA),--data '$(DATA)') $(if $(PORT),--port $(PORT))

test: .venv/dev ## run every test against a real PostgreSQL (DATABASE_URL chooses a server)
	@$(BIN)/pytest --numprocesses=logical --dist=loadfile --no-loadscope-reorder $(ARGS)

lint: .venv/dev ## style, types and the layers of the house
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports

# The outside tools that come from Node's world, of the versions and hashes in the lock file.
NODE := tests/clients/node_modules
$(NODE)/.ready: tests/clients/package.json tests/clients/package-lock.json
	@command -v npm >/dev/null || { echo "This needs Node.js 18 or later and npm."; exit 1; }
	@echo "Adding the outside linter and the TypeScript tools to $(NODE)"
	@cd tests/clients && npm ci --silent
	@touch $@

contract: .venv/dev $(NODE)/.ready ## outside linter, comparison with the last release, outside fuzzer on a running service
	@REDOCLY_TELEMETRY=off REDOCLY_SUPPRESS_UPDATE_NOTICE=true \
		$(NODE)/.bin/redocly lint --config openapi/redocly.yaml openapi/openapi.yaml
	@$(BIN)/python tests/contract/compatible.py
	@$(BIN)/python tests/contract/fuzz.py $(ARGS)

clients: .venv/dev $(NODE)/.ready ## generate a Python and a TypeScript client and let both tell the main story
	@$(BIN)/python tests/clients/run.py

release: .venv/dev ## keep the contract as released under its version; later ones are compared with it
	@$(BIN)/python tests/contract/compatible.py release

# What the housing plans are measured against; nothing else needs it.
.venv/bench: .venv/dev benchmarks/constraints.txt
	@echo "Adding the peers of the benchmarks to .venv"
	@$(BIN)/pip install --quiet --require-hashes --no-build-isolation -r benchmarks/constraints.txt
	@touch $@

bench: .venv/bench ## what things cost and how that grows: all, or one subject (ARGS=transfers)
	@$(BIN)/python -m benchmarks $(ARGS)

openapi: .venv/run ## write openapi/openapi.yaml anew from the code
	@$(BIN)/traybridge openapi > openapi/openapi.yaml.new && mv openapi/openapi.yaml.new openapi/openapi.yaml

lock: ## pin the newest allowed versions (needs uv)
	@echo 'setuptools>=80' | uv pip compile pyproject.toml - --universal --python-version 3.11 --generate-hashes \
		--no-emit-index-url --no-annotate --no-header --upgrade --quiet -o constraints.txt
	@uv pip compile pyproject.toml --extra dev --universal --python-version 3.11 --generate-hashes \
		--no-emit-index-url --no-annotate --no-header -c constraints.txt --upgrade --quiet -o tests/constraints.txt
	@uv pip compile pyproject.toml --extra bench --universal --python-version 3.11 --generate-hashes \
		--no-emit-index-url --no-annotate --no-header -c constraints.txt -c tests/constraints.txt --upgrade --quiet \
		-o benchmarks/constraints.txt

.PHONY: help demo test lint bench contract clients release openapi lock
