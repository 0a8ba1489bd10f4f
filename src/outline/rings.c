/* rings.c - choosing the outer ring, and soundness by GEOS with our own words for what it finds. */
#include "outline/rings.h"

#include "geometry/geos.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_RINGS 1000
#define MOST_TOLD  5
#define NONE       SIZE_MAX
/* Beyond this another ring is no copy of the picked one. */
#define MUCH_LARGER 1.25

struct choice {
    const struct tw_drawing *drawing;
    const struct tw_sketch *sketch;
    struct tw_found_ring *rings;
    size_t count;
    struct tw_box *boxes;
    bool *dropped, *candidate;
    size_t outer;
    struct tw_geos geos;
    struct tw_findings *findings;
};

static struct tw_place place_at(const struct choice *choice, int line)
{
    return (struct tw_place){ .file = choice->drawing->path, .line = line };
}

static struct tw_point own(const struct choice *choice, double x_mm, double y_mm)
{
    return tw_sketch_own(choice->sketch, (struct tw_point){ x_mm, y_mm });
}

/* How the ring is called in a message: the outer ring once it is known, else by its label or number. */
static const char *name_of(const struct choice *choice, size_t ring, char out[96])
{
    const struct tw_found_ring *found = &choice->rings[ring];

    if (ring == choice->outer)
        snprintf(out, 96, "the outer ring");
    else if (found->label)
        snprintf(out, 96, "ring %zu (\"%.60s\")", ring + 1, found->label);
    else
        snprintf(out, 96, "ring %zu", ring + 1);
    return out;
}

/* 1 inside, 0 on the ring, -1 outside. */
static int side_of(const struct tw_ring *ring, struct tw_point p)
{
    bool inside = false;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++) {
        struct tw_point a = ring->points[j], b = ring->points[i];
        double low = fmin(a.y_mm, b.y_mm), high = fmax(a.y_mm, b.y_mm);
        double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, cross, length;

        if (p.y_mm < low - TW_SAME_PLACE_MM || p.y_mm > high + TW_SAME_PLACE_MM)
            continue;
        cross = dx * (p.y_mm - a.y_mm) - dy * (p.x_mm - a.x_mm);
        length = hypot(dx, dy);
        if (fabs(cross) <= TW_SAME_PLACE_MM * length && p.x_mm >= fmin(a.x_mm, b.x_mm) - TW_SAME_PLACE_MM &&
            p.x_mm <= fmax(a.x_mm, b.x_mm) + TW_SAME_PLACE_MM)
            return 0;
        if ((a.y_mm > p.y_mm) != (b.y_mm > p.y_mm) && (cross > 0.0) == (dy > 0.0))
            inside = !inside;
    }
    return inside ? 1 : -1;
}

static bool box_within(struct tw_box inner, struct tw_box outer)
{
    return inner.min_x_mm >= outer.min_x_mm - TW_SAME_PLACE_MM && inner.max_x_mm <= outer.max_x_mm + TW_SAME_PLACE_MM &&
           inner.min_y_mm >= outer.min_y_mm - TW_SAME_PLACE_MM && inner.max_y_mm <= outer.max_y_mm + TW_SAME_PLACE_MM;
}

/* Told by the first point that is not on the other ring; right when the two do not cross. */
static bool lies_inside(const struct choice *choice, size_t inner, size_t outer)
{
    const struct tw_ring *ring = &choice->rings[inner].ring;

    if (inner == outer || choice->dropped[inner] || choice->dropped[outer] ||
        !box_within(choice->boxes[inner], choice->boxes[outer]))
        return false;
    for (size_t i = 0; i < ring->count; i++) {
        int side = side_of(&choice->rings[outer].ring, ring->points[i]);

        if (side != 0)
            return side > 0;
    }
    return false;
}

static bool near(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) <= TW_SAME_PLACE_MM;
}

/* Told by boxes alone, so that a drawing full of other things is looked through at once. */
static bool may_lie_in_picked(const struct tw_found_rings *rings, size_t ring)
{
    struct tw_box box = tw_ring_box(&rings->items[ring].ring);

    for (size_t i = 0; i < rings->count; i++)
        if (rings->items[i].picked && box_within(box, tw_ring_box(&rings->items[i].ring)))
            return true;
    return false;
}

