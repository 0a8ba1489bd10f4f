# tangwright - `make demo` to see it work, `make test` to check all of it, `make help` for the rest.

VERSION  := 0.1.0
PACKAGES := build-essential pkg-config libconfig-dev libgeos-dev libjansson-dev libexpat1-dev nettle-dev libgsl-dev libglpk-dev libsqlite3-dev libmicrohttpd-dev
TEST_PACKAGES := clang lld clang-format libcriterion-dev python3 python3-numpy python3-scipy python3-shapely python3-ezdxf \
                 python3-svgelements chromium poppler-utils fontconfig fonts-dejavu-core fonts-liberation $(if $(shell command -v npm),,nodejs npm)
LIBRARIES := libconfig geos jansson expat nettle gsl sqlite3 libmicrohttpd

DEMO     := santoku-170
PREFIX   ?= /usr/local
VARIANT  ?= release
JOBS     ?= $(shell nproc)
CC_release := gcc
CC_checked := clang
CC       := $(CC_$(VARIANT))
OUT      := build/$(VARIANT)
WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wdouble-promotion \
            -Wvla -Wformat=2 -Wcast-qual -Wwrite-strings -Wundef -Werror
# No fused multiply-add: the same inputs give the same bytes on every machine. Nobody asks errno about a square root, or
# whether a comparison trapped; without these questions loops are made several wide.
COMMON   := -std=c17 -D_POSIX_C_SOURCE=200809L -DTANGWRIGHT_VERSION='"$(VERSION)"' -Iinclude -Isrc -MMD -MP \
            -ffp-contract=off -fno-math-errno -fno-trapping-math -pthread $(WARNINGS)
# Lines and functions for whoever looks at a crash; what each variable was takes a fifth of the compiler's time more.
OPTIMISE_release := -O2 -g1
OPTIMISE_checked := -O1 -g1 -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
OPTIMISE := $(OPTIMISE_$(VARIANT))
# Of the tests' own files, which compute little: compiled in half the time.
OPTIMISE_TEST_release := -O1 -g1
OPTIMISE_TEST_checked := $(subst -O1,-O0,$(OPTIMISE_checked))
OPTIMISE_TEST := $(or $(OPTIMISE_TEST_$(VARIANT)),$(OPTIMISE))
comma    := ,
# A hundred and more programs are linked: by the quicker linker, where it is there. Each test is a process, which loads the
# libraries that it uses and no others. A linker more on each core is busy: threads of one would only wait for each other.
LINKER   := $(if $(shell command -v ld.lld),-fuse-ld=lld -Wl$(comma)--threads=1) -Wl,--as-needed
# Asked once, when the first file wants it: by then `deps` has installed what is asked.
LIBCFLAGS = $(eval LIBCFLAGS := $(shell pkg-config --cflags $(LIBRARIES)))$(LIBCFLAGS)
LDLIBS    = $(eval LDLIBS := $(shell pkg-config --libs $(LIBRARIES)) -lglpk -lm -pthread)$(LDLIBS)

