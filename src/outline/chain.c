/* chain.c - joining ends through a grid, nearest first, in the order of the drawing where distances tie. */
#include "outline/chain.h"

#include "base/memory.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define NONE           SIZE_MAX
#define MOST_OPEN_TOLD 5
#define SILENT_GAP_MM  1.0e-3 /* a micrometre is the rounding of the drawing, not a gap */

/* The ends of stroke i are 2 i (its first point) and 2 i + 1 (its last). */
struct pair {
    double gap_mm;
    size_t a, b;
};

struct chain {
    const struct tw_drawing *drawing;
    struct tw_sketch *sketch;
    struct tw_found_rings *out;
    struct tw_findings *findings;
    bool unpicked;             /* joins what the job did not pick */
    struct tw_stroke **pieces; /* the open strokes that count */
    size_t piece_count;
    double reach_mm, cell_mm; /* ends nearer than the reach are pairs; a cell is wider */
    size_t *heads, *next;     /* grid: ends of one cell form a list */
    size_t head_count;
    struct pair *pairs;
    size_t pair_count, pair_capacity;
    size_t *mates;
    bool *used; /* by piece */
    size_t dropped, gaps;
    double widest_mm;
    struct tw_point widest_at;
};

static struct tw_place place_at(const struct chain *chain, int line)
{
    return (struct tw_place){ .file = chain->drawing->path, .line = line };
}

