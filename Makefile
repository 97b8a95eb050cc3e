# Runnel: everything is reached from here. "make" alone lists the targets.
SHELL := /bin/bash
GO ?= go
BIN := bin/runnel
LINT := $(GO) tool -modfile=tools/go.mod golangci-lint
# The vector kernel of package wave needs an experiment of Go 1.26 on amd64; elsewhere the plain kernel is built.
SIMD := $(shell [ "$$($(GO) env GOARCH)" = amd64 ] && GOEXPERIMENT=simd $(GO) list simd/archsimd >/dev/null 2>&1 && echo simd)
BUILD := CGO_ENABLED=0 GOEXPERIMENT=$(SIMD) $(GO) build -trimpath -ldflags="-s -w"

.PHONY: help
help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## /{printf "  %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

.PHONY: build
build: ## build bin/runnel
	@$(BUILD) -o $(BIN) ./cmd/runnel
	@echo "$(BIN) built, kernel: $(or $(SIMD),plain)"

.PHONY: demo
demo: build ## start Runnel on the invented demo shop
	@$(BIN) demo

.PHONY: run
run: demo ## the same as demo

.PHONY: check
check: lint fast ## lint and fast tests, under two minutes

.PHONY: lint
lint: ## run the pinned linters
	@$(LINT) config verify
	@$(LINT) run ./...

.PHONY: fast
fast: ## fast tests only
	@$(GO) test -short ./...

.PHONY: deps
deps: ## install what the tests need (Debian, when missing and permitted)
	@bash tools/deps.sh

.PHONY: test
test: deps lint build ## every test
	RUNNEL_NEED_SERVICES=1 RUNNEL_NEED_CHROMIUM=1 GOEXPERIMENT=$(SIMD) $(GO) test -timeout 12m ./...
	$(GO) test -race -short -timeout 8m ./internal/live/... ./internal/store/... ./internal/capture/... ./internal/app/...
	$(GO) test -race -run 'Deterministic|Example' ./engine ./wave
	@if [ -n "$(SIMD)" ]; then echo "with the plain kernel"; $(GO) test -short ./wave/... ./engine/...; fi
	@$(MAKE) --no-print-directory cross

.PHONY: cross
cross: ## prove that every platform builds without cgo
	@for t in linux/amd64 linux/arm64 windows/amd64 darwin/amd64 darwin/arm64; do \
	  CGO_ENABLED=0 GOOS=$${t%/*} GOARCH=$${t#*/} $(GO) build -o /dev/null ./cmd/runnel || exit 1; echo "builds for $$t"; done

.PHONY: golden
golden: ## renew the golden pictures and texts
	$(GO) test ./internal/... -update

.PHONY: validate
validate: ## run the outside checks at full size and rewrite docs/validation.md
	RUNNEL_FULL=1 MEASURE_COMPARISONS=20000 $(GO) test -timeout 30m ./measure ./bench ./validation/...
	$(GO) run ./cmd/runnel selfcheck --full --markdown > docs/validation.md

.PHONY: bench
bench: ## benchmarks, compared inside one run
	$(GO) test -run '^$$' -bench . -benchmem ./wave ./engine ./measure | tee bin/bench.txt

.PHONY: fuzz
fuzz: ## half a minute of fuzzing on each reader, one at a time (FUZZTIME=5m for longer)
	@for t in ./unit:FuzzParse ./passage:FuzzReadSTL ./passage:FuzzReadStations ./passage:FuzzTraceSlice ./internal/app:FuzzReadPicture \
	  ./job:FuzzLoad ./job:FuzzLoadEngine ./job:FuzzReadTrace ./job:FuzzSmallFiles ./assess:FuzzParseSet \
	  ./internal/capture:FuzzParseAddress ./internal/capture/serial:FuzzPattern; do \
	  $(GO) test -run '^$$' -fuzz "^$${t#*:}$$" -fuzztime $(or $(FUZZTIME),30s) -fuzzminimizetime 5s "$${t%:*}" || exit 1; done

.PHONY: clean
clean: ## remove what was built
	rm -rf bin dist shots
