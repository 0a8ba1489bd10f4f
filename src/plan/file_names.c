/* file_names.c - what the files of programs are called. */
#include "base/text.h"
#include "tangwright/plan.h"

#include <string.h>

/* Names without dot and ending. */
static const char *const stems[2][TW_SCOPE_RELIEF + 1] = {
    { "side-a", "side-a-rough", "side-a-finish", "side-a-relief" },
    { "side-b", "side-b-rough", "side-b-finish", "side-b-relief" },
};
static const char raised[] = "air-";

char *tw_program_file_name(const struct tw_job *job, enum tw_side side, enum tw_scope scope, bool air)
{
    struct tw_text name = { 0 };

    tw_text_print(&name, "%s%s.%s", air ? raised : "", stems[side][scope], job->machine.dialect.file_ending);
    return tw_text_take(&name);
}

static bool is_stem(const char *name, size_t length)
{
    for (int side = TW_SIDE_A; side <= TW_SIDE_B; side++)
        for (int scope = TW_SCOPE_WHOLE; scope <= TW_SCOPE_RELIEF; scope++)
            if (strlen(stems[side][scope]) == length && memcmp(stems[side][scope], name, length) == 0)
                return true;
    return false;
}

bool tw_is_program_file_name(const char *name, size_t length)
{
    const char *dot = memchr(name, '.', length);
    size_t stem = dot ? (size_t)(dot - name) : 0, skipped = strlen(raised);

    if (!dot || !tw_is_file_ending(dot + 1, length - stem - 1))
        return false;
    if (stem > skipped && memcmp(name, raised, skipped) == 0)
        return is_stem(name + skipped, stem - skipped);
    return is_stem(name, stem);
}
