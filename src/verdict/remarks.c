/* remarks.c - what deserves a look though no check forbids it. */
#include "verdict/remarks.h"

#include <stdarg.h>
#include <stdio.h>

static const char *const names[TW_REMARK_COUNT] = {
    [TW_REMARK_HEAD] = "head",
    [TW_REMARK_ROLE] = "role",
    [TW_REMARK_TEXT] = "text",
    [TW_REMARK_PLANE] = "plane",
    [TW_REMARK_STANDS] = "stands",
    [TW_REMARK_RUBS] = "rubs",
    [TW_REMARK_OVER_BLADE] = "over the blade",
    [TW_REMARK_LOW_OVER_BLADE] = "low over the blade",
    [TW_REMARK_ASTRAY] = "astray",
    [TW_REMARK_SOAKED] = "soaked",
    [TW_REMARK_SLANTING] = "slanting rapid",
    [TW_REMARK_WAITS] = "waits",
    [TW_REMARK_DULL] = "dull wheel",
};

const char *tw_remark_name(enum tw_remark_kind kind)
{
    return names[kind];
}

void tw_proof_remark(struct tw_proof *proof, enum tw_remark_kind kind, int line, const char *format, ...)
{
    struct tw_proof_remark *remark = &proof->remarks[kind];
    va_list arguments;

    if (remark->count++ > 0 && line >= remark->line)
        return;
    remark->line = line;
    va_start(arguments, format);
    vsnprintf(remark->text, sizeof remark->text, format, arguments);
    va_end(arguments);
}

void tw_verdict_reason(struct tw_verdict *verdict, const char *format, ...)
{
    va_list arguments;

    verdict->cut = false;
    if (verdict->reason_count == TW_REASONS_MOST)
        return;
    va_start(arguments, format);
    vsnprintf(verdict->reasons[verdict->reason_count++], sizeof verdict->reasons[0], format, arguments);
    va_end(arguments);
}
