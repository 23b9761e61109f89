# `make help` lists the targets. Everything works from a fresh clone; `make
# test` installs what it may and says what it may not.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
MAKEFLAGS += --no-print-directory
.DEFAULT_GOAL := help

TOOL      := go tool -modfile=.ci/tools.mod
PLATFORMS := linux/amd64 linux/arm64 darwin/arm64 windows/amd64

# What `make test` runs, in this order; `make STAGE` runs one alone.
STAGES := setup format lint cross rtmidi golden-v3 fuzz quiet unit

ARGS      ?=
TESTFLAGS ?= -count=1
FUZZTIME  ?= 60s
SOAK      ?= 24h
BENCH     ?= .
COUNT     ?= 6

.PHONY: help
help: ## list the targets
	@awk -F ':.*## ' '/^[a-z0-9-]+:.*## / {printf "  make %-11s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

.PHONY: run
run: ## rehearse the demo in the terminal and in a browser (ARGS="--for 20s")
	@go run ./cmd/tactus rehearse demo $(ARGS)

.PHONY: build
build: ## build bin/tactus
	go build -o bin/tactus ./cmd/tactus

.PHONY: docs
docs: ## write the reference pages in docs from the program
	rm -rf docs/reference
	go run ./cmd/tactus docs docs

.PHONY: man
man: ## write man pages into bin/man
	SOURCE_DATE_EPOCH=$$(git log -1 --format=%ct 2>/dev/null || date +%s) go run ./cmd/tactus docs --man bin/man

.PHONY: test
test: ## everything that CI checks: each stage below, timed
	@FUZZTIME=$(if $(filter file,$(origin FUZZTIME)),4000x,$(FUZZTIME)) .ci/stages $(STAGES)

.PHONY: setup
setup: ## install what the tests need, or say how to
	@.ci/setup

.PHONY: tools
tools: ## fetch the pinned linters and tools
	@go mod download -modfile=.ci/tools.mod
	@$(TOOL)

.PHONY: format
format: ## check formatting and go.mod
	go mod tidy -diff
	@bad=$$($(TOOL) gofumpt -l .); if [[ -n $$bad ]]; then \
	  echo "not formatted; run: make fmt"; echo "$$bad"; exit 1; fi

.PHONY: fmt
fmt: ## format every Go file and tidy go.mod
	go mod tidy
	$(TOOL) gofumpt -w .

.PHONY: lint
lint: ## vet, staticcheck, licences of modules, known vulnerabilities
	go vet ./...
	$(TOOL) staticcheck ./...
	@.ci/licences
	@.ci/vulnerabilities

.PHONY: cross
cross: ## compile for every platform, without C; elsewhere than Linux the tests too
	@for p in $(PLATFORMS); do echo "$$p"; \
	  export CGO_ENABLED=0 GOOS=$${p%/*} GOARCH=$${p#*/}; go build ./...; \
	  [[ $$p == linux/* ]] || go vet ./...; done

.PHONY: rtmidi
rtmidi: ## compile with the operating system's MIDI ports (Linux: ALSA headers)
	@.ci/rtmidi

.PHONY: unit
unit: ## all Go tests, with the race detector where goroutines are
	@.ci/tests unit $(TESTFLAGS)

.PHONY: quiet
quiet: ## what the race detector would disturb: allocations counted, real time watched, a day of music
	@SOAK=$(SOAK) .ci/tests quiet $(TESTFLAGS)

.PHONY: golden-v3
golden-v3: ## golden tests again where the compiler may fuse multiply-add
	@.ci/golden check

.PHONY: golden
golden: ## rewrite the golden files, then read the diff
	@.ci/golden update

.PHONY: fuzz
fuzz: ## fuzz each target (FUZZTIME=60s, or 20000x for a count)
	@.ci/fuzz $(FUZZTIME)

.PHONY: bench
bench: ## measure: the spread, then ours beside its references (BENCH=regexp COUNT=6)
	@.ci/bench '$(BENCH)' '$(COUNT)'
