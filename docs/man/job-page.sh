#!/bin/sh
# Makes tangwright-job(5) from the reference of the job file, so that there is one text only: job-page.sh < docs/job-reference.md
set -eu
echo '.TH TANGWRIGHT-JOB 5 "" "tangwright" "File Formats"'
echo '.SH NAME'
echo 'tangwright\-job \- the job file of tangwright'
sed 's/\[\([^]]*\)\]([^)]*)/\1/g' | awk '
function plain(s) {
    gsub(/`/, "", s); gsub(/\*\*/, "", s)
    gsub(/\\/, "\\e", s); gsub(/-/, "\\-", s)
    return s ~ /^[.\047]/ ? "\\&" s : s
}
/^# /      { print ".SH DESCRIPTION"; next }
/^## /     { sub(/^## /, ""); print ".SH " toupper(plain($0)); table = 0; next }
/^### /    { sub(/^### /, ""); print ".SS " plain($0); table = 0; next }
/^\| --- / { next }
/^\|/ {
    split($0, cell, / *\| */)
    if (!table) { table = 1; next }         # the heads of the columns
    print ".TP\n\\fB" plain(cell[2]) "\\fR"
    if (cell[4] == "") { print plain(cell[3]); next }
    print plain(cell[6]) "."
    print plain(cell[3]) "; " plain(cell[4]) "; default " plain(cell[5]) "."
    next
}
/^- /      { sub(/^- /, ""); print ".IP \\(bu 2\n" plain($0); next }
/^    /    { print ".nf\n" plain($0) "\n.fi"; next }
/^$/       { table = 0; print ".PP"; next }
           { print plain($0) }
' | sed '/^\.PP$/{N;/^\.PP\n\.\(PP\|SH\|SS\)/D}'
echo '.SH SEE ALSO'
echo '.BR tangwright (1)'
