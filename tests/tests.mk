# tests.mk - what the tests need beyond a compiler; included by the Makefile.

# Witnesses from outside, at the versions and checksums that the lock file names: an RS-274 parser, checkers of HTML and
# a remote control for the browser.
NODE_MODULES := tests/node_modules/.package-lock.json
$(NODE_MODULES): tests/package.json tests/package-lock.json
	cd tests && npm ci --ignore-scripts --no-audit --no-fund
	@touch $@

build-tests: $(NODE_MODULES)

# ---- what is run ----

# Each test runs once: under the sanitizers, for these find what nobody asserts. They make all several times slower, though, and
# say nothing more of what compares figures, with programs from outside or from plan to plan: these programs run in the release
# build, and of the others the tests that say so (tests/sanitized.h). What does not run in a build is not linked there, but each
# compiler reads it, for its warnings. `make every-test` runs all programs in both builds.
LEFT_OUT_checked := samples fixture_verb program habits shop_jobs shop_cases proven balance_reference outline_reference \
                    history_scipy rs274_endpoints removal_numpy softening reserve band ends coolant \
                    shop_run looser
TEST_NAMES    := $(TEST_SOURCES:tests/test_%.c=%)
IN_BOTH       := $(filter-out $(LEFT_OUT_checked),$(patsubst tests/test_%.c,%,$(shell grep -lE '(ALSO|ONLY)_IN_RELEASE' $(TEST_SOURCES))))
LEFT_OUT_release := $(filter-out $(LEFT_OUT_checked) $(IN_BOTH),$(TEST_NAMES))
TESTS_release := $(patsubst %,build/release/tests/test_%,$(filter-out $(LEFT_OUT_release),$(TEST_NAMES)))
TESTS_checked := $(patsubst %,build/checked/tests/test_%,$(filter-out $(LEFT_OUT_checked),$(TEST_NAMES)))
READ_ONLY     := $(LEFT_OUT_$(VARIANT):%=$(OUT)/tests/test_%.read)

$(OUT)/tests/test_%.read: tests/test_%.c
	@mkdir -p $(@D)
	$(CC) $(COMMON) $(OPTIMISE_TEST) $(CFLAGS) $(LIBCFLAGS) -MF $@.d -MT $@ -fsyntax-only $<
	@touch $@
-include $(READ_ONLY:=.d)

.PHONY: build-once
build-once: $(TANGWRIGHT) $(TESTS_$(VARIANT)) $(READ_ONLY) $(if $(filter release,$(VARIANT)),$(OUT)/bench $(OUT)/optimum)

# The longest first, so that no core is idle at the end.
LONGEST := $(foreach test,release/page release/sheet checked/cli release/run release/verdict_samples release/samples release/cli \
                          release/fixture_verb checked/verdict checked/sheet release/shop_cases checked/plan release/plan \
                          checked/wear release/ends release/proven release/habits checked/page release/faults release/shop_run \
                          release/wear release/program release/history_scipy,build/$(subst /,/tests/test_,$(test)))
in_turn = $(filter $(1),$(LONGEST)) $(filter-out $(LONGEST),$(1))

.PHONY: checked-tests
checked-tests: test-deps ## every test with every sample under the address and undefined-behaviour sanitizers, which takes long
	@$(MAKE) --no-print-directory -j$(JOBS) VARIANT=checked build-tests
	@$(MAKE) --no-print-directory -j$(JOBS) planned-samples
	ASAN_OPTIONS= TEST_SAMPLES=all tests/run_all.sh $(JOBS) $(call in_turn,$(TEST_NAMES:%=build/checked/tests/test_%))

.PHONY: every-test
every-test: test-deps ## every test in both builds, where make test runs each in one; then checked-tests
	@$(MAKE) --no-print-directory -j$(JOBS) VARIANT=release build-tests
	@$(MAKE) --no-print-directory -j$(JOBS) planned-samples
	TEST_SAMPLES=all SHOP_CASES=all tests/run_all.sh $(JOBS) $(call in_turn,$(TEST_NAMES:%=build/release/tests/test_%))
	@$(MAKE) --no-print-directory checked-tests

# ---- samples as the command line plans them ----