/* What is not picked counts only inside of what is. */
static void drop_outsiders(struct tw_found_rings *rings)
{
    size_t kept = 0;

    /* Picked rings stand first, so they are all there while the others are looked at. */
    for (size_t i = 0; i < rings->count; i++) {
        if (rings->items[i].picked || may_lie_in_picked(rings, i)) {
            rings->items[kept++] = rings->items[i];
            continue;
        }
        free(rings->items[i].ring.points);
        rings->items[i].ring = (struct tw_ring){ 0 };
    }
    rings->count = kept;
}

static double size_mm(struct tw_box box)
{
    return hypot(box.max_x_mm - box.min_x_mm, box.max_y_mm - box.min_y_mm);
}

/* A pattern for the scales is easily taken for the knife: what is picked and smaller than something that is not, is told.
 * What stands round the picked ring, as the edge of the sheet does, is none. */
static void remark_larger(const struct choice *choice, const struct tw_found_rings *rings)
{
    const struct tw_found_ring *larger = NULL;
    struct tw_box picked = { 0 }, box = { 0 };

    for (size_t i = 0; i < rings->count; i++) {
        struct tw_box here = tw_ring_box(&rings->items[i].ring);

        if (rings->items[i].picked && size_mm(here) > size_mm(picked))
            picked = here;
        else if (!rings->items[i].picked && size_mm(here) > MUCH_LARGER * size_mm(picked) &&
                 size_mm(here) > size_mm(box) && !box_within(picked, here)) {
            larger = &rings->items[i]; /* picked rings stand first */
            box = here;
        }
    }
    if (!larger || size_mm(picked) == 0.0)
        return;
    tw_remark(
        choice->findings, place_at(choice, larger->line),
        "outline.pick takes an outline of %.4g by %.4g mm, and here stands a larger one%s%.60s%s, %.4g by %.4g mm; "
        "is the picked one the knife?",
        picked.max_x_mm - picked.min_x_mm, picked.max_y_mm - picked.min_y_mm, larger->label ? ", \"" : "",
        larger->label ? larger->label : "", larger->label ? "\"" : "", box.max_x_mm - box.min_x_mm,
        box.max_y_mm - box.min_y_mm);
}

static bool same_ring_from(const struct tw_ring *a, const struct tw_ring *b, size_t start, bool reversed)
{
    for (size_t i = 0; i < a->count; i++) {
        size_t k = reversed ? start + b->count - i : start + i;

        if (!near(a->points[i], b->points[k % b->count]))
            return false;
    }
    return true;
}

static bool same_ring(const struct tw_ring *a, const struct tw_ring *b)
{
    if (a->count != b->count)
        return false;
    for (size_t start = 0; start < b->count; start++)
        if (near(a->points[0], b->points[start]))
            return same_ring_from(a, b, start, false) || same_ring_from(a, b, start, true);
    return false;
}

static void drop_doubles(struct choice *choice)
{
    for (size_t i = 0; i < choice->count; i++)
        for (size_t j = i + 1; j < choice->count && !choice->dropped[i]; j++) {
            char name[96];

            if (choice->dropped[j] || !box_within(choice->boxes[i], choice->boxes[j]) ||
                !box_within(choice->boxes[j], choice->boxes[i]) ||
                !same_ring(&choice->rings[i].ring, &choice->rings[j].ring))
                continue;
            choice->dropped[j] = true;
            choice->rings[i].picked |= choice->rings[j].picked;
            tw_remark(choice->findings, place_at(choice, choice->rings[j].line), "%s is drawn twice and counts once",
                      name_of(choice, i, name));
        }
}

/* Does the ring come to `at` and go straight back? */
static bool is_spike(struct tw_point before, struct tw_point at, struct tw_point after)
{
    double ax = before.x_mm - at.x_mm, ay = before.y_mm - at.y_mm, bx = after.x_mm - at.x_mm, by = after.y_mm - at.y_mm;
    double longer = fmax(hypot(ax, ay), hypot(bx, by));

    return ax * bx + ay * by > 0.0 && fabs(ax * by - ay * bx) <= TW_SAME_PLACE_MM * longer;
}

static enum tw_status find_spikes(struct choice *choice, size_t index)
{
    const struct tw_ring *ring = &choice->rings[index].ring;
    enum tw_status status = TW_OK;
    size_t told = 0;