LIB_SOURCES  := $(sort $(filter-out src/cli/%,$(wildcard src/*/*.c src/*/*/*.c)))
CLI_SOURCES  := $(sort $(wildcard src/cli/*.c))
TEST_SOURCES := $(sort $(wildcard tests/test_*.c))
ASSETS       := src/sheet/sheet.css src/sheet/play.js
PAGE_ASSETS  := $(addprefix src/page/,page.html page.css page.js draw.js form.js ask.js)
LIB_OBJECTS  := $(LIB_SOURCES:%.c=$(OUT)/%.o) $(OUT)/sheet_assets.o $(OUT)/page_assets.o
STARTER      := $(sort $(wildcard samples/starter/*))
PROFILES     := $(sort $(wildcard profiles/*/*.cfg))
CHECK_OBJECTS := $(patsubst %.c,$(OUT)/%.o,$(wildcard tests/check/*.c))
CLI_OBJECTS  := $(CLI_SOURCES:%.c=$(OUT)/%.o) $(OUT)/starter.o
TESTS        := $(TEST_SOURCES:tests/%.c=$(OUT)/tests/%)
TANGWRIGHT   := $(OUT)/tangwright
IN_ALL_checked := $(OUT)/tests/sanitized.o

# The sanitizers' build is compiled by the dozen of files: clang takes longer to start than for most of them. Shadowed names are
# asked about where each file stands alone, in the release build.
ifeq ($(VARIANT),checked)
-include $(OUT)/groups.mk
$(OUT)/groups.mk: tests/groups.py $(LIB_SOURCES) $(CLI_SOURCES) $(sort $(dir $(LIB_SOURCES) $(CLI_SOURCES)))
	@mkdir -p $(@D)
	@/usr/bin/python3 tests/groups.py $(OUT) $(LIB_SOURCES) $(CLI_SOURCES)
$(GROUPS:%=$(OUT)/%.c): $(OUT)/groups.mk ;
$(GROUPS:%=$(OUT)/%.o): %.o: %.c
	$(CC) $(COMMON) -I. -Wno-shadow $(OPTIMISE) $(CFLAGS) $(LIBCFLAGS) -c $< -o $@
LIB_OBJECTS := $(patsubst %,$(OUT)/%.o,$(filter-out src/cli/%,$(GROUPS))) $(OUT)/sheet_assets.o $(OUT)/page_assets.o
CLI_OBJECTS := $(patsubst %,$(OUT)/%.o,$(filter src/cli/%,$(GROUPS))) $(OUT)/starter.o

# Nor do these compute much, and the sanitizers make long code of them.
$(foreach folder,assess calibrate cli compare contacts fixture gauge looks material page program proven record report run sheet,$(filter $(OUT)/src/$(folder)/%,$(LIB_OBJECTS) $(CLI_OBJECTS))): OPTIMISE := $(OPTIMISE_TEST)
endif

.DEFAULT_GOAL := all
.SECONDARY:
.PHONY: help all demo test bench fuzz mutate format check-format check-layers clean install deps test-deps build-tests run-tests

help: ## this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  make \1|\2/p' $(filter-out %.d,$(MAKEFILE_LIST)) | awk -F'|' '{ printf "%-20s %s\n", $$1, $$2 }'

all: deps ## install what the build needs, and build the program
	@$(MAKE) --no-print-directory -j$(JOBS) $(TANGWRIGHT)

demo: deps ## the main job on a sample: its programs in build/demo, the dry-run of them, and the setup sheet
	@$(MAKE) --no-print-directory -j$(JOBS) $(TANGWRIGHT)
	$(TANGWRIGHT) plan samples/$(DEMO)/job.cfg --out build/demo
	$(TANGWRIGHT) dry-run samples/$(DEMO)/job.cfg build/demo/side-*.nc --json build/demo/dry-run.json --sheet build/demo/setup.html
	@echo
	@echo "The programs are build/demo/side-a-rough.nc and side-b-rough.nc, and after a measurement side-a-finish.nc and"
	@echo "side-b-finish.nc; the figures build/demo/summary.json and build/demo/dry-run.json. What goes to the machine with"
	@echo "them is build/demo/setup.html: open it in a browser, or print it. Start a job of your own:"
	@echo "$(TANGWRIGHT) new my-first-tang"

test: deps test-deps ## install what the tests need, build with gcc and clang, run every test, most of them under sanitizers
	+@$(MAKE) --no-print-directory -j$(JOBS) $(NODE_MODULES) check-format check-layers check-damages once-checked once-release
	+@$(MAKE) --no-print-directory -j$(JOBS) planned-samples
	ONCE="$(IN_BOTH)" tests/run_all.sh $(JOBS) $(call in_turn,$(TESTS_release) $(TESTS_checked))

once-%:
	+@$(MAKE) --no-print-directory VARIANT=$* build-once

clean: ## remove all that was built
	rm -rf build

# The man page of the job file is made from its reference, so that there is one text only.
$(OUT)/tangwright-job.5: docs/man/job-page.sh docs/job-reference.md
	@mkdir -p $(@D)
	docs/man/job-page.sh < docs/job-reference.md > $@.part
	@mv $@.part $@

BELOW := $(DESTDIR)$(PREFIX)
install: $(TANGWRIGHT) $(OUT)/libtangwright.a $(OUT)/tangwright-job.5 ## put program, library, profiles, man pages below PREFIX (/usr/local)
	install -D -m 755 $(TANGWRIGHT) $(BELOW)/bin/tangwright
	install -D -m 644 $(OUT)/libtangwright.a $(BELOW)/lib/libtangwright.a
	install -d $(BELOW)/include/tangwright $(BELOW)/lib/pkgconfig
	install -m 644 $(wildcard include/tangwright/*.h) $(BELOW)/include/tangwright
	sed 's|@PREFIX@|$(PREFIX)|; s|@VERSION@|$(VERSION)|; s|@LIBRARIES@|$(LIBRARIES)|' src/tangwright.pc.in > $(BELOW)/lib/pkgconfig/tangwright.pc
	cd profiles && find . -name '*.cfg' -exec install -D -m 644 {} $(BELOW)/share/tangwright/profiles/{} \;
	install -D -m 644 docs/man/tangwright.1 $(BELOW)/share/man/man1/tangwright.1
	install -D -m 644 $(OUT)/tangwright-job.5 $(BELOW)/share/man/man5/tangwright-job.5
	install -D -m 644 src/completions/tangwright.bash $(BELOW)/share/bash-completion/completions/tangwright
	install -D -m 644 src/completions/_tangwright $(BELOW)/share/zsh/site-functions/_tangwright

C_FILES = $(shell find src include tests -name node_modules -prune -o -name '*.[ch]' -print)
format: ## lay the code out as .clang-format says
	clang-format -i $(C_FILES)

check-layers: test-deps
	@/usr/bin/python3 tests/layers.py

check-format: test-deps
	@clang-format --dry-run --Werror $(C_FILES)

# Installs only what is missing; a machine without apt-get is told what is wanted.
define install_missing
	@missing=$$(for p in $(1); do dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || echo $$p; done); \
	if [ -n "$$missing" ]; then \
	    command -v apt-get >/dev/null || { echo "please install:" $$missing; exit 1; }; \
	    sudo=; [ "$$(id -u)" = 0 ] || sudo=sudo; \
	    $$sudo apt-get update -qq && DEBIAN_FRONTEND=noninteractive $$sudo apt-get install -y -qq --no-install-recommends $$missing; \
	fi
endef

deps:
	$(call install_missing,$(PACKAGES))

test-deps:
	$(call install_missing,$(TEST_PACKAGES))

$(OUT)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(COMMON) $(OPTIMISE) $(CFLAGS) $(LIBCFLAGS) -c $< -o $@

$(OUT)/tests/test_%.o: tests/test_%.c
	@mkdir -p $(@D)
	$(CC) $(COMMON) $(OPTIMISE_TEST) $(CFLAGS) $(LIBCFLAGS) -c $< -o $@

$(OUT)/starter.c: src/base/embed.sh $(STARTER) $(PROFILES)
	@mkdir -p $(@D)
	src/base/embed.sh cli/starter.h starter_file starter_files starter_file_count $(foreach file,$(STARTER),$(file)=$(notdir $(file))) $(foreach file,$(PROFILES),$(file)=$(file)) > $@.part
	@mv $@.part $@

$(OUT)/sheet_assets.c: src/base/embed.sh $(ASSETS)
	@mkdir -p $(@D)
	src/base/embed.sh sheet/assets.h sheet_asset sheet_assets sheet_asset_count $(foreach file,$(ASSETS),$(file)=$(notdir $(file))) > $@.part
	@mv $@.part $@

$(OUT)/page_assets.c: src/base/embed.sh $(PAGE_ASSETS)
	@mkdir -p $(@D)
	src/base/embed.sh page/assets.h page_asset page_assets page_asset_count $(foreach file,$(PAGE_ASSETS),$(file)=$(notdir $(file))) > $@.part
	@mv $@.part $@

$(OUT)/starter.o $(OUT)/sheet_assets.o $(OUT)/page_assets.o: %.o: %.c
	$(CC) $(COMMON) $(OPTIMISE) $(CFLAGS) -c $< -o $@

$(OUT)/libtangwright.a: $(LIB_OBJECTS)
	@rm -f $@
	ar rcs $@ $^

$(TANGWRIGHT): $(CLI_OBJECTS) $(IN_ALL_$(VARIANT)) $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LDFLAGS) $^ $(LDLIBS) -o $@

$(OUT)/tests/%: $(OUT)/tests/%.o $(CHECK_OBJECTS) $(IN_ALL_$(VARIANT)) $(OUT)/libtangwright.a | $(OUT)/tests/late/differences.so
	$(CC) $(OPTIMISE) $(LINKER) $(LDFLAGS) $^ $(LDLIBS) -lcriterion $(LATE) -o $@

# What shows differences between texts is loaded when there is one: tests/late/differences.c. It has the name by which Criterion
# asks for its library.
LATE    := -Wl,--no-as-needed $(OUT)/tests/late/differences.so -Wl,-rpath,'$$ORIGIN/late'
LIBGIT2  = $(eval LIBGIT2 := $(shell ldd $$($(CC) -print-file-name=libcriterion.so) | awk '/libgit2/ { print $$3 }'))$(LIBGIT2)
$(OUT)/tests/late/differences.so: tests/late/differences.c
	@mkdir -p $(@D)
	$(CC) $(filter-out -MMD -MP,$(COMMON)) -O1 -shared -fPIC -DLIBGIT2='"$(LIBGIT2)"' -Wl,-soname,$(or $(notdir $(LIBGIT2)),$(@F)) $< -o $@
	@ln -sf $(@F) $(@D)/$(or $(notdir $(LIBGIT2)),$(@F))

# Each test file is a program of its own.
build-tests: $(TANGWRIGHT) $(TESTS) $(if $(filter release,$(VARIANT)),$(OUT)/bench $(OUT)/optimum)

run-tests: build-tests
	+@$(MAKE) --no-print-directory -j$(JOBS) planned-samples
	tests/run_all.sh $(JOBS) $(call in_turn,$(TESTS))

# These tests make the n-th allocation of the library fail.
$(OUT)/tests/test_job: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_plate_memory: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc
$(OUT)/tests/test_outline_memory: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc
$(OUT)/tests/test_hollow: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free
$(OUT)/tests/test_removal_memory: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=free

-include $(LIB_OBJECTS:.o=.d) $(CLI_OBJECTS:.o=.d) $(CHECK_OBJECTS:.o=.d) $(IN_ALL_$(VARIANT):.o=.d) $(TESTS:=.d)

-include tests/tests.mk