# Planned once, and read by every test that wants programs. The starter stands beside its profiles, as `tangwright new` puts
# it. A sheet with the dry-run's answer is made of some; see the browser's test in test_sheet.c.
SAMPLE_NAMES  := $(patsubst samples/%/job.cfg,%,$(sort $(wildcard samples/*/job.cfg)))
PLANNED       := $(SAMPLE_NAMES:%=build/samples/%/programs.sha256)
RUN_SHEETS    := $(patsubst %,build/samples/%/run.html,santoku-170 petty-130 utility-four butcher-180 gyuto-240-bowed)
PLANNED_FROM  := build/release/tangwright $(PROFILES) $(wildcard samples/*/*)
job_of         = $(if $(filter starter,$(1)),build/starter,samples)/$(1)/job.cfg
programs_of    = $$(sed -n 's|.*"program": "\(.*\)".*|build/samples/$(1)/\1|p' build/samples/$(1)/summary.json | sort -u)

.PHONY: planned-samples
planned-samples: $(PLANNED) $(RUN_SHEETS)
$(PLANNED): build/samples/%/programs.sha256: $(PLANNED_FROM) build/starter/starter/job.cfg
	build/release/tangwright plan $(call job_of,$*) --out $(@D) > /dev/null 2>&1
build/samples/%/run.html: build/samples/%/programs.sha256
	build/release/tangwright dry-run $(call job_of,$*) $(call programs_of,$*) --sheet $@ > /dev/null
build/starter/starter/job.cfg: $(STARTER) $(PROFILES)
	@rm -rf $(@D)
	@mkdir -p $(@D)
	cp -r samples/starter/. profiles $(@D)
ifneq ($(VARIANT),release)
build/release/tangwright: $(wildcard src/*/* src/*/*/* include/tangwright/*.h) $(PROFILES) $(STARTER)
	+@$(MAKE) --no-print-directory VARIANT=release $@
endif

# Lets these tests make the n-th allocation of the library fail.
$(OUT)/tests/test_placement: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_gauge: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_run: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_shape: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_fixture: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_plan: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_bench_tests: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_calibrate: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_edit: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_page: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_sheet: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_balance: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_history_memory: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc

# All that is measured, in one run: tests/bench/bench.c. What one run gave stands in docs/measurements.md.
BENCH_PARTS := $(patsubst %.c,$(OUT)/%.o,$(filter-out tests/bench/optimum.c,$(wildcard tests/bench/*.c)))
BENCH_JOBS  := $(sort $(filter-out samples/starter/job.cfg,$(wildcard samples/*/job.cfg)))
$(OUT)/tests/bench/%.o: CFLAGS += -D_GNU_SOURCE -Itests/bench
$(OUT)/bench: $(BENCH_PARTS) $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LINKER) $(LDFLAGS) $^ $(LDLIBS) -o $@

-include $(BENCH_PARTS:.o=.d) $(OUT)/tests/bench/optimum.d

.PHONY: run-bench
bench: deps test-deps ## install what it needs, and measure speed and schedules beside other ways (a quarter of an hour)
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/bench $(OUT)/optimum
	@$(MAKE) --no-print-directory run-bench
	@$(MAKE) --no-print-directory run-optimum
run-bench: $(OUT)/bench
	@mkdir -p build
	$(OUT)/bench tests/bench/hour.cfg $(BENCH_JOBS)

# How near the planner comes to the best schedule that a far wider search finds: tests/bench/optimum.c. Takes long.
$(OUT)/optimum: $(OUT)/tests/bench/optimum.o $(OUT)/tests/bench/common.o $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LINKER) $(LDFLAGS) $^ $(LDLIBS) -o $@

.PHONY: optimum run-optimum
optimum: deps ## search for better schedules than the planner's, which takes long
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/optimum
	@$(MAKE) --no-print-directory run-optimum
run-optimum: $(OUT)/optimum
	$(OUT)/optimum $(BENCH_JOBS)

# The README's worked example: what the program prints, the picture, and the setup sheet.
.PHONY: picture
picture: $(TANGWRIGHT) $(NODE_MODULES)
	/usr/bin/python3 tests/reference/readme_example.py README.md $(TANGWRIGHT)
	mv README.md.part README.md
	$(TANGWRIGHT) plan samples/santoku-170/job.cfg --out build/picture > /dev/null
	/usr/bin/python3 tests/reference/picture.py samples/santoku-170 build/picture > docs/santoku-170.svg.part
	mv docs/santoku-170.svg.part docs/santoku-170.svg
	$(TANGWRIGHT) dry-run samples/santoku-170/job.cfg build/picture/side-*.nc --sheet build/picture/setup.html > /dev/null
	node tests/browser/picture.mjs build/picture/setup.html docs/setup-sheet.png 1 2