    for (size_t i = 0; i < ring->count && told < MOST_TOLD; i++) {
        struct tw_point at = ring->points[i], mine = own(choice, at.x_mm, at.y_mm);

        if (!is_spike(ring->points[(i + ring->count - 1) % ring->count], at, ring->points[(i + 1) % ring->count]))
            continue;
        status = tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, choice->rings[index].line),
                         "a spike: the ring runs to (%.6g, %.6g) and straight back; delete that point", mine.x_mm,
                         mine.y_mm);
        told++;
    }
    return status;
}

static bool may_be_outer(const struct choice *choice, size_t ring)
{
    return !choice->dropped[ring] && choice->rings[ring].picked && choice->rings[ring].role != TW_ROLE_HOLE;
}

static bool is_candidate(const struct choice *choice, size_t ring)
{
    if (!may_be_outer(choice, ring))
        return false;
    for (size_t other = 0; other < choice->count; other++)
        if (may_be_outer(choice, other) && lies_inside(choice, ring, other))
            return false;
    return true;
}

/* *crossing is 1 with a place when the two rings meet, else 0. */
static enum tw_status find_crossing(struct choice *choice, size_t a, size_t b, int *crossing, struct tw_point *at)
{
    GEOSContextHandle_t context = choice->geos.context;
    GEOSGeometry *lines[2] = { 0 }, *common = NULL, *place = NULL;
    enum tw_status status = tw_geos_ring(&choice->geos, &choice->rings[a].ring, &lines[0], choice->findings);

    *crossing = 0;
    if (status == TW_OK)
        status = tw_geos_ring(&choice->geos, &choice->rings[b].ring, &lines[1], choice->findings);
    if (status != TW_OK)
        goto done;
    common = GEOSIntersection_r(context, lines[0], lines[1]);
    if (!common) {
        status = tw_geos_fail(&choice->geos, "see whether two rings cross", choice->findings);
        goto done;
    }
    if (GEOSisEmpty_r(context, common) == 1)
        goto done;
    place = GEOSPointOnSurface_r(context, common); /* a point of the crossing itself, unlike its centroid */
    if (!place || GEOSGeomGetX_r(context, place, &at->x_mm) != 1 || GEOSGeomGetY_r(context, place, &at->y_mm) != 1)
        status = tw_geos_fail(&choice->geos, "find where two rings cross", choice->findings);
    else
        *crossing = 1;
done:
    for (int i = 0; i < 2; i++)
        if (lines[i])
            GEOSGeom_destroy_r(context, lines[i]);
    if (common)
        GEOSGeom_destroy_r(context, common);
    if (place)
        GEOSGeom_destroy_r(context, place);
    return status;
}

static bool boxes_meet(struct tw_box a, struct tw_box b)
{
    return a.min_x_mm <= b.max_x_mm && b.min_x_mm <= a.max_x_mm && a.min_y_mm <= b.max_y_mm && b.min_y_mm <= a.max_y_mm;
}

/* One may be the knife and the other a scale that is drawn over it; by their names the job can tell them apart, as long as no ring is
 * the outline yet. */
static bool can_pick(const struct choice *choice, size_t a, size_t b)
{
    const char *first = choice->rings[a].label, *second = choice->rings[b].label;

    return first && second && strcmp(first, second) != 0 && a != choice->outer && b != choice->outer;
}

/* Says that two rings cross, if they do; *told tells. */
static enum tw_status tell_crossing(struct choice *choice, size_t a, size_t b, bool *told)
{
    struct tw_point at = { 0 }, mine;
    char first[96], second[96];
    int crossing;
    enum tw_status status;

    if (!boxes_meet(choice->boxes[a], choice->boxes[b]))
        return TW_OK;
    status = find_crossing(choice, a, b, &crossing, &at);
    if (status != TW_OK || crossing != 1)
        return status;
    *told = true;
    mine = own(choice, at.x_mm, at.y_mm);
    return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, choice->rings[b].line),
                   "%s and %s cross or touch at (%.6g, %.6g); part them in the drawing%s", name_of(choice, a, first),
                   name_of(choice, b, second), mine.x_mm, mine.y_mm,
                   can_pick(choice, a, b) ? ", or say with outline.pick which one is the outline" : "");
}

static enum tw_status tell_candidates(struct choice *choice)
{
    enum tw_status status = TW_OK;
    size_t told = 0, count = 0;

