# Swardbook: what a newcomer needs is "make demo" and "make test".
SHELL := /bin/sh
export CGO_ENABLED = 0

VERSION := $(shell git describe --always --dirty 2>/dev/null || echo unversioned)
BINARY  := swardbook
LDFLAGS := -s -w -X main.version=$(VERSION)
# Where "make demo" serves the pages; empty: make, judge, seal and verify only.
LISTEN  ?= 127.0.0.1:8440

.PHONY: demo build web test test-web walk race bench lint fuzz clean

# Build pages and program, make the invented site, import it, judge it, seal a
# pack, verify it, and serve the pages.
demo: web build
	./$(BINARY) demo ./demo-site $(if $(LISTEN),--listen $(LISTEN))

build:
	go build -trimpath -ldflags '$(LDFLAGS)' -o $(BINARY) ./cmd/swardbook

# The pages, built into frontend/dist, which the program embeds. Without
# Node the program is built all the same, and says that it has no pages.
web:
	@if command -v npm >/dev/null 2>&1; then \
	  $(MAKE) --no-print-directory frontend/dist/index.html; \
	else \
	  echo "npm is not here (Node 20 or newer brings it): the program is built without its pages"; \
	fi

PAGES := $(shell find frontend/src frontend/public -type f) frontend/index.html frontend/vite.config.ts frontend/package-lock.json

frontend/dist/index.html: $(PAGES) frontend/node_modules/.package-lock.json
	cd frontend && npx vite build --logLevel warn && touch dist/index.html

frontend/node_modules/.package-lock.json: frontend/package-lock.json
	cd frontend && npm ci --no-audit --no-fund --loglevel error && touch node_modules/.package-lock.json

test:
	go test -shuffle=on ./...

# The pages' own checks: types made from the server's document, accessibility
# warnings, unit tests.
test-web: frontend/node_modules/.package-lock.json
	@cd frontend && npx openapi-typescript ../server/api/openapi.json 2>/dev/null | cmp - src/api/schema.gen.ts || \
	  { echo "run \"npm run types\" in frontend and commit src/api/schema.gen.ts"; exit 1; }
	cd frontend && npm run --silent check && npm run --silent test

# Walks through the demonstration in Chromium, per role, and looks at every screen.
walk: web build
	cd frontend && node tools/walk.mjs ../$(BINARY) && node tools/walk-conditions.mjs ../$(BINARY) && node tools/walk-import.mjs ../$(BINARY) && node tools/walk-loggers.mjs ../$(BINARY) && node tools/walk-readings.mjs ../$(BINARY) && node tools/looks.mjs ../$(BINARY)

# The race detector needs cgo and a C compiler.
race:
	@command -v gcc >/dev/null 2>&1 || { echo "make race: no C compiler found (the race detector needs one); left out"; exit 0; }; \
	CGO_ENABLED=1 go test -race -shuffle=on ./compliance/... ./server/app/... ./server/jobs/... && \
	CGO_ENABLED=1 go test -race -run 'FromManySides' ./server/store/...

bench:
	go test -run '^$$' -bench . -benchmem ./...

lint:
	sh .ci/lint

# Every fuzz target for FUZZTIME each.
FUZZTIME ?= 10s
fuzz:
	sh .ci/fuzz $(FUZZTIME)

clean:
	rm -rf $(BINARY) demo-site demo-site.data demo-site.pack.zip