# The drawing of docs/survey.md.
docs/survey.svg: tests/reference/survey_drawing.py
	/usr/bin/python3 $< > $@.part
	mv $@.part $@

# The browser's view of every sample's sheet; `make test` takes some of them.
.PHONY: sheets
sheets: test-deps ## look at every sample's setup sheet in the browser, by script: telephone, tablet, desk, paper; all fonts
	@$(MAKE) --no-print-directory -j$(JOBS) $(NODE_MODULES) $(OUT)/tests/test_sheet $(SAMPLE_NAMES:%=build/samples/%/run.html)
	TEST_SAMPLES=all $(OUT)/tests/test_sheet --filter 'sheet/a_browser*'

# The tests that take some of the samples in `make test`, with all of them.
.PHONY: all-samples
all-samples: test-deps ## what make test asks of some samples, of every one: proofs by NumPy and SciPy, weights, dry-runs, ranges, both limits of the flashes, bands, fixtures, made-up jobs, sheets
	@$(MAKE) --no-print-directory -j$(JOBS) build-tests planned-samples
	TEST_SAMPLES=all tests/run_all.sh $(JOBS) $(addprefix $(OUT)/tests/test_,samples verdict_samples balance_reference band ends fixture shop_jobs)
	@$(MAKE) --no-print-directory sheets

# Every sample on the fixture that is designed for it, and six stations of one; `make test` takes two stations.
.PHONY: fixtures
fixtures: test-deps ## design a fixture for every sample, plan and prove its programs on it (minutes)
	@$(MAKE) --no-print-directory -j$(JOBS) $(TANGWRIGHT)
	tests/reference/fixture_samples.sh $(TANGWRIGHT) build/fixtures

# Thousands of damaged programs from every sample, and good ones written in other ways; and as many of each kind of cards: with
# relief, roughed before they are finished, for several stations, for surveyed blanks, in other styles. A tenth of a second of a
# processor each. What was tried is kept in build/mutate, where a campaign that was broken off goes on.
MUTANTS      ?= 20000
CARD_MUTANTS ?= 10000
CARD_KINDS   := relief turns stations surveyed styles
.PHONY: mutate-cards
mutate: test-deps ## damage every sample's programs thousands of times: each must be refused or harmless; rewrite them: all must pass
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_faults planned-samples
	@mkdir -p build/mutate
	FAULTS_CARDS=all FAULTS_TRIES=$(MUTANTS) FAULTS_REWRITE=1 FAULTS_LEDGER=build/mutate/all.txt $(OUT)/tests/test_faults
mutate-cards: test-deps ## the same for each kind of cards: relief, roughed first, several stations, surveyed blanks, other styles (hours)
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_faults planned-samples
	@mkdir -p build/mutate
	for kind in $(CARD_KINDS); do \
	  FAULTS_CARDS=$$kind FAULTS_TRIES=$(CARD_MUTANTS) FAULTS_REWRITE=0 FAULTS_LEDGER=build/mutate/$$kind.txt $(OUT)/tests/test_faults || exit 1; \
	done

# One line of the library wrong at a time, built in a scratch copy: who notices? The table goes to build/library.md.
# DAMAGES="face-high no-mirror" takes only these; `make test` only asks whether every line is still there.
DAMAGES ?=
.PHONY: mutate-library check-damages
mutate-library: test-deps ## damage the library line by line: the dry-run, the proofs or the unit tests must notice (hours)
	@$(MAKE) --no-print-directory $(NODE_MODULES)
	@mkdir -p build/mutate-library
	rm -rf $(addprefix build/mutate-library/,docs include profiles samples src tests)
	cp -a Makefile DEVELOPERS.md README.md docs include profiles samples src tests build/mutate-library
	/usr/bin/python3 tests/faults/library.py run build/mutate-library build/library.md $(DAMAGES)
check-damages: test-deps
	@/usr/bin/python3 tests/faults/library.py check

