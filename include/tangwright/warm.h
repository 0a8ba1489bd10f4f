/* warm.h - what a motion removed, as pieces of a pass that heat the part.
 *
 * It joins removal.h, which knows what was cut, to history.h, which knows what that does to the steel. The planner
 * and the dry-run both use it, each with the motions it knows of. */
#ifndef TANGWRIGHT_WARM_H
#define TANGWRIGHT_WARM_H

#include "tangwright/history.h"
#include "tangwright/job.h"
#include "tangwright/removal.h"
#include "tangwright/taper.h"

/* Length of the slices in which a motion is looked at. */
#define TW_WARM_SLICE_MM 6.0

/* The pieces of one motion, one per slice that cut, into `out`, which has room for removal->slice_count. Returns how
 * many. Depths are lessened by what the field's rounding may have added. */
size_t tw_warm_pieces(const struct tw_wheel *ground_by, const double from_mm[3], const double to_mm[3],
                      const struct tw_removal *removal, double table_mm_per_s, double wheel_mm_per_s, int tag,
                      struct tw_history_piece *out);

/* Whether the keep-out stands on the fixture while that side is up. */
bool tw_keep_out_in_place(const struct tw_keep_out *keep_out, enum tw_side side);

/* Its top at setup x, over the datum pad: along a rest that rises to its rear end another one everywhere. Beyond its ends as at them. */
double tw_keep_out_top_mm(const struct tw_keep_out *keep_out, double x_mm);

/* Whether side B lies with its ground face on a rest that rises as that face will when it is finished. A face A that stands over it, for it
 * is only roughed, or the wheel stood too high, or the blank is thin, lifts the part: the pad no longer carries it, and side B loses as
 * much more. */
bool tw_warm_on_rise(const struct tw_job *job);

/* Whether it stands there and carries the blank; its section at x of the part as the blank sees it, which with side B up is the
 * mirrored one: false where it has none. */
bool tw_warm_carries(const struct tw_keep_out *keep_out, enum tw_side side);
bool tw_warm_carrying_section(const struct tw_keep_out *keep_out, enum tw_side side, double x_mm, double *low_mm,
                              double *high_mm);

/* Whether rests lie under the tang. Then the blank lies on pad and rests alone, and what they do not reach hangs free; else the
 * tang lies on the plate itself, level with the datum pad. */
bool tw_warm_on_rests(const struct tw_job *job, enum tw_side side);

/* Conductance below a tang as its passes see it: of the joint, of packing, or none where some of it hangs free. */
double tw_warm_back_W_per_mm2_K(const struct tw_job *job, const struct tw_face *face);

/* So many times the specific energy of the job's wheel all limits of temperature are kept with: the reserve for what is
 * not known of a wheel that was not calibrated. */
double tw_energy_reserve(const struct tw_job *job);

/* The same of whichever wheel needs more, where the relief has one of its own; `job` as it was read. */
double tw_energy_largest_reserve(const struct tw_job *job);

/* One sentence: are the job's wheels calibrated, and what follows from that. */
#define TW_ENERGY_WORDS 200
void tw_energy_words(const struct tw_job *job, char out[TW_ENERGY_WORDS]);

/* All that is known of the steel ahead of a tang drawn alone is that it is there where it is ground, on a blank thicker than z
 * counts from: a rectangle in the part frame, as wide as the wheel may meet it and a little longer. False: nothing is ground
 * there, or the blade is drawn. */
bool tw_warm_ahead(const struct tw_job *job, const struct tw_face *face, struct tw_point corners[4]);

/* The blade that carries heat away, in the setup frame: as drawn, or that rectangle. *out is the caller's. */
enum tw_status tw_warm_blade(const struct tw_job *job, const struct tw_face *face, struct tw_outline *out,
                             struct tw_findings *findings);

/* The history of one part of the job, uncut on this side, with the reserve of energy; side B lies on packing over the
 * tapered side A. `tang` and `blade` in the side's setup frame. cell_mm: of the plate; 0: TW_HISTORY_CELL_MM. */
enum tw_status tw_warm_history(const struct tw_job *job, const struct tw_face *face, const struct tw_outline *tang,
                               const struct tw_outline *blade, double cell_mm, struct tw_history **out,
                               struct tw_findings *findings);

/* Rise of the underside per mm of x from the taper start on: what side A's program took off lies down there for side B.
 * A surveyed blank's bow does not count: it moves the tang, and its packing with it. */
double tw_warm_underside_slope(const struct tw_job *job, const struct tw_face *face);

/* And x of the part frame from which it rises: the taper's beginning, or farther back by what the allowance leaves. */
double tw_warm_underside_from_mm(const struct tw_job *job, const struct tw_face *face);

/* The face is now ground to the plane `bottom_mm` above the finished one. */
enum tw_status tw_warm_set_layer(struct tw_history *history, const struct tw_job *job, const struct tw_face *face,
                                 double bottom_mm, struct tw_findings *findings);

#endif
