/* track.h - the ways of the wheel over a region that is to be hollowed, seen from above.
 *
 * A cup or mounted point goes round closed loops at offsets of the region, from outside in and round the bosses; a disc
 * goes to and fro along straight troughs. No track, and no link between two of them, brings the wheel over the edge of
 * the region. What no track covers the area tells. */
#ifndef TANGWRIGHT_PLAN_WAYS_TRACK_H
#define TANGWRIGHT_PLAN_WAYS_TRACK_H

#include "plan/ways/area.h"
#include "plan/ways/offset.h"

/* Tracks over all of the region that lies behind `front_mm`. None when nothing does. *out: tw_tracks_free(). */
enum tw_status tw_tracks_lay(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out);

#endif
