/* string.h - the covers of all layers strung together to the moves of one part. */
#ifndef TANGWRIGHT_PLAN_WAYS_STRING_H
#define TANGWRIGHT_PLAN_WAYS_STRING_H

#include "plan/ways/cover.h"
#include "plan/ways/path.h"

/* `covers[i]` belongs to layer i of out->layers; the layers after the last cover (spark-out) repeat it.
 * Adds the moves, counts passes and times. Can only fail with TW_NO_MEMORY. */
enum tw_status tw_string_covers(const struct tw_scene *scene, const struct tw_cover *covers, size_t cover_count,
                                struct tw_setup_plan *out);

#endif
