#!/bin/sh
# Makes the record of a run as an older tangwright left it, by its own verbs and nothing else.
#
#     tests/record/make.sh TANGWRIGHT FOLDER
#
# TANGWRIGHT is the program of the older version, built from its commit in a work tree of its own; FOLDER is made anew, and its run.record is
# what stands here as version-11.record: by commit e3b5113, the last one whose record is of version 11. The job is that of
# samples/utility-four with little to take off and its sides roughed and finished apart; what was measured is invented.
set -e
program=$(realpath "$1")
cd "$(dirname "$0")/../.."
rm -rf "$2" && mkdir -p "$2"
folder=$(realpath "$2")
sed -e "s|\.\./\.\./|$PWD/|; s|knives.geojson|$PWD/samples/utility-four/knives.geojson|; s/1.4 mm/2.29 mm/; /thickness_band/s/0.02/0.01/; s/a-then-b/rough-then-finish/" \
    samples/utility-four/job.cfg > "$folder/job.cfg"
cd "$folder"
cat > run.cfg <<END
name = "an older run";
job = "job.cfg";
stations = "1, 2";
blanks = ( { number = "1"; thickness = "2.490 mm"; remark = "nick at the heel"; }, { number = "2"; thickness = "2.490 mm"; },
           { number = "3"; thickness = "2.495 mm"; }, { number = "4"; thickness = "2.495 mm"; },
           { number = "5"; thickness = "2.500 mm"; }, { number = "6"; thickness = "2.500 mm"; },
           { number = "7"; thickness = "2.600 mm"; } );
END

# Of a part's number, its blank and by how much it is too thick: at 60 and 100 mm roughing leaves 4 layers of 5 um over
# blank - 0.21 x / 110 mm, and finishing nothing of them.
table()
{
    echo "part, x, thickness"
    while [ $# -gt 0 ]; do
        for x in 60 100; do
            awk -v part="$1" -v blank="$2" -v over="$3" -v x=$x 'BEGIN { printf "%s, %d mm, %.4f mm\n", part, x, blank - 0.21 * x / 110 + over / 1000 }'
        done
        shift 3
    done
}

"$program" run run.cfg --out out
# Load 1: station 1 is 8 um too thick, station 2 is right; roughed again, finished, gauged.
table 1 2.490 28.1 2 2.490 20.4 > roughed-1.csv
"$program" gauge run.cfg roughed-1.csv --roughed
"$program" run run.cfg --out out
table 1 2.490 20.3 2 2.490 20.2 > roughed-1-again.csv
"$program" gauge run.cfg roughed-1-again.csv --roughed
"$program" run run.cfg --done 2
"$program" run run.cfg --not-done 2
"$program" run run.cfg --done 1
table 1 2.490 0.9 2 2.490 -0.4 > finished-1.csv
"$program" gauge run.cfg finished-1.csv
"$program" run run.cfg --dressed 3
"$program" run run.cfg --out out
# Load 2: 12 and 6 um too thick; planned with it and roughed again, station 1 is still 4 um too thick, which nothing is planned with yet.
table 3 2.495 32.2 4 2.495 26.0 > roughed-2.csv
"$program" gauge run.cfg roughed-2.csv --roughed
"$program" run run.cfg --out out
table 3 2.495 24.1 > roughed-2-again.csv
"$program" gauge run.cfg roughed-2-again.csv --roughed