    for (size_t i = 0; i < choice->count; i++)
        count += choice->candidate[i];
    tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, 0),
            "%zu rings could be the outline; name one in the job, such as outline.pick = \"...\"; (the id in "
            "an SVG drawing, the layer in a DXF, name or id in a GeoJSON), or delete the others",
            count);
    for (size_t i = 0; i < choice->count && told < 2 * MOST_TOLD; i++) {
        struct tw_box box = choice->boxes[i];
        struct tw_point low = own(choice, box.min_x_mm, box.min_y_mm), high = own(choice, box.max_x_mm, box.max_y_mm);
        char name[96];

        if (!choice->candidate[i])
            continue;
        status = tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, choice->rings[i].line),
                         "candidate %zu: %s measures %.4g by %.4g mm, from (%.6g, %.6g) to (%.6g, %.6g)", ++told,
                         name_of(choice, i, name), box.max_x_mm - box.min_x_mm, box.max_y_mm - box.min_y_mm,
                         fmin(low.x_mm, high.x_mm), fmin(low.y_mm, high.y_mm), fmax(low.x_mm, high.x_mm),
                         fmax(low.y_mm, high.y_mm));
    }
    return status;
}

/* Several candidates that cross are one badly drawn outline rather than several. */
static enum tw_status refuse_candidates(struct choice *choice)
{
    enum tw_status status = TW_OK;
    size_t tried = 0;
    bool told = false;

    for (size_t i = 0; i < choice->count; i++)
        for (size_t j = i + 1; j < choice->count && tried < 100; j++) {
            enum tw_status one = TW_OK;

            if (!choice->candidate[i] || !choice->candidate[j])
                continue;
            tried++;
            one = tell_crossing(choice, i, j, &told);
            if (one != TW_OK)
                status = one;
        }
    return told || status != TW_OK ? status : tell_candidates(choice);
}

static void list_labels(const struct choice *choice, char *out, size_t room)
{
    size_t length = 0;

    out[0] = '\0';
    for (size_t i = 0; i < choice->sketch->label_count && length + 80 < room; i++) {
        bool seen = false;

        for (size_t j = 0; j < i && !seen; j++)
            seen = strcmp(choice->sketch->labels[i], choice->sketch->labels[j]) == 0;
        if (!seen)
            length += (size_t)snprintf(out + length, room - length, "%s\"%.60s\"", length > 0 ? ", " : "",
                                       choice->sketch->labels[i]);
    }
}

static enum tw_status no_candidate(struct choice *choice)
{
    char labels[600];

    if (!choice->drawing->pick)
        return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, 0),
                       "the drawing holds no closed ring that could be the outline; draw it as one closed line");
    list_labels(choice, labels, sizeof labels);
    if (!labels[0])
        return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, 0),
                       "outline.pick asks for \"%.60s\", but nothing in the drawing has a name; take "
                       "outline.pick out of the job",
                       choice->drawing->pick);
    return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, 0),
                   "outline.pick asks for \"%.60s\", but no closed ring of the drawing has that name; it has %s",
                   choice->drawing->pick, labels);
}

static enum tw_status choose_outer(struct choice *choice)
{
    size_t candidates = 0;

    for (size_t i = 0; i < choice->count; i++) {
        choice->candidate[i] = is_candidate(choice, i);
        candidates += choice->candidate[i];
        if (choice->candidate[i])
            choice->outer = i;
    }
    if (candidates == 1)
        return TW_OK;
    choice->outer = NONE;
    return candidates == 0 ? no_candidate(choice) : refuse_candidates(choice);
}

/* Too large or too small whatever its units are taken for; with a mend where it is drawn at ten times its size and carries no unit. */
static enum tw_status refuse_size(struct tw_place at, const struct tw_sketch *sketch, double width_mm, double height_mm,
                                  struct tw_findings *findings)
{
    double tenth_mm = fmax(width_mm, height_mm) / 10.0;

    if (sketch->unit_name[0] || tenth_mm < TW_OUTLINE_SMALLEST_MM || tenth_mm > TW_OUTLINE_LARGEST_MM)
        return tw_fail(findings, TW_BAD_INPUT, at,
                       "the outline measures %.4g by %.4g mm, but a knife is 10 to 1000 mm long; scale the drawing",
                       width_mm, height_mm);
    return tw_fail(
        findings, TW_BAD_INPUT, at,
        "the outline measures %.4g by %.4g mm, but a knife is 10 to 1000 mm long; drawn at ten times its size it "
        "would be %.4g by %.4g mm: write in the outline of the job unit = \"%.4g mm\";",
        width_mm, height_mm, width_mm / 10.0, height_mm / 10.0, sketch->x_mm_per_unit / 10.0);
}

