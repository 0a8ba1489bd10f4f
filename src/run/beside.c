/* beside.c - see beside.h.
 *
 * Keep-outs are told once for all stations, in the setup frame of each. What stands at another station lies on another way
 * from each of the program's stations, so every one of these ways gives a keep-out. On an evenly spaced fixture they are
 * those that the stations in between have anyhow. */
#include "run/beside.h"

#include "base/text.h"
#include "geometry/shape.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A blank's hull is thinned to this; the clearance is far larger. */
#define THIN_MM 0.05

struct listing {
    const struct tw_job *job;
    struct tw_geos geos;
    struct tw_outline hulls[2]; /* of a blank in the setup frame, with either side up */
    struct tw_text text;
    size_t others; /* keep-outs that are not the job's own */
    struct tw_findings *findings;
};

struct way {
    double x_mm, y_mm, z_mm;
};

/* ---- the hull of a blank ---- */

static enum tw_status make_hull(struct listing *listing, enum tw_side side)
{
    struct tw_shapes shapes = tw_shapes_open(&listing->geos, "find the hull of a blank", listing->findings);
    struct tw_face face = tw_face_of(listing->job, side);
    struct tw_outline tang = { 0 }, blade = { 0 };
    enum tw_status status = tw_face_outline(&face, &listing->job->part.tang, &tang, listing->findings);

    if (status == TW_OK)
        status = tw_face_outline(&face, &listing->job->part.blade, &blade, listing->findings);
    if (status == TW_OK) {
        const GEOSGeometry *whole = tw_shape_of_line(&shapes, tang.outer.points, tang.outer.count);

        if (blade.outer.count > 1)
            whole = tw_shape_joined(&shapes, whole, tw_shape_of_line(&shapes, blade.outer.points, blade.outer.count));
        whole = tw_shape_thinned(&shapes, tw_shape_hull(&shapes, whole), THIN_MM);
        status = shapes.status == TW_OK
                     ? tw_geos_to_outline(shapes.geos, whole, &listing->hulls[side], listing->findings)
                     : shapes.status;
    }
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    tw_shapes_close(&shapes);
    return status;
}

/* ---- keep-outs as text ---- */

void tw_run_print_words(struct tw_text *text, const char *words)
{
    for (; *words; words++)
        tw_text_print(text, *words == '"' || *words == '\\' ? "\\%c" : "%c", *words);
}

static const char *kind_word(enum tw_keep_out_kind kind)
{
    static const char *const words[] = {
        [TW_KEEP_OUT_CLAMP] = "clamp", [TW_KEEP_OUT_PIN] = "pin", [TW_KEEP_OUT_PAD] = "pad", [TW_KEEP_OUT_BODY] = "body"
    };

    return words[kind];
}

static const char *sides_word(enum tw_in_place sides)
{
    static const char *const words[] = { [TW_IN_PLACE_BOTH] = "both", [TW_IN_PLACE_A] = "a", [TW_IN_PLACE_B] = "b" };

    return words[sides];
}

/* `station` counts from 1; 0: one of the job's own. */
static void print_keep_out(struct listing *listing, const struct tw_keep_out *item, int station, struct way way)
{
    struct tw_text *text = &listing->text;

    tw_text_print(text, "%s{ name = \"", text->length > 2 ? ", " : "");
    tw_run_print_words(text, item->name);
    if (station > 0)
        tw_text_print(text, ", station %d", station);
    tw_text_print(text, "\"; kind = \"%s\"; top = \"%.9g mm\"; rise = \"%.9g mm\"; sides = \"%s\"; polygon = ( ",
                  kind_word(item->kind), item->top_mm + way.z_mm, item->rise_mm, sides_word(item->sides));
    for (size_t i = 0; i < item->plan.count; i++)
        tw_text_print(text, "%s( \"%.9g mm\", \"%.9g mm\" )", i > 0 ? ", " : "", item->plan.points[i].x_mm + way.x_mm,
                      item->plan.points[i].y_mm + way.y_mm);
    tw_text_print(text, " ); }");
    listing->others += station > 0;
}

static struct way way_between(const struct tw_job *job, int from, int to)
{
    const struct tw_station *a = &job->fixture.stations[from], *b = &job->fixture.stations[to];

