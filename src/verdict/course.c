/* course.c - the temperatures of one part while its program runs. */
#include "verdict/course.h"

#include "base/memory.h"
#include "verdict/record.h"
#include "verdict/state.h"

#include <math.h>
#include <stdlib.h>

static double left_mm(void *context, double x_mm, double y_mm);

enum tw_status tw_course_open(const struct tw_job *job, const struct tw_stand *stand, bool cut, bool over_ground,
                              struct tw_course *out, struct tw_findings *findings)
{
    struct tw_outline tang = { 0 }, blade = { 0 };
    enum tw_status status = tw_face_outline(&stand->face, &job->part.tang, &tang, findings);

    *out = (struct tw_course){ .job = job, .stand = stand, .face = stand->face, .findings = findings };
    out->face.over_ground |= over_ground;
    if (status == TW_OK)
        status = tw_face_outline(&stand->face, &job->part.blade, &blade, findings);
    if (status == TW_OK)
        status = tw_warm_history(job, &out->face, &tang, &blade, &out->history, findings);
    if (status == TW_OK && cut)
        status = tw_history_set_left(out->history, left_mm, out, findings);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    return status;
}

void tw_course_close(struct tw_course *course)
{
    tw_history_close(course->history);
    free(course->pieces);
    *course = (struct tw_course){ 0 };
}

/* What is left of the part at a place: the field's height over the underside, which lies on the pad, tilted with the
 * part, and on side B rises from the taper start on. */
static double left_mm(void *context, double x_mm, double y_mm)
{
    const struct tw_course *course = context;
    const struct tw_face *face = &course->face;
    double height_mm = tw_stand_stock_mm(course->stand, x_mm, y_mm);
    double underside_mm =
        x_mm * tan(face->tilt_rad) + fmax(0.0, x_mm - face->start_mm) * tw_warm_underside_slope(course->job, face);
    return (height_mm - underside_mm) * cos(face->tilt_rad) - course->job->task.hollowed_mm;
}

/* Time of a step that its pieces do not account for: ramps, and the way off the part. */
static double idle_s(const struct tw_course *course, const struct tw_step *step, size_t count)
{
    double cutting_s = 0.0;

    for (size_t i = 0; i < count; i++) {
        const struct tw_history_piece *piece = &course->pieces[i];

        cutting_s +=
            hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]) / piece->table_mm_per_s;
    }
    return fmax(0.0, step->time_s - cutting_s);
}

static enum tw_status run_pass(struct tw_course *course, const struct tw_step *step, size_t count, struct tw_spot spot,
                               struct tw_check *temperature)
{
    double idle = idle_s(course, step, count) / 2.0;
    struct tw_history_peak peak;
    enum tw_status status = tw_history_wait(course->history, course->waiting_s + idle, course->findings);
    double place_mm[3];

    course->waiting_s = idle;
    if (status == TW_OK)
        status = tw_history_pass(course->history, course->pieces, count, &peak, course->findings);
    if (status != TW_OK)
        return status;
    place_mm[0] = peak.place_mm[0];
    place_mm[1] = peak.place_mm[1];
    place_mm[2] = tw_stand_stock_mm(course->stand, place_mm[0], place_mm[1]);
    if (isfinite(place_mm[2]))
        spot.place_mm = place_mm;
    tw_check_note(temperature, peak.degC, spot);
    if (course->record)
        status = tw_record_pass(course->record,
                                (struct tw_proof_pass){ step->line, tw_history_clock_s(course->history), peak.degC,
                                                        tw_history_bulk_degC(course->history) },
                                course->findings);
    if (status != TW_OK)
        return status;
    return tw_history_set_left(course->history, left_mm, course, course->findings);
}

enum tw_status tw_course_step(struct tw_course *course, const struct tw_step *step, const double from_mm[3],
                              const double to_mm[3], const struct tw_removal *removal, struct tw_spot spot,
                              struct tw_check *temperature)
{
    double wheel = tw_state_wheel_mm_per_s(course->job, step);
    double table = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : course->job->machine.along.rapid_mm_per_s;
    size_t count = 0;

    if (removal && removal->slice_count > 0 && wheel > 0.0 && step->kind != TW_STEP_DWELL) {
        if (!tw_grow((void **)&course->pieces, &course->piece_capacity, removal->slice_count, sizeof *course->pieces))
            return tw_no_memory(course->findings);
        count = tw_warm_pieces(from_mm, to_mm, removal, table, wheel, step->line, course->pieces);
    }
    if (count > 0)
        return run_pass(course, step, count, spot, temperature);
    course->waiting_s += step->time_s;
    return TW_OK;
}
