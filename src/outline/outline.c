/* outline.c - releasing what an outline owns. */
#include "tangwright/outline.h"

#include <stdlib.h>

void tw_outline_free(struct tw_outline *outline)
{
    free(outline->outer.points);
    for (size_t i = 0; i < outline->hole_count; i++)
        free(outline->holes[i].points);
    free(outline->holes);
    *outline = (struct tw_outline){ 0 };
}

void tw_part_free(struct tw_part *part)
{
    tw_outline_free(&part->tang);
    tw_outline_free(&part->blade);
}
