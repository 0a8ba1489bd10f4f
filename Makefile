# tangwright - `make demo` to see it work, `make test` to check all of it, `make help` for the rest.

VERSION  := 0.1.0
PACKAGES := build-essential pkg-config libconfig-dev libgeos-dev libjansson-dev libexpat1-dev nettle-dev libgsl-dev
TEST_PACKAGES := clang libcriterion-dev nodejs npm python3 python3-numpy python3-scipy python3-shapely \
                 python3-ezdxf python3-svgelements
LIBRARIES := libconfig geos jansson expat nettle gsl

CC       ?= gcc
VARIANT  ?= release
OUT      := build/$(VARIANT)
WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wdouble-promotion \
            -Wvla -Wformat=2 -Wcast-qual -Wwrite-strings -Wundef -Werror
# No fused multiply-add: the same inputs give the same bytes on every machine.
COMMON   := -std=c17 -D_POSIX_C_SOURCE=200809L -DTANGWRIGHT_VERSION='"$(VERSION)"' -Iinclude -Isrc -MMD -MP \
            -ffp-contract=off $(WARNINGS)
OPTIMISE_release := -O2 -g
OPTIMISE_checked := -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
OPTIMISE_clang   := -O1 -g
OPTIMISE := $(OPTIMISE_$(VARIANT))
LIBCFLAGS = $(shell pkg-config --cflags $(LIBRARIES))
LDLIBS    = $(shell pkg-config --libs $(LIBRARIES)) -lm

LIB_SOURCES  := $(sort $(filter-out src/cli/%,$(wildcard src/*/*.c)))
CLI_SOURCES  := $(sort $(wildcard src/cli/*.c))
TEST_SOURCES := $(sort $(wildcard tests/test_*.c))
LIB_OBJECTS  := $(LIB_SOURCES:%.c=$(OUT)/%.o)
CLI_OBJECTS  := $(CLI_SOURCES:%.c=$(OUT)/%.o)
TESTS        := $(TEST_SOURCES:tests/%.c=$(OUT)/tests/%)
TANGWRIGHT   := $(OUT)/tangwright

.PHONY: all
all: $(TANGWRIGHT) ## build the program

$(OUT)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(COMMON) $(OPTIMISE) $(CFLAGS) $(LIBCFLAGS) -c $< -o $@

$(OUT)/libtangwright.a: $(LIB_OBJECTS)
	@rm -f $@
	ar rcs $@ $^

$(TANGWRIGHT): $(CLI_OBJECTS) $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LDFLAGS) $^ $(LDLIBS) -o $@

$(OUT)/tests/%: $(OUT)/tests/%.o $(OUT)/libtangwright.a
	$(CC) $(OPTIMISE) $(LDFLAGS) $^ $(LDLIBS) -lcriterion -o $@

# Tests that make allocations fail in turn.
$(OUT)/tests/test_plate_memory: LDFLAGS += -Wl,--wrap=malloc,--wrap=calloc

-include $(LIB_OBJECTS:.o=.d) $(CLI_OBJECTS:.o=.d) $(TESTS:=.d)
