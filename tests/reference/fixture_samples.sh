#!/bin/sh
# Every sample: a fixture, its programs planned and proved on it, or the reason why it gets none; the petty on six stations.
# Usage: fixture_samples.sh TANGWRIGHT FOLDER
tangwright=$1 folder=$2 failed=0
mkdir -p "$folder"
prove() { # sample, stations
    at=$folder/$(basename "$1")-$2
    rm -rf "$at"
    "$tangwright" fixture "$1/job.cfg" --stations "$2" --out "$at" >"$at.txt" 2>"$at.why"
    status=$?
    if [ $status = 4 ]; then
        echo "$1: $(grep -o 'no fixture: .*' "$at.why")"
        grep -q 'no fixture: ' "$at.why"
        return
    fi
    /usr/bin/python3 tests/reference/fixture_job.py "$1/job.cfg" "$at/fixture.cfg" "$2" "$at/job.cfg" &&
        "$tangwright" plan "$at/job.cfg" --out "$at/programs" >"$at/plan.txt" 2>&1 &&
        "$tangwright" dry-run "$at/job.cfg" "$at"/programs/side-*.nc --strict >"$at/dry-run.txt" 2>&1 &&
        "$tangwright" dry-run "$at/rest-b/job.cfg" "$at/rest-b/side-a.nc" --strict >"$at/rest-b.txt" 2>&1 &&
        { [ ! -e "$at/wedge" ] || "$tangwright" dry-run "$at/wedge/job.cfg" "$at/wedge/side-a.nc" --strict >"$at/wedge.txt" 2>&1; } &&
        echo "$1: $2 stations planned and proved"
}
for sample in samples/*/; do
    sample=${sample%/}
    [ -f "$sample/job.cfg" ] && [ "$sample" != samples/starter ] || continue
    parts=$(sed -n 's/^parts = \([0-9]*\);.*/\1/p' "$sample/job.cfg")
    prove "$sample" "${parts:-1}" || { echo "$sample: FAILED, see $folder"; failed=1; }
done
prove samples/petty-130 6 || { echo "the petty on six stations: FAILED, see $folder"; failed=1; }
exit $failed
