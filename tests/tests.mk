# tests.mk - what the tests need beyond a compiler; included by the Makefile.

# An RS-274 parser from outside, at the version and checksum that the lock file names.
NODE_MODULES := tests/node_modules/.package-lock.json
$(NODE_MODULES): tests/package.json tests/package-lock.json
	cd tests && npm ci --ignore-scripts --no-audit --no-fund
	@touch $@

build-tests: $(NODE_MODULES)
