/* warmth.h - the plan's own moves run over a model of the part, to know what the tang's bulk adds to every flash, and
 * to wait where it has to cool. */
#ifndef TANGWRIGHT_PLAN_SEARCH_WARMTH_H
#define TANGWRIGHT_PLAN_SEARCH_WARMTH_H

#include "plan/cuts/cut.h"
#include "plan/scene/scene.h"

struct tw_warmth;

/* How finely the part is modelled. Plans that are only compared with each other are run over coarse cells, in a sixth of
 * the time; the one that is chosen then gets its waits over those of the dry-run. */
enum tw_grain { TW_COARSE, TW_FINE };

/* The part of one setup, for as many runs as wanted: each with a scene of its own that differs in findings, and in numbers of
 * its job, alone. The one it is opened with must outlive it. Release with tw_warmth_close(). */
enum tw_status tw_warmth_open(const struct tw_scene *scene, enum tw_grain grain, struct tw_warmth **out);

/* All runs so far have cost their share of the computing that a plan may take: the best so far is to be taken. Counted, not
 * timed, so that it is the same on every machine. Layers that were laid out meanwhile, with so many passes and so many loops that
 * were not kept, cost time as well. */
void tw_warmth_charge(struct tw_warmth *warmth, int passes, int loops);
bool tw_warmth_spent(const struct tw_warmth *warmth);
/* What has been charged so far, roughly in seconds of one core. */
double tw_warmth_effort_s(const struct tw_warmth *warmth);

void tw_warmth_close(struct tw_warmth *warmth);

/* With the reserve of energy: sets peak, bulk and coolant regime of every layer and the tempering of the face; and without, what
 * is expected of each. Adds waits where a pass would otherwise come above the limit, and their time. TW_NO_PLAN when waiting does not help. A plan that takes longer than
 * `longest_s` is given up: its part_time_s is then above longest_s, and nothing else of it holds. */
enum tw_status tw_warmth_run(struct tw_warmth *warmth, const struct tw_scene *scene, const struct tw_cut_limits *limits,
                             double longest_s, struct tw_setup_plan *plan);

#endif
