# Readiness: everything a developer types. Needs Python 3.11 to 3.14 with venv, make and git.

.DEFAULT_GOAL := help
.SUFFIXES:
MAKEFLAGS += --no-print-directory --no-builtin-rules

HOST ?= 127.0.0.1
PORT ?= 8000
SERVE ?= 1
COVERAGE ?= 0
# Listening on every network card, this machine itself is reached here.
SHOWN := $(if $(filter 0.0.0.0 ::,$(HOST)),127.0.0.1,$(HOST))

# Measuring coverage takes two thirds as long again, so it is done when it is asked for.
MEASURE := $(if $(filter 0,$(COVERAGE)),,--cov --cov-report=)

BIN := .venv/bin
MANAGE := $(BIN)/python manage.py
DEVELOPMENT := DJANGO_DEBUG=1
# The demonstration keeps to a database of its own, unless DATABASE_URL names another.
DEMO_URL := $(or $(DATABASE_URL),sqlite:///.demo.sqlite3)
DEMO := DJANGO_DEBUG=1 READINESS_DEMO=1 HOST="$(HOST)" DATABASE_URL="$(DEMO_URL)"
SIGN_INS := $(DEMO) HOST="$(SHOWN)" PORT="$(PORT)" $(MANAGE) demo_sign_ins
PIP := $(BIN)/python -m pip --disable-pip-version-check --no-input
COMPILE := .cache/lock/bin/uv pip compile --quiet --universal --python-version 3.11 \
	--generate-hashes --no-emit-index-url --no-strip-extras pyproject.toml

.PHONY: help
help: ## say what there is
	@echo "Readiness: make TARGET"
	@awk -F ':.*## ' '/^[a-z]+:.*## /{printf "  %-8s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

.PHONY: setup
setup: ## make .venv and install what developers need; again only when the lock has changed
	@$(call install,dev)

.PHONY: demo
demo: ## install, seed the demonstration service, play a drill here, then serve (SERVE=0 ends before)
	@$(call install,demo)
	@$(seed)
	@$(DEMO) $(MANAGE) play_demo
	@$(SIGN_INS)
	@if [ "$(SERVE)" != 0 ]; then \
		echo "Serving http://$(SHOWN):$(PORT)/ until Ctrl+C."; \
		exec env $(DEMO) $(MANAGE) runserver --noreload "$(HOST):$(PORT)"; \
	fi

.PHONY: test
test: setup ## run every test on the database of DATABASE_URL, or ONLY=--database-alone; those of the browser where Chromium is
	@mkdir -p .cache
	@$(BIN)/python -m pytest --numprocesses auto --maxprocesses 4 --dist loadfile --no-loadscope-reorder $(MEASURE) $(ONLY)
	@if [ "$(COVERAGE)" != 0 ]; then \
		echo "Coverage of drills and readiness: $$($(BIN)/coverage report --format=total) %" \
			"of lines and branches; .venv/bin/coverage report says which are missed."; \
	fi

.PHONY: check
check: setup ## everything a change must pass: lock, format, lint, imports, types, templates, database, deployment, tests
	@mkdir -p .cache
	@echo "== requirements";  $(BIN)/python -m tests.house.locks && $(PIP) check
	@echo "== format";        $(BIN)/ruff format --check .
	@echo "== lint";          $(BIN)/ruff check .
	@echo "== imports";       $(BIN)/lint-imports --no-logo --cache-dir .cache/imports
	@echo "== types";         $(DEVELOPMENT) $(BIN)/mypy
	@echo "== templates";     $(BIN)/python -m tests.house.templates
	@echo "== migrations";    $(DEVELOPMENT) DATABASE_URL=sqlite:///:memory: $(MANAGE) makemigrations --check --dry-run
	@echo "== deployment";    DJANGO_DEBUG=0 READINESS_DEMO=0 HOST=readiness.example \
		DATABASE_URL=sqlite:///:memory: \
		SECRET_KEY="$$($(BIN)/python -c 'import secrets; print(secrets.token_urlsafe(64))')" \
		$(MANAGE) check --deploy --fail-level WARNING
	@echo "== tests";         $(MAKE) test

.PHONY: run
run: setup ## serve the site on this machine with its own database
	@$(DEVELOPMENT) $(MANAGE) migrate --verbosity 0
	@exec env $(DEVELOPMENT) HOST="$(HOST)" $(MANAGE) runserver "$(HOST):$(PORT)"

.PHONY: seed
seed: setup ## fill the demonstration database anew, with new passwords, without playing or serving
	@$(seed)
	@$(SIGN_INS)

.PHONY: pictures
pictures: setup ## take the pictures of the manual anew from the demonstration
	@$(BIN)/python -m tests.pictures

.PHONY: lock
lock: ## write requirements/*.txt anew from pyproject.toml, keeping the versions that still fit
	@$(find_python); test -x .cache/lock/bin/uv || { "$$python" -m venv .cache/lock && \
		.cache/lock/bin/python -m pip --disable-pip-version-check install --quiet uv; }
	@UV_CUSTOM_COMPILE_COMMAND="make lock" $(COMPILE) -o requirements/run.txt
	@UV_CUSTOM_COMPILE_COMMAND="make lock" $(COMPILE) --group demo \
		-c requirements/run.txt -o requirements/demo.txt
	@UV_CUSTOM_COMPILE_COMMAND="make lock" $(COMPILE) --group demo --group dev \
		-c requirements/demo.txt -o requirements/dev.txt

.PHONY: format
format: setup ## bring every file into form
	@$(BIN)/ruff check --fix --exit-zero --quiet .
	@$(BIN)/ruff format .

.PHONY: shell
shell: setup ## talk to the demonstration database in Python
	@$(DEMO) $(MANAGE) shell

# Names the first Python that will do in the shell variable python.
define find_python
python=; \
for each in python3.11 python3.12 python3.13 python3.14 python3; do \
	if "$$each" -c 'import ensurepip, sys, venv; sys.exit(not (3, 11) <= sys.version_info < (3, 15))' \
		>/dev/null 2>&1; then python="$$each"; break; fi; \
done; \
if [ -z "$$python" ]; then \
	echo "Readiness needs Python 3.11 to 3.14 with its venv module (on Debian: python3 and python3-venv), and found none." >&2; \
	exit 1; \
fi
endef

# Fills the demonstration database: tables, reference data, the service and the fit to its history.
define seed
$(DEMO) $(MANAGE) migrate --verbosity 0 || exit 1; \
$(DEMO) $(MANAGE) update_reference --verbosity 0 || exit 1; \
$(DEMO) $(MANAGE) seed_demo
endef

# Installs a lock unless the very same one is installed; each includes the one before.
define install
if ! cmp -s requirements/$(1).txt .venv/installed-$(1).txt; then \
	if ! $(BIN)/python -c '' 2>/dev/null; then \
		$(find_python); "$$python" -m venv --clear .venv || exit 1; \
	fi; \
	echo "Installing requirements/$(1).txt into .venv"; \
	$(PIP) install --quiet --require-hashes -r requirements/$(1).txt || exit 1; \
	if [ $(1) = dev ]; then cp requirements/demo.txt .venv/installed-demo.txt; fi; \
	cp requirements/$(1).txt .venv/installed-$(1).txt; \
fi
endef
