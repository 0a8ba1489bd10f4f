# tests.mk - what the tests need beyond a compiler; included by the Makefile.

# An RS-274 parser from outside, at the version and checksum that the lock file names.
NODE_MODULES := tests/node_modules/.package-lock.json
$(NODE_MODULES): tests/package.json tests/package-lock.json
	cd tests && npm ci --ignore-scripts --no-audit --no-fund
	@touch $@

build-tests: $(NODE_MODULES)

# Thousands of damaged programs from every sample, until the table is whole; minutes, or with MUTANTS=100 an hour.
MUTANTS ?= 12
mutate: test-deps ## damage every sample's programs thousands of times: each must be refused or harmless
	@$(MAKE) --no-print-directory -j$(JOBS) $(OUT)/tests/test_faults
	FAULTS_PER_CLASS=$(MUTANTS) FAULTS_STRIDE=1 $(OUT)/tests/test_faults

# This test makes the n-th allocation of the library fail.
$(OUT)/tests/test_verdict: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
