/* cover.h - how the wheel goes over one layer: lanes or loops, and what that takes. */
#ifndef TANGWRIGHT_PLAN_WAYS_COVER_H
#define TANGWRIGHT_PLAN_WAYS_COVER_H

#include "plan/ways/lane.h"
#include "plan/ways/loop.h"
#include "plan/scene/scene.h"

/* Owns its lanes and loops: tw_cover_free(). */
struct tw_cover {
    struct tw_lane *lanes;
    size_t lane_count;
    bool ordered; /* the lanes must be ground in their order */
    struct tw_loops loops;
    int passes; /* lanes or loops; 0: nothing stands on this layer */
    double pitch_mm, cusp_mm;
    double engaged_mm;         /* widest engagement of one pass */
    double stock_mm;           /* length over stock of all passes */
    double between_s;          /* for turns or returns, whatever the table speed */
    double first_mm, later_mm; /* length of the first lane or of the loops, and of all later lanes */
};

enum tw_status tw_cover_lay(const struct tw_scene *scene, enum tw_travel_style style, struct tw_lane_rule rule,
                            double bottom_mm, double deepest_mm, struct tw_cover *out);

/* Seconds for the layer at this table speed of the first lane and of the later ones, with its turns or returns; and less than
 * that, quickly known. */
double tw_cover_time_s(const struct tw_scene *scene, const struct tw_cover *cover, double table_mm_per_s,
                       double later_mm_per_s);
double tw_cover_least_s(const struct tw_cover *cover, double table_mm_per_s, double later_mm_per_s);

/* False: no memory, and *out is empty. */
bool tw_cover_copy(const struct tw_cover *cover, struct tw_cover *out);

void tw_cover_free(struct tw_cover *cover);

#endif
