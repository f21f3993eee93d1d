# Two commands do all their own set-up on a fresh machine with Go, Node and
# apt at hand: make demo, make test. The others:
#   make build    bin/fettle
#   make face     the page that browsers get, built from web/face
#   make kernel   the B-rep kernel that reads STEP, fetched by npm and rewritten
#   make browser  the tests that open pages in Chromium, alone
#   make pictures the screenshots of docs/pictures, made anew
#   make check    svelte-check, gofmt, vet, staticcheck
#   make bench    benchmarks, beside a reference where one is installed
#   make fuzz     every reader fed with bad input for FUZZTIME each
#   make release  dist/ for Linux, Windows and macOS, amd64 and arm64
#   make clean

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := build

GO       ?= go
FUZZTIME ?= 20s
OUT      ?= out/demo
# A stylus trace that may stand beside the checkout; not ours to ship. Without
# it the test that needs it is skipped and says so.
TRACE    ?= $(firstword $(wildcard ../*/checks/profile_trace.txt))

export CGO_ENABLED := 0

# What the tests compare with: model files and libraries that others wrote, as
# Debian packages them, and a compiler for the race detector.
DEBIAN_TEST := gcc libc6-dev poppler-utils assimp-testmodels admesh python3-vtk9 python3-scipy python3-shapely python3-ezdxf python3-gmsh occt-draw postgresql zbar-tools argon2 qpdf python3-icalendar chromium

.PHONY: kernel face build demo test browser pictures check bench fuzz release clean debian-test

# The B-rep kernel: fetched at its pinned version, rewritten, never committed.
KERNEL    := internal/format/brep/module
NPM_STAMP := build/kernel/node_modules/.package-lock.json

kernel: $(KERNEL)/kernel.wasm.gz

$(NPM_STAMP): build/kernel/package-lock.json
	cd build/kernel && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
	@touch $@

$(KERNEL)/kernel.wasm.gz: $(NPM_STAMP) $(filter-out %_test.go,$(wildcard build/kernel/*.go))
	$(GO) run ./build/kernel

# The page: built by npm's tools, never committed.
FACE_STAMP := web/face/node_modules/.package-lock.json
FACE       := web/front/index.html

face: $(FACE)

$(FACE_STAMP): web/face/package-lock.json
	cd web/face && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
	@touch $@

$(FACE): $(FACE_STAMP) $(shell find web/face -name node_modules -prune -o -type f -print)
	rm -rf web/front/assets
	cd web/face && npm run --silent build
	@touch $@

build: kernel face
	$(GO) build -trimpath -ldflags "-s -w" -o bin/fettle ./cmd/fettle

demo: build
	./bin/fettle demo --out $(OUT)

# What people get to see, opened in a browser without a network.
BROWSER_STAMP := web/browser/node_modules/.package-lock.json

$(BROWSER_STAMP): web/browser/package-lock.json
	cd web/browser && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error
	@touch $@

browser: debian-test build $(BROWSER_STAMP)
	cd web/face && npm test --silent
	./bin/fettle --quiet demo --out out/browser >/dev/null
	cd web/browser && FETTLE_DEMO=$(CURDIR)/out/browser npm test --silent

# docs/pictures: every place, looked at by people.
pictures: debian-test build $(BROWSER_STAMP)
	cd web/browser && npm run --silent pictures

# CGO is on for the race detector alone.
test: debian-test kernel face check
	FETTLE_NEED_POSTGRES=1 $(if $(TRACE),FETTLE_TRACE=$(abspath $(TRACE))) $(GO) test -timeout 40m -tags outside ./...
	@$(if $(TRACE),:,echo "NOT COMPARED: no stylus trace; go test -tags outside -run Trace -v ./internal/outside says where to get it")
	$(MAKE) --no-print-directory browser
	FETTLE_NEED_POSTGRES=1 CGO_ENABLED=1 $(GO) test -timeout 40m -race -short ./...

check: $(FACE_STAMP)
	cd web/face && npm run --silent check
	@bad=$$(gofmt -l $$(git ls-files '*.go')); if [ -n "$$bad" ]; then echo "gofmt wants: $$bad"; exit 1; fi
	$(GO) vet -tags outside ./...
	$(GO) tool staticcheck -tags outside ./...

bench: kernel face
	$(GO) test -run '^$$' -bench . -benchtime 3x -timeout 60m ./...

fuzz: kernel face
	@for p in $$($(GO) list ./...); do \
	  for f in $$($(GO) test -list '^Fuzz' $$p | grep '^Fuzz' || true); do \
	    echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f$$" -fuzztime $(FUZZTIME) $$p; \
	  done; \
	done

release: kernel face
	@for os in linux windows darwin; do for arch in amd64 arm64; do \
	  ext=; [ $$os = windows ] && ext=.exe; \
	  echo "dist/fettle-$$os-$$arch$$ext"; \
	  GOOS=$$os GOARCH=$$arch $(GO) build -trimpath -ldflags "-s -w" -o dist/fettle-$$os-$$arch$$ext ./cmd/fettle; \
	done; done
	cp LICENSE NOTICE dist/
	@mkdir -p dist/licences; cp $(KERNEL)/*.txt dist/licences/; cp web/front/licences.txt dist/licences/page.txt; \
	$(GO) list -deps -f '{{with .Module}}{{if not .Main}}{{.Path}} {{.Dir}}{{end}}{{end}}' ./cmd/fettle | sort -u | while read -r path dir; do \
	  for f in $$(find $$dir -maxdepth 2 -type f \( -iname 'licen[cs]e*' -o -iname 'copying*' \)); do cp -f $$f dist/licences/$${path//\//_}_$$(basename $$f); done; \
	done; chmod -R u+w dist/licences; ls dist/licences

clean:
	rm -rf bin dist out

# Installs what is missing and nothing else; asks for root only then.
debian-test:
	@missing=; for p in $(DEBIAN_TEST); do \
	  dpkg-query -W -f '$${Status}' $$p 2>/dev/null | grep -q 'install ok installed' || missing="$$missing $$p"; done; \
	if [ -n "$$missing" ]; then \
	  echo "installing$$missing"; \
	  as=; [ "$$(id -u)" = 0 ] || as=sudo; \
	  $$as apt-get update -qq && $$as env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing >/dev/null; \
	fi