enum tw_status tw_scale_fault(const struct tw_drawing *drawing, const struct tw_sketch *sketch, double width_mm,
                              double height_mm, struct tw_findings *findings)
{
    static const struct {
        const char *name;
        double mm;
    } readings[] = { { "1 mm", 1.0 }, { "1 in", 25.4 }, { "1 cm", 10.0 }, { "1 m", 1000.0 } };
    double unit_mm = sketch->x_mm_per_unit, w = width_mm / unit_mm, h = height_mm / unit_mm;
    struct tw_place at = { .file = drawing->path };
    const char *mend = NULL;

    for (size_t i = 0; i < sizeof readings / sizeof *readings && !mend; i++)
        if (fmax(w, h) * readings[i].mm >= TW_OUTLINE_SMALLEST_MM &&
            fmax(w, h) * readings[i].mm <= TW_OUTLINE_LARGEST_MM && fabs(unit_mm / readings[i].mm - 1.0) > 1e-3)
            mend = readings[i].name;
    if (!mend)
        return refuse_size(at, sketch, width_mm, height_mm, findings);
    return tw_fail(findings, TW_BAD_INPUT, at,
                   "the outline measures %.4g by %.4g mm, but a knife is 10 to 1000 mm long; its %.4g by %.4g units "
                   "would be %.4g by %.4g mm if they were mm, %.4g by %.4g mm if they were inches, %.4g by %.4g mm if "
                   "they were cm; %s unit = \"%s\";%s",
                   width_mm, height_mm, w, h, w, h, w * 25.4, h * 25.4, w * 10.0, h * 10.0,
                   sketch->unit_name[0]
                       ? "correct the drawing's own unit, or save it without one and write in the outline"
                       : "write in the outline of the job",
                   mend, sketch->unit_name[0] ? " of the job" : "");
}

static enum tw_status check_scale(struct choice *choice)
{
    struct tw_box box = choice->boxes[choice->outer];
    double width_mm = box.max_x_mm - box.min_x_mm, height_mm = box.max_y_mm - box.min_y_mm;
    double across_mm = fmax(width_mm, height_mm);

    if (across_mm >= TW_OUTLINE_SMALLEST_MM && across_mm <= TW_OUTLINE_LARGEST_MM)
        return TW_OK;
    return tw_scale_fault(choice->drawing, choice->sketch, width_mm, height_mm, choice->findings);
}

/* Of the rings that are not in the outer one, those that cross it and those the drawing calls its holes are
 * faults; what the job did not pick is none of ours. */
static enum tw_status check_outsider(struct choice *choice, size_t ring)
{
    const struct tw_found_ring *found = &choice->rings[ring];
    struct tw_box box = choice->boxes[ring];
    struct tw_point low = own(choice, box.min_x_mm, box.min_y_mm), high = own(choice, box.max_x_mm, box.max_y_mm);
    bool told = false;
    char name[96];
    enum tw_status status = TW_OK;

    if (!found->picked)
        return TW_OK;
    status = tell_crossing(choice, choice->outer, ring, &told);
    if (status != TW_OK || told || found->role != TW_ROLE_HOLE)
        return status;
    return tw_fail(
        choice->findings, TW_BAD_INPUT, place_at(choice, found->line),
        "%s is a hole that lies outside the outer ring, from (%.6g, %.6g) to (%.6g, %.6g); move or delete it",
        name_of(choice, ring, name), low.x_mm, low.y_mm, high.x_mm, high.y_mm);
}

/* A ring within a hole would be an island. */
static enum tw_status check_nesting(struct choice *choice, const bool *is_hole, size_t ring)
{
    for (size_t other = 0; other < choice->count; other++) {
        struct tw_point at, mine;
        char inner[96], outer[96];

        if (!is_hole[other] || !lies_inside(choice, ring, other))
            continue;
        at = choice->rings[ring].ring.points[0];
        mine = own(choice, at.x_mm, at.y_mm);
        return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, choice->rings[ring].line),
                       "%s at (%.6g, %.6g) lies inside %s, which is a hole; delete one of them, or if the "
                       "outermost ring is a frame around the drawing name the outline in outline.pick",
                       name_of(choice, ring, inner), mine.x_mm, mine.y_mm, name_of(choice, other, outer));
    }
    return TW_OK;
}

/* ---- rings that nobody picked ---- */

