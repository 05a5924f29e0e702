# make demo | test | speed | red | lint: each works as the first and only command on a bare machine.
.DEFAULT_GOAL := help
SHELL := /bin/bash
PY := .venv/bin/python
READY := .venv/.ready
export PYTHONHASHSEED := 0

.PHONY: help demo test speed red lint docs clean

help:  ## list the verbs
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | expand -t 10

$(READY): pyproject.toml constraints.txt tools/prepare
	@tools/prepare
	@touch $@

demo: $(READY)  ## write the shop packet of the example heron
	@tools/demo

test: $(READY)  ## lint, types, layers and every test
	@tools/test

speed: $(READY)  ## the benchmarks, side by side with general-purpose libraries
	@$(PY) -m speed

red: $(READY)  ## shift every published value and demand that each check fails
	@$(PY) -m soapstone verify --red

lint: $(READY)  ## ruff, types, import layers
	@tools/lint

docs: $(READY)  ## write the generated pages of docs/ anew
	@$(PY) tools/docs.py

clean:  ## take away what make made
	rm -rf .venv build dist packet-heron
