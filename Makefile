# Lastroom: `make run` opens it, `make test` tests it. `make help` lists the rest.

# One fixed set of flags each for building and testing: every other set compiles the window's library anew.
GO        := .ci/go
BUILDTAGS := migrated_fynedo
TESTTAGS  := ci,$(BUILDTAGS)
FUZZTIME  ?= 3s

# Linters, kept out of the program's go.mod.
TOOL := $(GO) tool -modfile=.ci/tools.mod
# Beside staticcheck's own choice: each package is documented (ST1000), receivers keep one name (ST1016), and a doc
# comment starts with the name of what it documents (ST1020, ST1021, ST1022).
CHECKS := inherit,ST1000,ST1016,ST1020,ST1021,ST1022

# All packages but the window's main: that one alone needs C headers to compile.
PACKAGES = $$(CGO_ENABLED=0 $(GO) list -tags $(TESTTAGS) ./... | grep -v '/cmd/lastroom$$')
# Where goroutines share data: the window, whose judge and painter run the whole computation beside it, the meshes' fields,
# and the odds. The rest is sequential, and its numeric tests would take the race detector half an hour.
RACE := $(GO) test -race -tags $(TESTTAGS)

# The search that looks at eight boxes at once, where the toolchain has what it is made of. Elsewhere, and on processors that can't, the
# plain one gives the same answers.
FAST = GOEXPERIMENT=$$(.ci/fast)

.DEFAULT_GOAL := help
.PHONY: help run demo build test check vet staticcheck gofumpt format arrows modules race fuzz mutants window pictures clean

help: ## list what can be made
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 20

run: ## install what is missing, build, open the window on a demo case (without a display: make demo)
	@.ci/run-program

demo: ## the same demo case without a window: findings as text, sections as pictures in build/demo
	@.ci/run-program headless

build: build/lastroom build/roomcheck ## both programs, in build/

.PHONY: build/lastroom build/roomcheck
build/lastroom:
	@.ci/need go window
	CGO_ENABLED=1 $(FAST) $(GO) build -buildvcs=false -tags $(BUILDTAGS) -o $@ ./cmd/lastroom

build/roomcheck:
	@.ci/need go
	CGO_ENABLED=0 $(FAST) $(GO) build -buildvcs=false -tags $(BUILDTAGS) -o $@ ./cmd/roomcheck

test: ## every test that needs no C compiler and no display
	@.ci/need go paper
	CGO_ENABLED=0 $(GO) test -tags $(TESTTAGS) $(PACKAGES)
	CGO_ENABLED=0 $(FAST) $(GO) test -tags $(TESTTAGS) -run 'Wide|Nearest|Distance|Sign|Tree|Beyond|CGAL|Field' ./internal/mesh

check: vet staticcheck gofumpt arrows ## all that looks at the source without running it

vet: ## suspicious constructs
	@.ci/need go
	CGO_ENABLED=0 $(GO) vet -tags $(TESTTAGS) $(PACKAGES)

staticcheck: ## bugs, dead code, missing documentation
	@.ci/need go
	CGO_ENABLED=0 PATH="$$($(GO) env GOROOT)/bin:$$PATH" \
		$(TOOL) staticcheck -checks $(CHECKS) -tags $(TESTTAGS) $(PACKAGES)

gofumpt: ## formatting
	@.ci/need go
	@bad=$$($(TOOL) gofumpt -l cmd ui fit footwear device assets internal) || exit 1; \
		if [ -n "$$bad" ]; then echo "not formatted (make format mends it):"; echo "$$bad"; exit 1; fi

format: ## format all Go files
	@.ci/need go
	$(TOOL) gofumpt -w cmd ui fit footwear device assets internal

modules: ## the modules are those of go.sum, and none is listed that is not used
	@.ci/need go
	CGO_ENABLED=0 $(GO) mod verify
	CGO_ENABLED=0 $(GO) mod tidy -diff

arrows: ## no import runs the wrong way
	@.ci/need go
	CGO_ENABLED=0 $(GO) test -tags $(TESTTAGS) -count=1 ./internal/arrows

race: ## what runs in several goroutines, under the race detector
	@.ci/need go race
	CGO_ENABLED=1 $(RACE) -run 'Judge|Painter|Question|Newest|Latest|InOrder|Hammered' ./ui
	CGO_ENABLED=1 $(RACE) -skip 'EveryChangeHasWords|EveryAnswerCanBeTold' $$(CGO_ENABLED=0 $(GO) list -tags $(TESTTAGS) ./ui/... | grep -v '/ui$$')
	CGO_ENABLED=1 $(RACE) -run 'Repeats|FieldStops|FieldAgreesWithTree' ./internal/mesh
	CGO_ENABLED=1 $(RACE) -run 'OddsRepeat|Stopped' ./fit

fuzz: ## each fuzz target for FUZZTIME (3s)
	@.ci/need go
	@FUZZTIME=$(FUZZTIME) TESTTAGS=$(TESTTAGS) .ci/fuzz

.PHONY: bench
bench: ## measure meshes, trees and distances, five times in turns with CGAL and Embree where they are installed; prints ratios
	@.ci/need go
	@TESTTAGS=$(TESTTAGS) .ci/bench

mutants: ## put deliberate faults into the formulas one at a time and name the test that catches each
	@.ci/need go
	CGO_ENABLED=0 $(GO) run -tags $(TESTTAGS) ./internal/mutants $(GO) $(TESTTAGS) "$(ONLY)"

window: ## open the real window on a screen in memory, change an option, see that the verdict follows
	@.ci/need display
	@$(MAKE) --no-print-directory FAST= build/lastroom # as the tests are compiled, for that saves compiling all anew
	CGO_ENABLED=1 $(GO) vet -tags $(BUILDTAGS) ./cmd/lastroom
	@.ci/window

pictures: ## draw the expected pictures and texts of the tests anew; look at them before you commit them
	@.ci/need go paper
	UPDATE_GOLDEN=1 CGO_ENABLED=0 $(GO) test -tags $(TESTTAGS) -count=1 $$(grep -rl --include='*_test.go' UPDATE_GOLDEN ui fit internal cmd | xargs -n 1 dirname | sort -u | sed 's|^|./|')

clean: ## remove what was built
	rm -rf build
