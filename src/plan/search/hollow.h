/* hollow.h - planning the relief of one side: layers parallel to the finished face, down to the floor of the hollow.
 *
 * The scene's job is one narrowed to the relief (operations.h): its wheel is the one that hollows, and its face is the
 * floor. A cup goes down along a ramp on the outermost loop of each layer, round that loop, and on to the loops inside;
 * a disc goes down evenly from one end of a trough to the other and comes back level. No wheel is fed straight down into
 * steel. */
#ifndef TANGWRIGHT_PLAN_SEARCH_HOLLOW_H
#define TANGWRIGHT_PLAN_SEARCH_HOLLOW_H

#include "plan/search/layout.h"

struct tw_hollow;

/* What the relief of this scene is laid out by; the scene must outlive it. Release *out with tw_hollow_close(), also after a
 * failure. */
enum tw_status tw_hollow_open(const struct tw_scene *scene, struct tw_hollow **out);
const struct tw_layout *tw_hollow_layout(const struct tw_hollow *hollow);
void tw_hollow_close(struct tw_hollow *hollow);

#endif