# This test makes the n-th allocation of the library fail.
$(OUT)/tests/test_verdict: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free

-include $(OUT)/tests/bench/bench.d

# This test makes the n-th allocation of the library fail.
$(OUT)/tests/test_straight: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free

# This test counts the calls that change the disk, and makes the n-th one end the process, or fail.
$(OUT)/tests/test_files: LDFLAGS += -Wl,--wrap=open,--wrap=write,--wrap=fsync,--wrap=rename,--wrap=unlink,--wrap=unlinkat

# Bytes of chance for the readers, with clang's own fuzzer; FUZZ_SECONDS for each.
FUZZ_SECONDS ?= 60
FUZZ_FLAGS := -g -O1 -fsanitize=fuzzer,address,undefined -Itests
FUZZ_outline := $(wildcard src/outline/*.c src/base/*.c) src/geometry/geos.c src/geometry/ring.c
FUZZ_rs274 := $(wildcard src/rs274/*.c src/base/*.c)
$(OUT)/fuzz_%: tests/fuzz/fuzz_%.c $(LIB_SOURCES)
	@mkdir -p $(@D)
	clang $(COMMON) $(FUZZ_FLAGS) $(LIBCFLAGS) $< $(FUZZ_$*) $(LDLIBS) -MF $@.d -o $@

fuzz: test-deps ## throw bytes of chance at the readers of drawings and programs, a minute each
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/fuzz_outline $(OUT)/fuzz_rs274
	@mkdir -p build/fuzz-outline build/fuzz-rs274
	$(OUT)/fuzz_outline -max_len=4096 -timeout=10 -max_total_time=$(FUZZ_SECONDS) -artifact_prefix=build/ build/fuzz-outline
	$(OUT)/fuzz_rs274 -max_len=512 -timeout=10 -max_total_time=$(FUZZ_SECONDS) -artifact_prefix=build/ build/fuzz-rs274

# A plan under a looser limit never takes longer: on jobs made up at random.
LOOSER_JOBS ?= 1000
.PHONY: looser-jobs
looser-jobs: test-deps ## plan 1,000 jobs made up at random, and again with one limit looser; an hour or two
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_looser
	LOOSER_JOBS=$(LOOSER_JOBS) $(OUT)/tests/test_looser

# Jobs as a shop would write them, at random: tests/reference/shop_jobs.py. Those with a relief are counted apart.
# What came of each is kept in build/random-jobs: a run that was broken off goes on where it was.
RANDOM_JOBS ?= 1000
.PHONY: random-jobs
random-jobs: test-deps ## plan and prove 2,000 jobs made up at random, half of them with a relief; hours
	@$(MAKE) --no-print-directory -j$(JOBS) $(TANGWRIGHT) $(OUT)/tests/test_shop_cases
	SHOP_CASES=all $(OUT)/tests/test_shop_cases
	wrong=0; jobs="/usr/bin/python3 tests/reference/shop_jobs.py"; \
	$$jobs $(TANGWRIGHT) build/random-jobs/flat 0 $(RANDOM_JOBS) || wrong=1; \
	$$jobs $(TANGWRIGHT) build/random-jobs/relief 0 $(RANDOM_JOBS) relief || wrong=1; \
	$$jobs table build/random-jobs/flat build/random-jobs/relief; exit $$wrong

# ---- the record of a run ----

.PHONY: kills
kills: test-deps $(TANGWRIGHT) ## kill a process that writes the record of a run, and a whole run, at 200 instants of chance each
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_record
	TEST_KILLS=200 $(OUT)/tests/test_record --filter 'record_kills/*'
	/usr/bin/python3 tests/run/kills.py $(TANGWRIGHT) build/kills 200

.PHONY: four-loads
four-loads: $(TANGWRIGHT) ## four loads measured between roughing and finishing, on a simulated machine of their own; takes minutes
	/usr/bin/python3 tests/reference/four_loads.py $(TANGWRIGHT) build/four-loads
	/usr/bin/python3 tests/reference/four_loads.py $(TANGWRIGHT) build/four-loads 4 standing

.PHONY: thirty-six
thirty-six: $(TANGWRIGHT) ## the sample run of 36 blanks from measurements to the last part, on a simulated machine; takes minutes
	/usr/bin/python3 tests/run/thirty_six.py $(TANGWRIGHT) build/thirty-six
