# tests.mk - what the tests need beyond a compiler; included by the Makefile.

# An RS-274 parser from outside, at the version and checksum that the lock file names.
NODE_MODULES := tests/node_modules/.package-lock.json
$(NODE_MODULES): tests/package.json tests/package-lock.json
	cd tests && npm ci --ignore-scripts --no-audit --no-fund
	@touch $@

build-tests: $(NODE_MODULES)

# Lets these tests make the n-th allocation of the library fail.
$(OUT)/tests/test_plan: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_calibrate: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free

# How long planning takes, and how much of it in GEOS: tests/bench/bench.c.
$(OUT)/tests/bench/bench.o: CFLAGS += -D_GNU_SOURCE
$(OUT)/bench: $(OUT)/tests/bench/bench.o $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LDFLAGS) $^ $(LDLIBS) -o $@

.PHONY: run-bench
run-bench: $(OUT)/bench
	$(OUT)/bench $(sort $(filter-out samples/starter/job.cfg,$(wildcard samples/*/job.cfg)))

# The picture of the README's worked example.
.PHONY: picture
picture: $(TANGWRIGHT)
	$(TANGWRIGHT) plan samples/santoku-170/job.cfg --out build/picture > /dev/null
	/usr/bin/python3 tests/reference/picture.py samples/santoku-170 build/picture > docs/santoku-170.svg.part
	mv docs/santoku-170.svg.part docs/santoku-170.svg

# Thousands of damaged programs from every sample, until the table is whole; minutes, or with MUTANTS=100 an hour.
MUTANTS ?= 12
mutate: test-deps ## damage every sample's programs thousands of times: each must be refused or harmless
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_faults
	FAULTS_PER_CLASS=$(MUTANTS) FAULTS_STRIDE=1 $(OUT)/tests/test_faults

# This test makes the n-th allocation of the library fail.
$(OUT)/tests/test_verdict: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free

-include $(OUT)/tests/bench/bench.d
