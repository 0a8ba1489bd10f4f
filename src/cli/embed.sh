#!/bin/sh
# Prints a C file that holds the starter files: embed.sh FILE=PATH_BELOW_NEW_FOLDER ...
set -eu
echo '#include "cli/starter.h"'
i=0
for pair in "$@"; do
    printf 'static const unsigned char file_%d[] = {' "$i"
    od -An -v -tx1 "${pair%%=*}" | sed 's/ \([0-9a-f][0-9a-f]\)/0x\1,/g'
    echo '};'
    i=$((i + 1))
done
echo 'const struct starter_file starter_files[] = {'
i=0
for pair in "$@"; do
    printf '    { "%s", file_%d, sizeof file_%d },\n' "${pair#*=}" "$i" "$i"
    i=$((i + 1))
done
echo '};'
echo 'const size_t starter_file_count = sizeof starter_files / sizeof *starter_files;'