static double distance_mm(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

static struct tw_point end_point(const struct chain *chain, size_t end)
{
    const struct tw_stroke *stroke = chain->pieces[end / 2];

    return stroke->points[end % 2 ? stroke->count - 1 : 0];
}

/* Points in one place become one. */
static void drop_repeated(struct tw_stroke *stroke)
{
    size_t kept = 0;

    for (size_t i = 0; i < stroke->count; i++)
        if (kept == 0 || distance_mm(stroke->points[kept - 1], stroke->points[i]) > TW_SAME_PLACE_MM)
            stroke->points[kept++] = stroke->points[i];
    stroke->count = kept;
}

static void close_where_ends_meet(struct tw_stroke *stroke)
{
    while (stroke->count > 1 && distance_mm(stroke->points[0], stroke->points[stroke->count - 1]) <= TW_SAME_PLACE_MM) {
        stroke->count--;
        stroke->closed = true;
    }
}

/* The ring takes the points over. */
static enum tw_status add_ring(struct chain *chain, struct tw_ring *ring, const struct tw_stroke *like)
{
    struct tw_found_rings *out = chain->out;
    struct tw_found_ring found = { *ring, like->line, like->label, like->picked, like->role };

    if (ring->count < 3) {
        struct tw_point own = tw_sketch_own(chain->sketch, ring->points[0]);

        if (!chain->unpicked)
            tw_remark(chain->findings, place_at(chain, like->line),
                      "a ring at (%.6g, %.6g) is left aside: with fewer than three points it encloses nothing",
                      own.x_mm, own.y_mm);
        free(ring->points);
        *ring = (struct tw_ring){ 0 };
        return TW_OK;
    }
    if (!tw_grow((void **)&out->items, &out->capacity, out->count + 1, sizeof *out->items)) {
        free(ring->points);
        *ring = (struct tw_ring){ 0 };
        return tw_no_memory(chain->findings);
    }
    out->items[out->count++] = found;
    *ring = (struct tw_ring){ 0 };
    return TW_OK;
}

static bool counts(const struct chain *chain, const struct tw_stroke *stroke)
{
    bool picked = !chain->drawing->pick || stroke->picked;

    return picked != chain->unpicked;
}

/* Hands closed strokes over at once and notes the open ones. */
static enum tw_status sort_strokes(struct chain *chain)
{
    struct tw_sketch *sketch = chain->sketch;

    chain->pieces = calloc(sketch->stroke_count + 1, sizeof *chain->pieces);
    if (!chain->pieces)
        return tw_no_memory(chain->findings);
    for (size_t i = 0; i < sketch->stroke_count; i++) {
        struct tw_stroke *stroke = &sketch->strokes[i];
        enum tw_status status = TW_OK;

        drop_repeated(stroke);
        close_where_ends_meet(stroke);
        if (!counts(chain, stroke) || (stroke->count < 2 && !stroke->closed))
            continue;
        if (stroke->closed) {
            struct tw_ring ring = { stroke->points, stroke->count };

            stroke->points = NULL;
            stroke->count = 0;
            if (ring.count >= 2)
                status = add_ring(chain, &ring, stroke);
            else
                free(ring.points); /* shrunk to nothing */
        } else {
            chain->pieces[chain->piece_count++] = stroke;
        }
        if (status != TW_OK)
            return status;
    }
    return TW_OK;
}

/* The slot of the cell a place lies in. */
static size_t slot_of(const struct chain *chain, double x_mm, double y_mm)
{
    uint64_t column = (uint64_t)(int64_t)floor(x_mm / chain->cell_mm),
             row = (uint64_t)(int64_t)floor(y_mm / chain->cell_mm);
    /* Any thorough mixing will do; it must be the same on every machine. */
    uint64_t mixed = (column * 0x9E3779B97F4A7C15u) ^ (row + 0x632BE59BD9B4E019u);

    mixed = (mixed ^ mixed >> 32) * 0xD6E8FEB86659FD93u;
    return (size_t)((mixed ^ mixed >> 32) & (chain->head_count - 1));
}

static enum tw_status make_room(struct chain *chain)
{
    size_t ends = 2 * chain->piece_count;

    chain->head_count = 16;
    while (chain->head_count < ends)
        chain->head_count *= 2;
    chain->heads = malloc(chain->head_count * sizeof *chain->heads);
    chain->next = malloc((ends + 1) * sizeof *chain->next);
    chain->mates = malloc((ends + 1) * sizeof *chain->mates);
    chain->used = calloc(chain->piece_count + 1, sizeof *chain->used);
    if (!chain->heads || !chain->next || !chain->mates || !chain->used)
        return tw_no_memory(chain->findings);
    for (size_t end = 0; end < ends; end++)
        chain->mates[end] = NONE;
    return TW_OK;
}

static bool is_open(const struct chain *chain, size_t end)
{
    return chain->mates[end] == NONE && !chain->used[end / 2];
}

/* Puts the ends that have no mate yet into cells. */
static void fill_grid(struct chain *chain, double reach_mm)
{
    chain->reach_mm = reach_mm;
    chain->cell_mm = 8.0 * reach_mm; /* so that most ends have to look into their own cell only */
    chain->pair_count = 0;
    for (size_t i = 0; i < chain->head_count; i++)
        chain->heads[i] = NONE;
    for (size_t end = 0; end < 2 * chain->piece_count; end++) {
        struct tw_point at = end_point(chain, end);
        size_t slot = slot_of(chain, at.x_mm, at.y_mm);

        if (!is_open(chain, end))
            continue;
        chain->next[end] = chain->heads[slot];
        chain->heads[slot] = end;
    }
}

static bool of_one_layer(const struct tw_stroke *a, const struct tw_stroke *b)
{
    return a->label && b->label ? strcmp(a->label, b->label) == 0 : a->label == b->label;
}

/* May these two ends be joined at all? A piece meets itself only when it is more than a dot. */
static bool may_join(const struct chain *chain, size_t a, size_t b)
{
    const struct tw_stroke *stroke = chain->pieces[a / 2];

    if (a / 2 != b / 2)
        return !chain->unpicked || !chain->sketch->by_layer || of_one_layer(stroke, chain->pieces[b / 2]);
    for (size_t i = 1; i + 1 < stroke->count; i++)
        if (distance_mm(stroke->points[0], stroke->points[i]) > 4.0 * chain->reach_mm)
            return true;
    return false;
}

static enum tw_status crowd_fault(struct chain *chain, size_t end)
{
    struct tw_point own = tw_sketch_own(chain->sketch, end_point(chain, end));

    return tw_fail(chain->findings, TW_BAD_INPUT, place_at(chain, chain->pieces[end / 2]->line),
                   "too many loose ends lie about (%.6g, %.6g) to be joined; clean the drawing there, or lower "
                   "outline.gap_tolerance",
                   own.x_mm, own.y_mm);
}

/* Pairs of `end` with later ends in one slot of the grid. */
static enum tw_status pair_in_slot(struct chain *chain, size_t end, size_t slot, size_t *looks)
{
    struct tw_point at = end_point(chain, end);

    for (size_t other = chain->heads[slot]; other != NONE; other = chain->next[other]) {
        struct tw_point there = end_point(chain, other);
        double gap_mm;

        if (--*looks == 0)
            return crowd_fault(chain, end);
        if (other <= end || fabs(there.x_mm - at.x_mm) > chain->reach_mm)
            continue;
        gap_mm = distance_mm(at, there);
        if (!(gap_mm <= chain->reach_mm) || !may_join(chain, end, other))
            continue;
        if (!tw_grow((void **)&chain->pairs, &chain->pair_capacity, chain->pair_count + 1, sizeof *chain->pairs))
            return tw_no_memory(chain->findings);
        chain->pairs[chain->pair_count++] = (struct pair){ gap_mm, end, other };
    }
    return TW_OK;
}

static bool is_among(const size_t *slots, size_t count, size_t slot)
{
    for (size_t i = 0; i < count; i++)
        if (slots[i] == slot)
            return true;
    return false;
}

static enum tw_status pair_end(struct chain *chain, size_t end, size_t *looks)
{
    struct tw_point at = end_point(chain, end);
    double reach_mm = chain->reach_mm;
    size_t slots[4] = { slot_of(chain, at.x_mm - reach_mm, at.y_mm - reach_mm),
                        slot_of(chain, at.x_mm + reach_mm, at.y_mm - reach_mm),
                        slot_of(chain, at.x_mm - reach_mm, at.y_mm + reach_mm),
                        slot_of(chain, at.x_mm + reach_mm, at.y_mm + reach_mm) };
    enum tw_status status = TW_OK;

    /* The four corners of the reach mostly lie in one cell; its ends must be met once. */
    for (size_t i = 0; i < 4 && status == TW_OK; i++)
        if (!is_among(slots, i, slots[i]))
            status = pair_in_slot(chain, end, slots[i], looks);
    return status;
}

static int compare_pairs(const void *left, const void *right)
{
    const struct pair *a = left, *b = right;

    if (a->gap_mm != b->gap_mm)
        return a->gap_mm < b->gap_mm ? -1 : 1;
    if (a->a != b->a)
        return a->a < b->a ? -1 : 1;
    return a->b < b->b ? -1 : a->b > b->b;
}

static enum tw_status find_pairs(struct chain *chain)
{
    size_t looks = 2000 * chain->piece_count + 1000000;
    enum tw_status status = TW_OK;

    for (size_t end = 0; end < 2 * chain->piece_count && status == TW_OK; end++)
        status = is_open(chain, end) ? pair_end(chain, end, &looks) : TW_OK;
    if (chain->pair_count > 0)
        qsort(chain->pairs, chain->pair_count, sizeof *chain->pairs, compare_pairs);
    return status;
}

/* Do two pieces run through the same points, the same way or the other? */
static bool same_piece(const struct tw_stroke *a, const struct tw_stroke *b, bool reversed)
{
    if (a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (distance_mm(a->points[i], b->points[reversed ? b->count - 1 - i : i]) > TW_SAME_PLACE_MM)
            return false;
    return true;
}

/* A piece drawn twice would look like a branching; the second one is dropped. */
static void drop_doubles(struct chain *chain)
{
    for (size_t i = 0; i < chain->pair_count && chain->pairs[i].gap_mm <= TW_SAME_PLACE_MM; i++) {
        size_t a = chain->pairs[i].a, b = chain->pairs[i].b;

        if (a / 2 == b / 2 || chain->used[a / 2] || chain->used[b / 2])
            continue;
        if (same_piece(chain->pieces[a / 2], chain->pieces[b / 2], a % 2 != b % 2)) {
            chain->used[b / 2] = true;
            chain->dropped++;
        }
    }
    if (chain->dropped > 0 && !chain->unpicked)
        tw_remark(chain->findings, place_at(chain, 0), "%zu lines are drawn twice and count once", chain->dropped);
}

static void mate_nearest_first(struct chain *chain)
{
    for (size_t i = 0; i < chain->pair_count; i++) {
        size_t a = chain->pairs[i].a, b = chain->pairs[i].b;

        if (chain->used[a / 2] || chain->used[b / 2] || chain->mates[a] != NONE || chain->mates[b] != NONE)
            continue;
        chain->mates[a] = b;
        chain->mates[b] = a;
    }
}

/* An end left over beside ends that are taken: there three or more meet. */
static enum tw_status find_branchings(struct chain *chain)
{
    enum tw_status status = TW_OK;
    size_t told = 0;

    for (size_t i = 0; i < chain->pair_count && told < MOST_OPEN_TOLD; i++) {
        size_t a = chain->pairs[i].a, b = chain->pairs[i].b;
        struct tw_point own;

        if (chain->used[a / 2] || chain->used[b / 2] || (chain->mates[a] == NONE) == (chain->mates[b] == NONE))
            continue;
        own = tw_sketch_own(chain->sketch, end_point(chain, chain->mates[a] == NONE ? a : b));
        status = tw_fail(chain->findings, TW_BAD_INPUT,
                         place_at(chain, chain->pieces[(chain->mates[a] == NONE ? a : b) / 2]->line),
                         "three or more lines meet at (%.6g, %.6g), but an outline does not branch; delete the line "
                         "that is no outline, or name the outline's own layer or id in outline.pick",
                         own.x_mm, own.y_mm);
        told++;
    }
    return status;
}

static bool append(struct tw_ring *ring, size_t *capacity, struct tw_point point)
{
    if (!tw_grow((void **)&ring->points, capacity, ring->count + 1, sizeof *ring->points))
        return false;
    ring->points[ring->count++] = point;
    return true;
}

/* Where two ends become one point; counts what was a gap. */
static struct tw_point join(struct chain *chain, struct tw_point a, struct tw_point b)
{
    double gap_mm = distance_mm(a, b);
    struct tw_point middle = { (a.x_mm + b.x_mm) / 2.0, (a.y_mm + b.y_mm) / 2.0 };

    if (gap_mm > SILENT_GAP_MM) {
        chain->gaps++;
        if (gap_mm > chain->widest_mm) {
            chain->widest_mm = gap_mm;
            chain->widest_at = middle;
        }
    }
    return gap_mm > TW_SAME_PLACE_MM ? middle : a;
}

/* Appends a piece, entered at `end`; its first point is joined to the ring's last. */
static bool append_piece(struct chain *chain, struct tw_ring *ring, size_t *capacity, size_t end)
{
    const struct tw_stroke *piece = chain->pieces[end / 2];
    size_t i = 0;

    if (ring->count > 0) {
        struct tw_point *last = &ring->points[ring->count - 1];

        *last = join(chain, *last, end_point(chain, end));
        i = 1;
    }
    for (; i < piece->count; i++)
        if (!append(ring, capacity, piece->points[end % 2 ? piece->count - 1 - i : i]))
            return false;
    return true;
}

/* Walks from piece to piece, entering the first at `start`. *closed tells whether it came back there. */
static enum tw_status follow(struct chain *chain, size_t start, struct tw_ring *ring, bool *closed)
{
    size_t end = start, capacity = 0;

    for (;;) {
        chain->used[end / 2] = true;
        if (!append_piece(chain, ring, &capacity, end))
            return tw_no_memory(chain->findings);
        end = chain->mates[end ^ 1];
        *closed = end == start;
        if (end == NONE || chain->used[end / 2])
            return TW_OK;
    }
}

static enum tw_status close_cycle(struct chain *chain, size_t start)
{
    struct tw_ring ring = { 0 };
    bool closed = false;
    enum tw_status status = follow(chain, start, &ring, &closed);

    if (status == TW_OK && closed && ring.count > 1) {
        ring.points[0] = join(chain, ring.points[0], ring.points[ring.count - 1]);
        ring.count--;
        status = add_ring(chain, &ring, chain->pieces[start / 2]);
    }
    free(ring.points);
    return status;
}

/* The nearest end that is open too, other than `end` itself; an open piece has two ends, so there is one. */
static size_t nearest_open_end(const struct chain *chain, size_t end)
{
    double nearest_mm = HUGE_VAL;
    size_t nearest = end;

    for (size_t other = 0; other < 2 * chain->piece_count; other++) {
        double gap_mm;

        if (other == end || !is_open(chain, other))
            continue;
        gap_mm = distance_mm(end_point(chain, end), end_point(chain, other));
        if (gap_mm < nearest_mm) {
            nearest_mm = gap_mm;
            nearest = other;
        }
    }
    return nearest;
}

#define LARGEST_GAP_MM 5.0 /* that outline.gap_tolerance may close */

static enum tw_status open_fault(struct chain *chain, size_t end, size_t other)
{
    struct tw_point a = end_point(chain, end), b = end_point(chain, other);
    struct tw_point own_a = tw_sketch_own(chain->sketch, a), own_b = tw_sketch_own(chain->sketch, b);

    if (distance_mm(a, b) > LARGEST_GAP_MM)
        return tw_fail(
            chain->findings, TW_BAD_INPUT, place_at(chain, chain->pieces[end / 2]->line),
            "a line is open: it ends at (%.6g, %.6g), and the nearest other end is (%.6g, %.6g), %.4g mm away; "
            "if it is part of the outline, close it; if it is a centre line or another that is no edge, delete it, "
            "or name the outline's layer or id with outline.pick",
            own_a.x_mm, own_a.y_mm, own_b.x_mm, own_b.y_mm, distance_mm(a, b));
    return tw_fail(
        chain->findings, TW_BAD_INPUT, place_at(chain, chain->pieces[end / 2]->line),
        "the ring is open: it ends at (%.6g, %.6g), and the nearest other end is (%.6g, %.6g), %.4g mm away; "
        "close it in the drawing, or if this is a mere gap set outline.gap_tolerance above it (now %.4g mm)",
        own_a.x_mm, own_a.y_mm, own_b.x_mm, own_b.y_mm, distance_mm(a, b), chain->drawing->gap_tolerance_mm);
}

/* Tells each open place once, though two ends belong to it. */
static enum tw_status tell_open_ends(struct chain *chain)
{
    enum tw_status status = TW_OK;
    size_t told = 0, open = 0, others[MOST_OPEN_TOLD];

    for (size_t end = 0; end < 2 * chain->piece_count; end++)
        open += is_open(chain, end);
    for (size_t end = 0; end < 2 * chain->piece_count && told < MOST_OPEN_TOLD; end++) {
        if (!is_open(chain, end) || is_among(others, told, end))
            continue;
        others[told] = nearest_open_end(chain, end);
        status = open_fault(chain, end, others[told]);
        told++;
    }
    if (open > 2 * MOST_OPEN_TOLD)
        tw_remark(chain->findings, place_at(chain, 0), "the drawing has %zu open ends in all", open);
    return status;
}

static enum tw_status close_all(struct chain *chain)
{
    enum tw_status status = TW_OK;

    for (size_t piece = 0; piece < chain->piece_count && status == TW_OK; piece++)
        if (!chain->used[piece])
            status = close_cycle(chain, 2 * piece);
    return status;
}

static void tell_gaps(struct chain *chain)
{
    struct tw_point own = tw_sketch_own(chain->sketch, chain->widest_at);

    if (chain->gaps > 0 && !chain->unpicked)
        tw_remark(chain->findings, place_at(chain, 0), "%zu %s closed; the widest, %.4g mm, at (%.6g, %.6g)",
                  chain->gaps, chain->gaps == 1 ? "gap was" : "gaps were", chain->widest_mm, own.x_mm, own.y_mm);
}

/* First what meets, then what nearly meets: a chain of pieces shorter than the gap tolerance would otherwise
 * have every end near many others. */
static enum tw_status mate_ends(struct chain *chain)
{
    double gap_mm = chain->drawing->gap_tolerance_mm;
    double meeting_mm = fmax(TW_SAME_PLACE_MM, fmin(SILENT_GAP_MM, gap_mm));
    enum tw_status status;

    fill_grid(chain, meeting_mm);
    status = find_pairs(chain);
    if (status != TW_OK)
        return status;
    drop_doubles(chain);
    mate_nearest_first(chain);
    status = chain->unpicked ? TW_OK : find_branchings(chain);
    if (status != TW_OK || gap_mm <= meeting_mm)
        return status;
    fill_grid(chain, gap_mm);
    status = find_pairs(chain);
    if (status == TW_OK)
        mate_nearest_first(chain);
    return status;
}

static enum tw_status join_pieces(struct chain *chain)
{
    enum tw_status status = make_room(chain);

    if (status == TW_OK)
        status = mate_ends(chain);
    if (status == TW_OK && !chain->unpicked)
        status = tell_open_ends(chain);
    if (status == TW_OK)
        status = close_all(chain);
    if (status == TW_OK)
        tell_gaps(chain);
    return status;
}

static enum tw_status chain_strokes(const struct tw_drawing *drawing, struct tw_sketch *sketch, bool unpicked,
                                    struct tw_found_rings *out, struct tw_findings *findings)
{
    struct chain chain = {
        .drawing = drawing, .sketch = sketch, .out = out, .findings = findings, .unpicked = unpicked
    };
    enum tw_status status = sort_strokes(&chain);

    if (status == TW_OK && chain.piece_count > 0)
        status = join_pieces(&chain);
    free(chain.pieces);
    free(chain.heads);
    free(chain.next);
    free(chain.mates);
    free(chain.used);
    free(chain.pairs);
    return status;
}

enum tw_status tw_chain(const struct tw_drawing *drawing, struct tw_sketch *sketch, struct tw_found_rings *out,
                        struct tw_findings *findings)
{
    enum tw_status status = chain_strokes(drawing, sketch, false, out, findings);

    if (status == TW_OK && drawing->pick)
        status = chain_strokes(drawing, sketch, true, out, findings);
    return status;
}

void tw_found_rings_free(struct tw_found_rings *rings)
{
    for (size_t i = 0; i < rings->count; i++)
        free(rings->items[i].ring.points);
    free(rings->items);
    *rings = (struct tw_found_rings){ 0 };
}