    return (struct way){ job->machine.along.sign * (b->along_mm - a->along_mm),
                         job->machine.across.sign * (b->across_mm - a->across_mm),
                         job->machine.up.sign * (b->up_mm - a->up_mm) };
}

/* A strip or bar that reaches over all stations is there already. */
static bool reaches_over(const struct tw_keep_out *item, struct way way)
{
    struct tw_box box = tw_ring_box(&item->plan);

    return fabs(way.x_mm) < 1e-9 && fabs(way.z_mm) < 1e-9 && box.min_y_mm < fmin(0.0, way.y_mm) &&
           box.max_y_mm > fmax(0.0, way.y_mm);
}

/* A stop of another station locates nothing here: it is a body in the way. */
static void print_hardware(struct listing *listing, int station, struct way way)
{
    const struct tw_fixture *fixture = &listing->job->fixture;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        struct tw_keep_out item = fixture->keep_outs[i];

        if (reaches_over(&item, way))
            continue;
        if (item.kind != TW_KEEP_OUT_CLAMP)
            item.kind = TW_KEEP_OUT_BODY;
        print_keep_out(listing, &item, station + 1, way);
    }
}

static void print_blank(struct listing *listing, const struct tw_run_place *place, struct way way)
{
    char name[] = "the blank";

    for (int side = 0; side < 2; side++) {
        struct tw_keep_out item = { .name = name,
                                    .kind = TW_KEEP_OUT_BODY,
                                    .plan = listing->hulls[side].outer,
                                    .top_mm = place->highest_mm,
                                    .sides = side == TW_SIDE_A ? TW_IN_PLACE_A : TW_IN_PLACE_B };

        print_keep_out(listing, &item, place->station + 1, way);
    }
}

/* ---- who stands where ---- */

static const struct tw_run_place *place_at(const struct tw_run_load *load, int station)
{
    for (size_t i = 0; i < load->count; i++)
        if (load->places[i].station == station)
            return &load->places[i];
    return NULL;
}

static bool is_ground(const struct tw_run_load *load, size_t first, size_t count, int station)
{
    const struct tw_run_place *place = place_at(load, station);

    return place && place >= load->places + first && place < load->places + first + count;
}

static void print_others(struct listing *listing, const struct tw_run_load *load, size_t first, size_t count)
{
    const struct tw_job *job = listing->job;

    for (int other = 0; other < (int)job->fixture.station_count; other++) {
        const struct tw_run_place *blank = place_at(load, other);

        if (is_ground(load, first, count, other))
            continue;
        for (size_t i = first; i < first + count; i++) {
            struct way way = way_between(job, load->places[i].station, other);

            print_hardware(listing, other, way);
            if (blank)
                print_blank(listing, blank, way);
        }
    }
}

static enum tw_status print_all(struct listing *listing, const struct tw_run_load *load, size_t first, size_t count)
{
    const struct tw_fixture *fixture = &listing->job->fixture;
    enum tw_status status = TW_OK;

    for (int side = 0; status == TW_OK && side < 2; side++)
        status = make_hull(listing, (enum tw_side)side);
    if (status != TW_OK)
        return status;
    tw_text_print(&listing->text, "( ");
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        print_keep_out(listing, &fixture->keep_outs[i], 0, (struct way){ 0 });
    print_others(listing, load, first, count);
    tw_text_print(&listing->text, " )");
    return TW_OK;
}

enum tw_status tw_run_beside(const struct tw_job *job, const struct tw_run_load *load, size_t first, size_t count,
                             char **out, struct tw_findings *findings)
{
    struct listing listing = { .job = job, .findings = findings };
    enum tw_status status;

    *out = NULL;
    if (count == job->fixture.station_count)
        return TW_OK;
    status = tw_geos_open(&listing.geos, findings);
    if (status == TW_OK)
        status = print_all(&listing, load, first, count);
    if (status == TW_OK && listing.others > 0) {
        *out = tw_text_take(&listing.text);
        status = *out ? TW_OK : tw_no_memory(findings);
    }
    tw_text_free(&listing.text);
    for (int side = 0; side < 2; side++)
        tw_outline_free(&listing.hulls[side]);
    tw_geos_close(&listing.geos);
    return status;
}