static void leave_aside(struct choice *choice, size_t ring, const char *why)
{
    struct tw_point at = own(choice, choice->rings[ring].ring.points[0].x_mm, choice->rings[ring].ring.points[0].y_mm);
    char name[96];

    tw_remark(choice->findings, place_at(choice, choice->rings[ring].line),
              "%s at (%.6g, %.6g) is not picked and %s, so it is left aside", name_of(choice, ring, name), at.x_mm,
              at.y_mm, why);
    choice->dropped[ring] = true;
}

/* A line that runs over the outline is no hole, wherever it begins. */
static enum tw_status leave_crossing(struct choice *choice, size_t ring)
{
    struct tw_point at;
    int crossing = 0;
    enum tw_status status = find_crossing(choice, choice->outer, ring, &crossing, &at);

    if (status == TW_OK && crossing == 1)
        leave_aside(choice, ring, "crosses the outline");
    return status;
}

/* Whether two rings lie side by side in this one: then it is drawn round them, and no hole. */
static bool runs_round_several(const struct choice *choice, const bool *inside, size_t ring)
{
    for (size_t i = 0; i < choice->count; i++)
        for (size_t j = i + 1; j < choice->count && inside[i] && lies_inside(choice, i, ring); j++)
            if (inside[j] && lies_inside(choice, j, ring) && !lies_inside(choice, i, j) && !lies_inside(choice, j, i))
                return true;
    return false;
}

static bool runs_round_picked(const struct choice *choice, const bool *inside, size_t ring)
{
    for (size_t i = 0; i < choice->count; i++)
        if (inside[i] && choice->rings[i].picked && lies_inside(choice, i, ring))
            return true;
    return false;
}

static bool lies_in_another(const struct choice *choice, const bool *inside, size_t ring)
{
    for (size_t i = 0; i < choice->count; i++)
        if (inside[i] && lies_inside(choice, ring, i))
            return true;
    return false;
}

/* Of rings in one another only one can be a hole: the picked one, else the outermost, as with a centre mark. */
static void leave_nested(struct choice *choice, const bool *inside)
{
    for (size_t i = 0; i < choice->count; i++) {
        if (!inside[i] || choice->rings[i].picked || choice->dropped[i])
            continue;
        if (runs_round_picked(choice, inside, i))
            leave_aside(choice, i, "runs round a hole that is");
        else if (runs_round_several(choice, inside, i))
            leave_aside(choice, i, "runs round several others");
    }
    for (size_t i = 0; i < choice->count; i++)
        if (inside[i] && !choice->rings[i].picked && !choice->dropped[i] && lies_in_another(choice, inside, i))
            leave_aside(choice, i, "lies inside a hole");
}

/* The largest is told, for that is the one that would do harm. */
static void tell_unpicked_holes(const struct choice *choice, const bool *is_hole)
{
    size_t count = 0, largest = NONE;

    for (size_t i = 0; i < choice->count; i++) {
        if (!is_hole[i] || choice->rings[i].picked)
            continue;
        count++;
        if (largest == NONE ||
            fabs(tw_ring_area_mm2(&choice->rings[i].ring)) > fabs(tw_ring_area_mm2(&choice->rings[largest].ring)))
            largest = i;
    }
    if (count > 0) {
        struct tw_box box = choice->boxes[largest];
        struct tw_point at = own(choice, (box.min_x_mm + box.max_x_mm) / 2.0, (box.min_y_mm + box.max_y_mm) / 2.0);

        tw_remark(choice->findings, place_at(choice, choice->rings[largest].line),
                  "%zu %s inside the outline that outline.pick does not name %s, the largest %.1f by %.1f mm about "
                  "(%.4g, %.4g)",
                  count, count == 1 ? "ring" : "rings", count == 1 ? "counts as its hole" : "count as its holes",
                  box.max_x_mm - box.min_x_mm, box.max_y_mm - box.min_y_mm, at.x_mm, at.y_mm);
    }
}

static enum tw_status leave_what_is_no_hole(struct choice *choice, bool *inside)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < choice->count && status == TW_OK; i++) {
        inside[i] = !choice->dropped[i] && i != choice->outer && lies_inside(choice, i, choice->outer);
        if (inside[i] && !choice->rings[i].picked)
            status = leave_crossing(choice, i);
    }
    if (status == TW_OK)
        leave_nested(choice, inside);
    return status;
}

static enum tw_status find_holes(struct choice *choice, bool *is_hole)
{
    enum tw_status status = choice->drawing->pick ? leave_what_is_no_hole(choice, is_hole) : TW_OK;

