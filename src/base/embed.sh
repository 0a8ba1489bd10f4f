#!/bin/sh
# Prints a C file that holds files as an array of bytes each: embed.sh HEADER STRUCT ARRAY COUNT FILE=NAME ...
# HEADER declares STRUCT (path, data, length), ARRAY and COUNT.
set -eu
header=$1 struct=$2 array=$3 count=$4
shift 4
echo "#include \"$header\""
i=0
for pair in "$@"; do
    printf 'static const unsigned char file_%d[] = {' "$i"
    od -An -v -tx1 "${pair%%=*}" | sed 's/ \([0-9a-f][0-9a-f]\)/0x\1,/g'
    echo '};'
    i=$((i + 1))
done
echo "const struct $struct $array[] = {"
i=0
for pair in "$@"; do
    printf '    { "%s", file_%d, sizeof file_%d },\n' "${pair#*=}" "$i" "$i"
    i=$((i + 1))
done
echo '};'
echo "const size_t $count = sizeof $array / sizeof *$array;"
