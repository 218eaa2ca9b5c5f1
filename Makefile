# Every target says in one line what it does: `make help`.
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
MAKEFLAGS += --no-print-directory

GO ?= go
BIN := bin/underlog
# Not ./..., which would look for Go among the app's packages too.
PACKAGES := ./backend/... ./internal/... ./pwa
DATA ?= data
GO_SOURCES := $(shell find internal backend pwa/embed.go -name '*.go' -not -name '*_test.go' 2>/dev/null)
DOMAIN_SOURCES := $(shell find internal -name '*.go' -not -name '*_test.go')
APP_SOURCES := $(shell find pwa/src pwa/public pwa/index.html pwa/*.ts pwa/package.json -type f 2>/dev/null | grep -v -e src/generated -e engine.wasm -e wasm_exec.js)
NPM := npm --prefix pwa --no-audit --no-fund --loglevel=error
WASM := pwa/public/engine.wasm

.PHONY: help
help: ## list the targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "  %-10s %s\n", $$1, $$2}'

.PHONY: run
run: build ## build what is needed and start Underlog on http://localhost:8090
	@exec $(BIN) serve --data $(DATA)

.PHONY: build
build: $(BIN) ## build bin/underlog with the app and the engine in it

# ---- the parts, in the order in which they need each other

pwa/node_modules/.installed: pwa/package.json pwa/package-lock.json
	@echo "1/4 installing the app's packages"
	@$(NPM) ci
	@touch $@

.PHONY: engine limits app
engine: $(WASM) ## build the forecasting engine for the phone
limits: pwa/src/generated/limits.json pwa/src/generated/seeds.json ## write the rules of every field for the forms
app: pwa/dist/index.html ## build the app

$(WASM): $(DOMAIN_SOURCES) go.mod
	@echo "2/4 building the engine (WebAssembly)"
	@mkdir -p $(@D)
	@GOOS=js GOARCH=wasm $(GO) build -trimpath -ldflags='-s -w' -o $@ ./internal/engine/wasm
	@cp "$$($(GO) env GOROOT)/lib/wasm/wasm_exec.js" pwa/public/wasm_exec.js

pwa/src/generated/limits.json: $(wildcard internal/husbandry/*.go) internal/engine/limits/main.go
	@mkdir -p $(@D)
	@$(GO) run ./internal/engine/limits > $@.part && mv $@.part $@

pwa/src/generated/seeds.json: pwa/src/generated/limits.json
	@$(GO) run ./internal/engine/limits seeds > $@.part && mv $@.part $@

pwa/dist/index.html: pwa/node_modules/.installed $(WASM) pwa/src/generated/seeds.json $(APP_SOURCES)
	@echo "3/4 building the app"
	@$(NPM) run build

$(BIN): pwa/dist/index.html $(GO_SOURCES) go.mod go.sum
	@echo "4/4 building the server (the first time takes a few minutes)"
	@$(GO) build -trimpath -o $@ ./backend

# ---- showing that it works

# The race detector slows a test many times over. It watches the packages in
# which requests share state of our own, but for the long walks in which one
# thing happens after the other, and of alerts and passes the tests in which
# several things happen at once; `make verify` has it watch the whole server.
# The domain starts no goroutine (backend/archtest): nothing can race in it.
SHARED := ./backend/app ./backend/exchange ./backend/forecast ./backend/pairing ./backend/photos ./backend/web
# SQLite, which is C in the clothes of Go and most of the work, is left to its own
# locks: watched as well, it would make the tests take much longer.
RACE := -race -gcflags='modernc.org/...=-race=false -d=checkptr=0'
ONE_BY_ONE := AFlippedByteIsFoundOrHarmless|ALineThatIsCutAtEveryByte|ADiskThatIsFull|TheExampleComesAndGoes|EveryRouteForASitter|EveryRouteForEveryRole|WhatEachRoleReads|StepByStepIsAllAtOnce|PackedRequests|ANewPhoneLoadsTheRecentFirst|PagesAreBoundedAndComplete|ReplicasAgreeInTheEnd
TOGETHER := TheDayAfterAFeeding|SettledWhile|ReachesTheOwnerAtOnce|WithAPassAtOnce

.PHONY: test
test: build browsers ## every test: Go, also under the race detector, the app's, the whole thing in Chromium and Firefox
	$(GO) test $(filter-out $(SHARED),$(shell $(GO) list ./backend/... ./internal/... ./pwa | sed 's|^underlog|.|'))
	$(GO) test -run '$(ONE_BY_ONE)' $(SHARED)
	$(GO) test $(RACE) -skip '$(ONE_BY_ONE)' $(SHARED)
	$(GO) test $(RACE) -run '$(TOGETHER)' ./backend/alerts ./backend/passes
	$(NPM) run test
	$(NPM) run e2e

.PHONY: check
check: pwa/dist/index.html ## formatting, linters, types, import rules, the size budget
	@test -z "$$(gofmt -l backend internal pwa/embed.go)" || { echo "gofmt wants to change:"; gofmt -l backend internal pwa/embed.go; exit 1; }
	$(GO) mod tidy -diff
	$(GO) vet $(PACKAGES)
	GOOS=js GOARCH=wasm $(GO) vet ./internal/engine/wasm
	$(GO) tool staticcheck $(PACKAGES)
	$(NPM) run check
	$(NPM) run size

.PHONY: bench
bench: build ## speed and size figures, each as a ratio to a named limit
	$(GO) test -run '^$$' -bench . -benchmem ./internal/... ./backend/...
	$(NPM) run bench
	@test -d backend/exchange/bench/node_modules/pouchdb-server || npm --prefix backend/exchange/bench ci --no-audit --no-fund --loglevel=error
	node backend/exchange/bench/run.mjs

.PHONY: verify
verify: build browsers ## the slow proofs: live oracles, long soaks, the whole server under the race detector
	@command -v zbarimg >/dev/null && command -v pdftoppm >/dev/null || { echo "installing readers of codes and PDF"; $(call debian,zbar-tools poppler-utils); }
	@command -v khal >/dev/null && /usr/bin/python3 -c 'import icalendar' 2>/dev/null || { echo "installing readers of calendars"; $(call debian,khal python3-icalendar); }
	@command -v glpsol >/dev/null || { echo "installing GLPK"; $(call debian,glpk-utils); }
	@command -v Rscript >/dev/null || { echo "installing R and its survival packages"; $(call debian,r-base-core r-cran-survival r-cran-npsurv r-cran-kmsurv r-cran-ordinal r-cran-mass); }
	$(GO) test -tags verify -timeout 60m $(PACKAGES)
	$(GO) test $(RACE) -timeout 60m ./backend/...
	SEEDS=2000 npm --prefix pwa run test -- src/sync/liveness.test.ts
	LONG=1 npm --prefix pwa run e2e -- every state of a pass
	GOOS=js GOARCH=wasm $(GO) test -exec="$$($(GO) env GOROOT)/lib/wasm/go_js_wasm_exec" -run Golden ./internal/fuse

.PHONY: browsers
browsers:
	@command -v chromium >/dev/null || { echo "installing Chromium"; $(call debian,chromium); }
	@command -v firefox-esr >/dev/null || { echo "installing Firefox"; $(call debian,firefox-esr); }

.PHONY: clean
clean: ## remove what was built, never the data
	rm -rf bin pwa/dist pwa/node_modules pwa/src/generated $(WASM) pwa/public/wasm_exec.js

# debian installs packages with apt, as root or through sudo.
debian = sudo=; [ "$$(id -u)" = 0 ] || sudo=sudo; $$sudo apt-get -qq update && $$sudo env DEBIAN_FRONTEND=noninteractive apt-get -qq install -y --no-install-recommends $(1) >/dev/null
