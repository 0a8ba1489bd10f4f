/* rest_fit.c - whether a rest that rises lies where the face that lies on it does. */
#include "tangwright/contacts.h"

#include "geometry/ring.h"
#include "tangwright/packing.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>

#define STEPS 100

static void look_along(const struct tw_job *job, const struct tw_keep_out *rest, size_t number, struct tw_rest_fit *out)
{
    struct tw_box box = tw_ring_box(&rest->plan);
    double from_mm = fmax(0.0, box.min_x_mm), to_mm = fmin(tw_ring_box(&job->part.tang.outer).max_x_mm, box.max_x_mm);

    for (int i = 0; i <= STEPS && from_mm < to_mm; i++) {
        double x_mm = from_mm + (to_mm - from_mm) * i / STEPS;
        double off_mm = tw_keep_out_top_mm(rest, x_mm) - fmax(0.0, tw_packing_mm(job, job->straight, TW_SIDE_B, x_mm));

        if (fabs(off_mm) > fabs(out->off_mm))
            *out = (struct tw_rest_fit){ rest, number, off_mm, x_mm };
    }
}

struct tw_rest_fit tw_rest_fit_of(const struct tw_job *job)
{
    struct tw_rest_fit out = { 0 };

    for (size_t i = 0; !job->one_face && i < job->fixture.keep_out_count; i++) {
        const struct tw_keep_out *rest = &job->fixture.keep_outs[i];

        if (rest->rise_mm > 0.0 && tw_warm_carries(rest, TW_SIDE_B))
            look_along(job, rest, i + 1, &out);
    }
    return out;
}

void tw_rest_fit_words(const struct tw_job *job, const struct tw_rest_fit *fit, char *out, size_t size)
{
    snprintf(out, size,
             "with side B up \"%s\" stands %.3f mm %s than the face that lies on it, at x = %.1f mm: it was made for "
             "another taper than %.6g to %.6g mm%s; give the job the taper that it was made for, or design the fixture "
             "anew (tangwright fixture) and grind the rest by its program",
             fit->rest->name, fabs(fit->off_mm), fit->off_mm > 0.0 ? "higher" : "lower", fit->x_mm,
             job->taper.ricasso_mm, job->taper.butt_mm, job->straight ? ", as surveyed" : "");
}
