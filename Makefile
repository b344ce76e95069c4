# fieldfare. `make run` shows the demo shoot, `make test` tests everything.
# Each target is one plain command or two that also work by hand.

export CGO_ENABLED := 0
DEMO    := examples/last-milk-run
LISTEN  := 127.0.0.1:8417
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
UI      := desk/ui
UI_SRC  := $(shell find $(UI)/src $(UI)/public $(UI)/index.html $(UI)/*.ts $(UI)/package-lock.json -type f 2>/dev/null)

.PHONY: run test bench lint build soak golden generate clean tools-run tools-test

run: build
	@mkdir -p out
	@echo; echo "== check: is every slate fit to fly?"; bin/fieldfare check $(DEMO) || test $$? -eq 1
	@echo; echo "== day: in which order?";              bin/fieldfare day $(DEMO)
	@echo; echo "== book: the printed papers";          bin/fieldfare book $(DEMO) -o out/book.pdf --force
	@echo; echo "== page: open the address below; Ctrl-C ends it"; bin/fieldfare serve $(DEMO) --listen $(LISTEN)

build: bin/fieldfare

bin/fieldfare: $(UI)/dist/index.html $(shell find cmd desk model plan -name '*.go' -o -path '*/profiles/*' -o -path '*/sql/*' 2>/dev/null) go.mod
	go build -trimpath -ldflags "-s -w -X fieldfare/desk/cli.Version=$(VERSION)" -o $@ ./cmd/fieldfare

$(UI)/dist/index.html: $(UI)/node_modules/.package-lock.json $(UI_SRC)
	cd $(UI) && npm run --silent build

$(UI)/node_modules/.package-lock.json: $(UI)/package-lock.json
	cd $(UI) && npm ci --no-audit --no-fund --loglevel=error

bench/peers/node_modules/.package-lock.json: bench/peers/package-lock.json
	cd bench/peers && npm ci --no-audit --no-fund --loglevel=error

# Programs that the tests look at our output with; `run` needs none of them.
tools-test:
	@scripts/tools chromium libnss3-tools qpdf poppler-utils libxml2-utils ffmpeg gdal-bin postgresql

test: tools-test bin/fieldfare bench/peers/node_modules/.package-lock.json
	go vet ./...
	go test ./...
	cd $(UI) && npm run --silent check && npm run --silent unit && npm run --silent browser

# Longer fuzzing and crash tests than a commit should wait for.
soak:
	scripts/soak

bench: build
	bench/run

lint: $(UI)/node_modules/.package-lock.json
	go run github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0 run ./...
	cd $(UI) && npm run --silent check

# Rewrites the expected outputs of the demo; read the diff before you commit it.
golden:
	go test ./desk/cli -run TestGolden -update

# Rewrites the demo's invented valley (same seed, same bytes) and the page's client.
generate: 
	go run ./$(DEMO)/generate -o $(DEMO)
	go run ./cmd/fieldfare openapi > $(UI)/openapi.json
	cd $(UI) && npm run --silent client

clean:
	rm -rf bin out $(UI)/dist/assets $(UI)/dist/index.html
