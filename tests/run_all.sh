#!/bin/sh
# run_all.sh JOBS PROGRAM... - runs test programs build/VARIANT/tests/NAME, each with the tangwright of its variant, one more
# at a time than JOBS, for some of them wait for a browser or a clock; shows what each said when it ends, how long it took,
# how long it kept a processor and how long the kernel, with all that it started, and at last which failed. test_cli, which starts
# programs of its own, runs its tests one by one: side by side Criterion 2.4.1 loses 48 bytes of its own there, which the
# leak checker counts. What a sanitizer says fails the program that says it: Criterion does not ask how a test's process ended
# once the test is over, which is when the leak checker speaks. Of the programs named in ONCE the release build runs only those
# tests that the sanitizers do not run whole: tests/sanitized.h.
jobs=$(($1 + 1))
shift
if [ $# -eq 0 ]; then exit 0; fi
logs=$(mktemp -d) || exit 1
trap 'rm -rf "$logs"' EXIT
export logs

# Memory that was given back is used again, where glibc would return it to the kernel and get it anew, page by page: NumPy's
# arrays of every move made a third of a proof's time of it (glibc manual, Memory Allocation Tunables).
export GLIBC_TUNABLES=${GLIBC_TUNABLES-glibc.malloc.mmap_threshold=67108864:glibc.malloc.trim_threshold=268435456}
# So does the address sanitizer, after 16 MB instead of 256 MB of what was freed: use after that is missed here, but not by
# `make checked-tests`, which leaves it as it is. And it marks a megabyte as free to use without a call of the kernel. Of where
# a block comes from it keeps the nearest caller: ASAN_OPTIONS= has all of them in what is said of a fault.
export ASAN_OPTIONS=${ASAN_OPTIONS-quarantine_size_mb=16:clear_shadow_mmap_threshold=131072:malloc_context_size=2}

printf '%s\n' "$@" | xargs -P "$jobs" -I@ sh -c '
    name=$(echo "${1#build/}" | tr / -)
    began=$(date +%s)
    export TANGWRIGHT="${1%/tests/*}/tangwright"
    case $name in *-test_cli) export CRITERION_JOBS=1 ;; esac
    case " $ONCE " in *" ${1##*/test_} "*) export TEST_ONCE=1 ;; esac
    "$1" $TESTFLAGS > "$logs/$name.log" 2>&1 && ! grep -q "ERROR: [A-Za-z]*Sanitizer" "$logs/$name.log" || touch "$logs/$name.failed"
    took=$(($(date +%s) - began))
    times > "$logs/$name.times"
    { read -r _; read -r processor kernel; } < "$logs/$name.times"
    echo "== $1, $took s, processor $processor, kernel $kernel" > "$logs/$name.head"
    flock "$logs" cat "$logs/$name.head" "$logs/$name.log"
' sh @

failed=$(cd "$logs" && ls | sed -n 's/\.failed$//p')
if [ -n "$failed" ]; then
    echo "failed:" $failed
    exit 1
fi
