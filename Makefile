# Everything here needs Go and nothing else; Go fetches the modules on first use.
# No cgo: one program, the same everywhere.
export CGO_ENABLED = 0

.PHONY: tablet run serve screenshots test bench fuzz validation build
.DEFAULT_GOAL := run

# The set-up card and the brake test of the demo consist; then the same as a page, until
# Ctrl-C. Where nobody is there to press it, as in CI, the address is printed and that is all.
run: tablet
	go run $(STAMP) ./cmd/headstock demo --page

# The pages, until Ctrl-C.
serve: tablet
	go run $(STAMP) ./cmd/headstock serve

test: tablet
	go vet ./...
	go test ./...

# What was computed against published figures, written down anew: testdata/outside, VALIDATION.md.
# Look at the difference before you commit it.
validation:
	go test -count=1 $$(grep -rl --include='*_test.go' 'outside\.Open(' . | xargs -n1 dirname | sort -u | grep -vx .) -args -outside
	go test -count=1 -run '^TestValidation$$' . -args -outside

# A picture of every page, on a telephone and at a desk, into ./screenshots; wants Chromium.
screenshots: tablet
	mkdir -p screenshots
	HEADSTOCK_PICTURES=$(CURDIR)/screenshots go test -count=1 -run '^Test(EveryPage|Looks)$$' ./web
	ls screenshots

bench:
	go test -run '^$$' -bench . -benchmem ./...

# Each fuzz test of the house for FUZZTIME, one after the other, as Go runs only one at a time.
FUZZTIME ?= 60s
fuzz:
	@set -eu; found=0; \
	for file in $$(grep -rl --include='*_test.go' '^func Fuzz' .); do \
		for name in $$(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\)(.*/\1/p' $$file); do \
			found=1; echo "$$name in $$(dirname $$file), $(FUZZTIME)"; \
			go test -run '^$$' -fuzz "^$$name$$" -fuzztime $(FUZZTIME) $$(dirname $$file); \
		done; \
	done; \
	test $$found = 1 || echo "no fuzz tests"

build: PACK = -release
build: tablet
	go build -trimpath $(STAMP) -o headstock ./cmd/headstock

# The program for the browser, with which pages answer with no signal and the bench runs. It
# is embedded by what is built after it; without it the program says so where it is missed.
# PACK=-release packs it harder, which takes a minute. It is built without what a browser
# has no use for (internal/pack/pare.go); with a Go release that this does not fit, whole.
PACK ?=
WASM = GOOS=js GOARCH=wasm go build -trimpath -buildvcs=false -gcflags=all=-l -gcflags=headstock/air= -gcflags=headstock/trial= -ldflags='-s -w' -o .tablet/engine.wasm
# The sum of its source, given to the server too, so that a page can say when the two differ.
SOURCES = '{{if not .Standard}}{{range .GoFiles}}{{$$.Dir}}/{{.}}{{"\n"}}{{end}}{{range .EmbedFiles}}{{$$.Dir}}/{{.}}{{"\n"}}{{end}}{{end}}'
STAMP = -ldflags="-X main.build=$$(cat .tablet/build)"
tablet:
	mkdir -p .tablet
	GOOS=js GOARCH=wasm go list -deps -f $(SOURCES) ./cmd/tablet >.tablet/sources
	go run ./internal/pack -sum .tablet/sources >.tablet/build
	go run ./internal/pack -pare "$$(go env GOROOT)" internal/pack .tablet
	$(WASM) -tags nethttpomithttp2 -overlay .tablet/overlay.json ./cmd/tablet || { echo "the program for the browser is built whole" >&2; $(WASM) ./cmd/tablet; }
	go run ./internal/pack $(PACK) -build "$$(cat .tablet/build)" .tablet/engine.wasm "$$(go env GOROOT)/lib/wasm/wasm_exec.js" web/tablet/built
