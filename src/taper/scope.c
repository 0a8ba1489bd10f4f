/* scope.c - the words for what one program does of a side; program heads say them, and the dry-run reads them. */
#include "tangwright/job.h"

const char *tw_scope_name(enum tw_scope scope)
{
    static const char *const names[] = { "", "roughing", "finishing", "relief" };

    return names[scope];
}
