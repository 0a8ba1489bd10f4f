#!/bin/sh
# run_all.sh JOBS PROGRAM... - runs test programs build/VARIANT/tests/NAME, JOBS at a time, each with the tangwright of its
# variant; shows what each said when it ends and how long it took, and at last which failed. test_cli, which starts programs
# of its own, runs its tests one by one: side by side Criterion 2.4.1 loses 48 bytes of its own there, which the leak checker counts.
jobs=$1
shift
if [ $# -eq 0 ]; then exit 0; fi
logs=$(mktemp -d) || exit 1
trap 'rm -rf "$logs"' EXIT
export logs

printf '%s\n' "$@" | xargs -P "$jobs" -I@ sh -c '
    name=$(echo "${1#build/}" | tr / -)
    began=$(date +%s)
    export TANGWRIGHT="${1%/tests/*}/tangwright"
    case $name in *-test_cli) export CRITERION_JOBS=1 ;; esac
    "$1" $TESTFLAGS > "$logs/$name.log" 2>&1 || touch "$logs/$name.failed"
    echo "== $1, $(($(date +%s) - began)) s" > "$logs/$name.head"
    flock "$logs" cat "$logs/$name.head" "$logs/$name.log"
' sh @

failed=$(cd "$logs" && ls | sed -n 's/\.failed$//p')
if [ -n "$failed" ]; then
    echo "failed:" $failed
    exit 1
fi
