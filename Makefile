# make alone lists what there is.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.ready
TESTED := $(VENV)/.ready-to-test
# The theme prints at each build that it reaches its end of life on 5 May 2027 (see DEVELOPERS.md, Decisions); this hides that banner only.
export NO_MKDOCS_2_WARNING = 1

.PHONY: help demo test lint bench fuzz serve clean

help:
	@echo "make demo    set up, then the whole job once on the demo class; prints where everything is"
	@echo "make test    set up, then every test (installs Chromium where it may)"
	@echo "make lint    format, checks, types, contracts, and grader check on the course"
	@echo "make bench   each figure as a ratio to its floor, into build/bench.json"
	@echo "make fuzz    what reads strangers' files, fed with what nobody would write (SECONDS=300 for each part)"
	@echo "make serve   the site on this machine, rebuilt while you write"

# Two stamps: what the program needs, and what its tests need besides. A set-up that was interrupted has no stamp and is done again.
$(STAMP): pyproject.toml constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || \
	  { echo "Python 3.11 or newer is needed and '$(PYTHON)' is not; install it, or name one: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 2; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || \
	  { echo "$(PYTHON) cannot make a virtual environment; on Debian and its kin: apt-get install python3-venv"; exit 2; }
	@$(BIN)/python -c 'import pip' 2>/dev/null || $(PYTHON) -m venv --clear $(VENV)
	@echo "setting up $(VENV), once; this takes a minute or two and needs the network"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .
	@touch $@

$(TESTED): $(STAMP)
	@echo "adding what the tests need"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	@touch $@


demo: $(STAMP)
	$(BIN)/grader demo build/demo

test: $(TESTED)
	$(BIN)/python tests/chromium.py
	$(BIN)/python -m pytest -n 2 --dist worksteal

lint: $(TESTED)
	$(BIN)/ruff format --check grader tests
	$(BIN)/ruff check grader tests
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/grader check

bench: $(TESTED)
	$(BIN)/python -m tests.bench

# A part that breaks leaves what broke it in build/fuzz/, and the other part is fed all the same.
SECONDS ?= 300
fuzz: $(TESTED)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[fuzz]'
	status=0; for part in number file; do nice $(BIN)/python -m tests.marking.fuzz $$part $(SECONDS) || status=1; done; exit $$status

serve: $(STAMP)
	$(BIN)/grader site --serve

clean:
	rm -rf build $(VENV)
