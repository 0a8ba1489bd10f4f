/* file_ending.c - what may stand behind the dot of a program's name. */
#include "tangwright/job.h"

#include <string.h>

bool tw_is_file_ending(const char *text, size_t length)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";

    if (length < 1 || length > TW_FILE_ENDING_LONGEST)
        return false;
    for (size_t i = 0; i < length; i++)
        if (text[i] == '\0' || !strchr(letters, text[i]))
            return false;
    return true;
}
