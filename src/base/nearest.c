/* nearest.c - edit distance between short names. */
#include "base/nearest.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

#define LONGEST_NAME 63

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

static bool same_letter(char a, char b)
{
    return tolower((unsigned char)a) == tolower((unsigned char)b);
}

/* Optimal string alignment distance: Levenshtein's with neighbours swapped as one edit. Three rows suffice. */
static size_t edit_distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    size_t rows[3][LONGEST_NAME + 1];

    for (size_t j = 0; j <= b_length; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= a_length; i++) {
        size_t *row = rows[i % 3];
        const size_t *above = rows[(i - 1) % 3];
        const size_t *two_above = rows[(i + 1) % 3];

        row[0] = i;
        for (size_t j = 1; j <= b_length; j++) {
            row[j] = above[j - 1] + !same_letter(a[i - 1], b[j - 1]);
            row[j] = smaller(row[j], smaller(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && same_letter(a[i - 1], b[j - 2]) && same_letter(a[i - 2], b[j - 1]))
                row[j] = smaller(row[j], two_above[j - 2] + 1);
        }
    }
    return rows[a_length % 3][b_length];
}

struct tw_nearest tw_nearest_to(const char *wanted)
{
    return (struct tw_nearest){ .wanted = wanted };
}

void tw_nearest_offer(struct tw_nearest *nearest, const char *name)
{
    size_t wanted_length = strlen(nearest->wanted);
    size_t name_length = strlen(name);
    size_t longer = wanted_length > name_length ? wanted_length : name_length;
    size_t allowed = longer / 3 > 1 ? longer / 3 : 1;
    size_t distance;

    if (longer > LONGEST_NAME || wanted_length == 0)
        return;
    distance = edit_distance(nearest->wanted, wanted_length, name, name_length);
    if (distance > allowed || distance >= longer || (nearest->name && distance >= nearest->distance))
        return;
    nearest->name = name;
    nearest->distance = distance;
}
