/* task.h - what one program of the job finds, and what stands about the part: the dry-run's own reading. See face.h.
 *
 * Nothing is allocated unless it says so; the jobs given out are shallow copies that own nothing. */
#ifndef TANGWRIGHT_WITNESS_TASK_H
#define TANGWRIGHT_WITNESS_TASK_H

#include "witness/face.h"

/* Whether the job hollows that side. */
bool tw_witness_hollows(const struct tw_job *job, enum tw_side side);

/* The wheel of a program of this scope: a relief may have its own. */
const struct tw_wheel *tw_witness_wheel(const struct tw_job *job, enum tw_scope scope);

/* The job with that wheel, and with the hollow of the face below where task.below_hollowed says that it is in already. */
struct tw_job tw_witness_task(const struct tw_job *job, enum tw_scope scope);

/* The job with a blank so much thicker than stated. */
struct tw_job tw_witness_blank(const struct tw_job *job, double thicker_mm);

/* The same of a surveyed blank whose faces stand as high over what was read as nobody can tell; see survey.h. */
struct tw_job tw_witness_high_blank(const struct tw_job *job, double thicker_mm);

/* The job of what lies on station `part` (from 0), as it was measured, where the job tells: with heights by blank its own ricasso
 * and survey, on one sine plate with a butt as much thicker; with shared heights, of the blank as stated, its thickness. Else,
 * and the second time, the job as it is. */
struct tw_job tw_witness_part(const struct tw_job *job, int part);

/* What of the band stands highest, or lies lowest, about the wheel: the thickest blank where z counts from the pad; the
 * thinnest where it counts from the ricasso, for the wheel comes down with it. */
double tw_witness_hardest_mm(const struct tw_job *job);

/* Whether a keep-out stands on the fixture with this side up. */
bool tw_witness_stands(const struct tw_keep_out *keep_out, enum tw_side side);

/* A tang drawn alone has a blade all the same: as thick as the ricasso, as long as the job tells or else 300 mm, and
 * 60 mm wider than the tang on either side. */
bool tw_witness_assumes_blade(const struct tw_job *job);

/* The blade, drawn or assumed, in the face's setup frame. *out is the caller's: tw_outline_free(). TW_NO_MEMORY. */
enum tw_status tw_witness_blade(const struct tw_witness_face *face, struct tw_outline *out,
                                struct tw_findings *findings);

/* Of a tang drawn alone, the steel that is known to be ahead of it: where the plane meets the blank there, and 4 mm more for the wheel's
 * contact; beside the tang as far as the middle of a wheel over its edge reaches, 60 mm at the most. Four corners in the part frame.
 * False: nothing is ground there, or the blade is drawn. */
bool tw_witness_ahead(const struct tw_witness_face *face, struct tw_point corners[4]);

/* The plane of the lowest pads of all stations in use, in the setup frame of station `part` (from 0). */
double tw_witness_floor_mm(const struct tw_job *job, int part);

#endif