    if (status != TW_OK)
        return status;

    for (size_t i = 0; i < choice->count; i++) {
        enum tw_status one = TW_OK;

        is_hole[i] = false;
        if (choice->dropped[i] || i == choice->outer)
            continue;
        is_hole[i] = lies_inside(choice, i, choice->outer);
        if (!is_hole[i] && !lies_inside(choice, choice->outer, i))
            one = check_outsider(choice, i);
        if (one != TW_OK)
            status = one;
    }
    for (size_t i = 0; i < choice->count; i++) {
        enum tw_status one = is_hole[i] ? check_nesting(choice, is_hole, i) : TW_OK;

        if (one != TW_OK)
            status = one;
    }
    return status;
}

static enum tw_status move_rings(struct choice *choice, const bool *is_hole, struct tw_outline *out)
{
    out->holes = calloc(choice->count, sizeof *out->holes);
    if (!out->holes)
        return tw_no_memory(choice->findings);
    for (size_t i = 0; i < choice->count; i++) {
        struct tw_ring *ring = &choice->rings[i].ring;

        if (i != choice->outer && !is_hole[i])
            continue;
        tw_ring_orient(ring, i == choice->outer);
        if (i == choice->outer)
            out->outer = *ring;
        else
            out->holes[out->hole_count++] = *ring;
        *ring = (struct tw_ring){ 0 };
    }
    if (out->hole_count == 0) {
        free(out->holes);
        out->holes = NULL;
    }
    return TW_OK;
}

/* 1 sound, 0 not, with GEOS's word for it and the place. */
static enum tw_status ask_geos(struct choice *choice, const GEOSGeometry *polygon, int *sound, char reason[80],
                               struct tw_point *at)
{
    GEOSContextHandle_t context = choice->geos.context;
    GEOSGeometry *place = NULL;
    char *word = NULL;
    enum tw_status status = TW_OK;

    *sound = GEOSisValidDetail_r(context, polygon, 0, &word, &place);
    if (*sound != 0 && *sound != 1)
        status = tw_geos_fail(&choice->geos, "check the outline", choice->findings);
    snprintf(reason, 80, "%s", word ? word : "");
    if (place && (GEOSGeomGetX_r(context, place, &at->x_mm) != 1 || GEOSGeomGetY_r(context, place, &at->y_mm) != 1))
        status = tw_geos_fail(&choice->geos, "tell where the outline is unsound", choice->findings);
    if (word)
        GEOSFree_r(context, word);
    if (place)
        GEOSGeom_destroy_r(context, place);
    return status;
}

static enum tw_status check_alone(struct choice *choice, size_t index, bool *told)
{
    GEOSGeometry *polygon;
    struct tw_point at = choice->rings[index].ring.points[0], mine;
    char reason[80], name[96];
    int sound = 1;
    enum tw_status status = tw_geos_from_ring(&choice->geos, &choice->rings[index].ring, &polygon, choice->findings);

    if (status != TW_OK)
        return status;
    status = ask_geos(choice, polygon, &sound, reason, &at);
    GEOSGeom_destroy_r(choice->geos.context, polygon);
    if (status != TW_OK || sound == 1)
        return status;
    *told = true;
    mine = own(choice, at.x_mm, at.y_mm);
    return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, choice->rings[index].line),
                   "%s crosses or touches itself at (%.6g, %.6g); part the lines there in the drawing",
                   name_of(choice, index, name), mine.x_mm, mine.y_mm);
}

/* Which two rings meet at a place GEOS named? Crossings are looked for in pairs, so that both can be named. */
static enum tw_status check_pairs(struct choice *choice, const bool *is_hole, bool *told)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < choice->count; i++)
        for (size_t j = i + 1; j < choice->count && !*told; j++) {
            enum tw_status one = TW_OK;

            if ((is_hole[i] || i == choice->outer) && (is_hole[j] || j == choice->outer))
                one = tell_crossing(choice, i, j, told);
            if (one != TW_OK)
                status = one;
        }
    return status;
}

static enum tw_status diagnose(struct choice *choice, const bool *is_hole, const char *reason, struct tw_point at)
{
    struct tw_point mine = own(choice, at.x_mm, at.y_mm);
    enum tw_status status = TW_OK;
    bool told = false;

