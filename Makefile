# What a person does with this folder. `make` alone lists it.
#
# Everything is built in cargo's default profile, so that HiGHS is compiled once (about four minutes on two cores).

CARGO ?= cargo
PLATEWRIGHT := $(or $(CARGO_TARGET_DIR),target)/debug/platewright
PYTHON := .venv/bin/python
VENV := .venv/made
OUTSIDE := tests/outside
# Kinds and seeds of the random instances, how many both must prove, and in how many each rule must bind.
INSTANCES ?= rules:0-159 split:0-59 waits:0-39 spares:0-59
LEAST ?= 260
BINDING ?= 3

.PHONY: help demo test lint bench crosscheck program tools python-tools

help:
	@echo 'make demo        plan one busy week at Harbour Street and check the plan'
	@echo 'make test        run every test, the outside checks among them'
	@echo 'make lint        formatting, clippy, documentation'
	@echo 'make bench       measure, and renew tests/BENCH.md and the README; QUICK=1: a few small cases'
	@echo 'make crosscheck  compare with an independent solver on random instances (INSTANCES, LEAST, BINDING: see there)'

demo: program
	@echo
	$(PLATEWRIGHT) plan instances/harbour-week
	@echo
	$(PLATEWRIGHT) check instances/harbour-week instances/harbour-week/plan
	@echo
	@echo 'Look at'
	@echo '    instances/harbour-week/plan/report.html   the plan as a page: open it in a browser'
	@echo '    instances/harbour-week/             the tables that were planned'
	@echo '    instances/harbour-week/plan/        the plan: runs.csv, tasks.csv, allocation.csv, shipments.csv, plan.json'
	@echo 'and go on with a farm of your own:'
	@echo '    $(PLATEWRIGHT) new my-farm'
	@echo '    $(PLATEWRIGHT) plan my-farm'

test: python-tools $(VENV)
	PYTHONDONTWRITEBYTECODE=1 $(PYTHON) -m unittest discover -q -s $(OUTSIDE)
	PLATEWRIGHT_REQUIRE_OUTSIDE=1 $(CARGO) test --workspace --locked
	$(MAKE) crosscheck

# The crates are not published: their documentation is for whoever changes them, and shows private modules too.
lint: tools
	$(CARGO) fmt --all --check
	$(CARGO) clippy --workspace --all-targets --locked -- -D warnings
	RUSTDOCFLAGS='-D warnings -A rustdoc::private-intra-doc-links' $(CARGO) doc --workspace --no-deps --locked \
	    --document-private-items

bench: program $(VENV)
ifdef QUICK
	$(PYTHON) $(OUTSIDE)/bench.py --binary $(PLATEWRIGHT) --quick-look
else
	$(PYTHON) $(OUTSIDE)/bench.py --binary $(PLATEWRIGHT) --table tests/BENCH.md --readme README.md
endif

crosscheck: program $(VENV)
	PYTHONDONTWRITEBYTECODE=1 $(PYTHON) $(OUTSIDE)/crosscheck.py --binary $(PLATEWRIGHT) --seconds 8 \
	    --least $(LEAST) --binding $(BINDING) $(INSTANCES)

program: tools
	$(CARGO) build --workspace --locked

tools:
	@.ci/tools build

python-tools:
	@.ci/tools test

# What the outside checks need and is not ours, Python's and npm's. Made anew when the requirements change; a half-made one
# does not count.
$(VENV): $(OUTSIDE)/requirements.txt $(OUTSIDE)/package-lock.json | python-tools
	rm -rf .venv
	python3 -m venv .venv
	.venv/bin/pip install --quiet --disable-pip-version-check -r $< || { rm -rf .venv; exit 1; }
	cp $(OUTSIDE)/package.json $(OUTSIDE)/package-lock.json .venv
	cd .venv && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error || { rm -rf ../.venv; exit 1; }
	touch $@
