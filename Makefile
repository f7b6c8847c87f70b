# Swardbook: what a newcomer needs is "make demo" and "make test".
SHELL := /bin/sh
export CGO_ENABLED = 0

VERSION := $(shell git describe --always --dirty 2>/dev/null || echo unversioned)
BINARY  := swardbook
LDFLAGS := -s -w -X main.version=$(VERSION)

.PHONY: demo build test race bench lint fuzz web clean

build:
	go build -trimpath -ldflags '$(LDFLAGS)' -o $(BINARY) ./cmd/swardbook

# Build the program, make the invented site, import, judge, seal and verify it.
demo: build
	./$(BINARY) demo ./demo-site

test:
	go test -shuffle=on ./...

# The race detector needs cgo and a C compiler.
race:
	@command -v gcc >/dev/null 2>&1 || { echo "make race: no C compiler found (the race detector needs one); skipped"; exit 0; }; \
	CGO_ENABLED=1 go test -race -shuffle=on ./compliance/... ./server/app/... && \
	CGO_ENABLED=1 go test -race -shuffle=on -run 'Concurrent' ./server/store/...

bench:
	go test -run '^$$' -bench . -benchmem ./...

lint:
	sh .ci/lint

# Build the pages into frontend/dist, which the program embeds. Needs Node 20.
web: frontend/node_modules/.package-lock.json
	cd frontend && npx vite build

frontend/node_modules/.package-lock.json: frontend/package-lock.json
	cd frontend && npm ci --no-audit --no-fund

# Every fuzz target for FUZZTIME each.
FUZZTIME ?= 10s
fuzz:
	sh .ci/fuzz $(FUZZTIME)

clean:
	rm -rf $(BINARY) demo-site demo-site.data demo-site.pack.zip