    for (size_t i = 0; i < choice->count; i++) {
        enum tw_status one = is_hole[i] || i == choice->outer ? check_alone(choice, i, &told) : TW_OK;

        if (one != TW_OK)
            status = one;
    }
    if (!told && status == TW_OK)
        status = check_pairs(choice, is_hole, &told);
    if (told || status != TW_OK)
        return status;
    return tw_fail(choice->findings, TW_BAD_INPUT, place_at(choice, 0),
                   "the outline is not sound at (%.6g, %.6g): %s; correct the drawing there", mine.x_mm, mine.y_mm,
                   reason);
}

/* One look at the whole polygon; only when it is unsound are the rings looked at one by one. */
static enum tw_status check_soundness(struct choice *choice, const bool *is_hole)
{
    struct tw_outline view = { .outer = choice->rings[choice->outer].ring };
    GEOSGeometry *polygon = NULL;
    struct tw_point at = choice->rings[choice->outer].ring.points[0];
    char reason[80] = "";
    int sound = 1;
    enum tw_status status;

    view.holes = calloc(choice->count, sizeof *view.holes);
    if (!view.holes)
        return tw_no_memory(choice->findings);
    for (size_t i = 0; i < choice->count; i++)
        if (is_hole[i])
            view.holes[view.hole_count++] = choice->rings[i].ring;
    status = tw_geos_from_outline(&choice->geos, &view, &polygon, choice->findings);
    if (status == TW_OK) {
        status = ask_geos(choice, polygon, &sound, reason, &at);
        GEOSGeom_destroy_r(choice->geos.context, polygon);
    }
    free(view.holes);
    return status == TW_OK && sound != 1 ? diagnose(choice, is_hole, reason, at) : status;
}

static enum tw_status check_spikes(struct choice *choice)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < choice->count; i++) {
        bool counts = !choice->dropped[i] && (choice->rings[i].picked || lies_inside(choice, i, choice->outer));
        enum tw_status one = counts ? find_spikes(choice, i) : TW_OK;

        if (one != TW_OK)
            status = one;
    }
    return status;
}

static enum tw_status choose(struct choice *choice, bool *is_hole, struct tw_outline *out)
{
    enum tw_status status;

    for (size_t i = 0; i < choice->count; i++)
        choice->boxes[i] = tw_ring_box(&choice->rings[i].ring);
    drop_doubles(choice);
    status = choose_outer(choice);
    if (status == TW_OK)
        status = check_scale(choice);
    if (status == TW_OK)
        status = check_spikes(choice);
    if (status == TW_OK)
        status = find_holes(choice, is_hole);
    if (status == TW_OK)
        status = check_soundness(choice, is_hole);
    if (status == TW_OK)
        tell_unpicked_holes(choice, is_hole);
    return status == TW_OK ? move_rings(choice, is_hole, out) : status;
}

enum tw_status tw_choose_rings(const struct tw_drawing *drawing, const struct tw_sketch *sketch,
                               struct tw_found_rings *rings, struct tw_outline *out, struct tw_findings *findings)
{
    struct choice choice = { .drawing = drawing,
                             .sketch = sketch,
                             .rings = rings->items,
                             .count = rings->count,
                             .outer = NONE,
                             .findings = findings };
    bool *is_hole = NULL;
    enum tw_status status = TW_OK;

    *out = (struct tw_outline){ 0 };
    if (drawing->pick) {
        remark_larger(&choice, rings);
        drop_outsiders(rings);
    }
    choice.count = rings->count;
    if (rings->count > MOST_RINGS)
        return tw_fail(findings, TW_BAD_INPUT, place_at(&choice, 0),
                       "the drawing holds %zu rings, but %d are the most an outline with its holes may have; "
                       "delete what is no outline",
                       rings->count, MOST_RINGS);
    choice.boxes = calloc(rings->count + 1, sizeof *choice.boxes);
    choice.dropped = calloc(rings->count + 1, sizeof *choice.dropped);
    choice.candidate = calloc(rings->count + 1, sizeof *choice.candidate);
    is_hole = calloc(rings->count + 1, sizeof *is_hole);
    if (!choice.boxes || !choice.dropped || !choice.candidate || !is_hole)
        status = tw_no_memory(findings);
    if (status == TW_OK)
        status = tw_geos_open(&choice.geos, findings);
    if (status == TW_OK)
        status = choose(&choice, is_hole, out);
    tw_geos_close(&choice.geos);
    free(choice.boxes);
    free(choice.dropped);
    free(choice.candidate);
    free(is_hole);
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}
