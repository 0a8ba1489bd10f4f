/* setups.c - the part on its fixture: from above, and below it from the side, both with the same scale along. */
#include "sheet/sheet.h"

#include "geometry/ring.h"
#include "tangwright/warm.h"
#include "tangwright/contacts.h"
#include "tangwright/packing.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define AROUND_MM 12.0
/* Of a longer blade only this much is drawn where the fixture does not reach farther. */
#define BLADE_MM 60.0
/* What is no wider than this is drawn whole; longer strips and bars are cut off. */
#define SMALL_MM 60.0
#define EDGE_PX  10.0
/* A height is drawn so much larger that a blank comes out at least this thick. */
#define THICK_PX 22.0
/* What stands higher than this above the blank is cut off. */
#define STICKS_OUT_PX 30.0
#define PLATE_PX      36.0 /* from the pad's plane down to the plate */
#define ROLL_PX       7.0
#define ABOVE_PX      22.0 /* for labels */
#define AXIS_PX       26.0 /* an arrow across */
/* Packed as the program before it. */
#define SAME_PACKING_MM 1e-6

struct view {
    const struct sheet_side *side;
    double from_x, to_x, from_y, to_y;  /* mm, as far as is drawn */
    double top_z;                       /* highest thing */
    double highest_z;                   /* as far as is drawn from the side */
    double plan_px, middle_px, side_px; /* heights of the two views, and what is between them */
};

/* ---- which programs lie alike ---- */

static bool lie_alike(const struct page *page, const struct tw_setup_plan *a, const struct tw_setup_plan *b)
{
    if (a->face.side != b->face.side || a->face.tilt_rad != b->face.tilt_rad)
        return false;
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        double x_mm = page_gauge_x_mm(page, i);

        if (fabs(tw_setup_packing_mm(page->job, a, x_mm) - tw_setup_packing_mm(page->job, b, x_mm)) > SAME_PACKING_MM)
            return false;
    }
    return true;
}

const struct sheet_side *page_lies_as(const struct page *page, size_t side)
{
    size_t first = 0;

    while (first < side && !lie_alike(page, page->sides[first].setup, page->sides[side].setup))
        first++;
    return &page->sides[first];
}

/* The first program with the same side up and as much tilt: one drawing serves them all, whatever lies under the tang. */
static const struct sheet_side *drawn_as(const struct page *page, const struct sheet_side *side)
{
    const struct sheet_side *as = page->sides;

    while (as < side && (as->setup->face.side != side->setup->face.side || !page_tilts_as(as, side)))
        as++;
    return as;
}

/* ---- what is drawn ---- */

static void widen_y(struct view *view, struct tw_box box)
{
    view->from_y = fmin(view->from_y, box.min_y_mm);
    view->to_y = fmax(view->to_y, box.max_y_mm);
}

static struct view view_of(const struct page *page, const struct sheet_side *side)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    struct tw_box tang = tw_ring_box(&side->tang.outer);
    struct view view = { .side = side,
                         .from_x = -BLADE_MM,
                         .to_x = tang.max_x_mm,
                         .from_y = tang.min_y_mm,
                         .to_y = tang.max_y_mm,
                         .top_z = page->job->taper.ricasso_mm };

    if (side->blade.outer.count > 0)
        widen_y(&view, tw_ring_box(&side->blade.outer));
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        struct tw_box box = tw_ring_box(&fixture->keep_outs[i].plan);

        view.from_x = fmin(view.from_x, fmax(box.min_x_mm, -170.0));
        view.to_x = fmax(view.to_x, fmin(box.max_x_mm, tang.max_x_mm + 60.0));
        if (box.max_y_mm - box.min_y_mm <= SMALL_MM)
            widen_y(&view, box);
        view.top_z = fmax(view.top_z, fixture->keep_outs[i].top_mm);
    }
    view.from_x -= AROUND_MM;
    view.to_x += AROUND_MM;
    view.from_y -= AROUND_MM;
    view.to_y += AROUND_MM;
    return view;
}

/* And room above the zero for the arrow across. */
static void set_scale(struct canvas *canvas, struct view *view)
{
    double width_mm = view->to_x - view->from_x, room = canvas->width - 2.0 * EDGE_PX;

    canvas->scale = canvas->narrow ? room / width_mm : canvas_standard_scale(width_mm, room);
    canvas->left = (canvas->width - width_mm * canvas->scale) / 2.0;
    canvas->x0_mm = view->from_x;
    view->to_y = fmax(view->to_y, (AXIS_PX + canvas_line_px(canvas)) / canvas->scale);
}

static double stretch_of(const struct page *page, const struct canvas *canvas)
{
    static const double stretches[] = { 1.0, 2.0, 5.0, 10.0, 20.0 };
    double thick_px = page->job->taper.ricasso_mm * canvas->scale;

    for (size_t i = 0; i < sizeof stretches / sizeof *stretches; i++)
        if (thick_px * stretches[i] >= THICK_PX)
            return stretches[i];
    return 50.0;
}

/* ---- from above ---- */

const char *keep_out_class(enum tw_keep_out_kind kind)
{
    static const char *const classes[] = { [TW_KEEP_OUT_CLAMP] = "clamp",
                                           [TW_KEEP_OUT_PIN] = "pin",
                                           [TW_KEEP_OUT_PAD] = "pad",
                                           [TW_KEEP_OUT_BODY] = "clamp" };

    return classes[kind];
}

static void draw_axes(const struct page *page, struct canvas *canvas)
{
    const struct tw_machine *machine = &page->job->machine;
    double x = canvas_x(canvas, 0.0), y = canvas_y(canvas, 0.0);

    canvas_zero(canvas, x, y);
    canvas_line(canvas, "zero", x, y, x + 44.0, y);
    canvas_arrow(canvas, x + 44.0, y, 1.0, 0.0);
    canvas_text(canvas, "halo", CANVAS_START, x + 47.0, y + 4.0, "%c%c", machine->along.sign < 0 ? '-' : '+',
                machine->along.letter);
    canvas_line(canvas, "zero", x, y, x, y - AXIS_PX);
    canvas_arrow(canvas, x, y - AXIS_PX, 0.0, -1.0);
    canvas_text(canvas, "halo", CANVAS_START, x + 5.0, y - AXIS_PX + 4.0, "%c%c", machine->across.sign < 0 ? '-' : '+',
                machine->across.letter);
}

/* A stop that is taken out for this side is not drawn, and keeps its number; nor one that lies farther ahead than is
 * drawn of the blade. */
static bool lies_in_view(const struct view *view, const struct tw_keep_out *keep_out)
{
    return tw_ring_box(&keep_out->plan).max_x_mm > view->from_x;
}

static bool is_drawn(const struct view *view, const struct tw_keep_out *keep_out)
{
    return tw_keep_out_in_place(keep_out, view->side->setup->face.side) && lies_in_view(view, keep_out);
}

static void draw_keep_outs(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_fixture *fixture = &page->job->fixture;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        if (!is_drawn(view, &fixture->keep_outs[i]))
            continue;
        canvas_path_open(canvas, keep_out_class(fixture->keep_outs[i].kind));
        canvas_path_ring(canvas, &fixture->keep_outs[i].plan);
        canvas_path_close(canvas);
    }
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        struct tw_box box = tw_ring_box(&fixture->keep_outs[i].plan);
        double x_mm = (fmax(box.min_x_mm, view->from_x) + fmin(box.max_x_mm, view->to_x)) / 2.0;
        double y_mm = fmin(fmax(box.max_y_mm, view->from_y), view->to_y);
        double low_mm = fmax(box.min_y_mm, view->from_y);
        double tall_px = (y_mm - low_mm) * canvas->scale;

        if (!is_drawn(view, &fixture->keep_outs[i]))
            continue;
        /* In the upper end of a long one, beside a small one. */
        if (tall_px >= 22.0)
            canvas_balloon(canvas, canvas_x(canvas, x_mm), canvas_y(canvas, y_mm) + 12.0, i + 1);
        else
            canvas_balloon(canvas, canvas_x(canvas, box.max_x_mm) + 12.0, canvas_y(canvas, (y_mm + low_mm) / 2.0) + 6.0,
                           i + 1);
    }
}

static void draw_hollow(struct canvas *canvas, const struct sheet_side *side)
{
    for (size_t i = 0; i < side->hollow.count; i++)
        canvas_outline(canvas, "cut", &side->hollow.pieces[i]);
}

static void draw_plan(const struct page *page, struct canvas *canvas, const struct view *view)
{
    double butt_mm = view->side->setup->face.start_mm + tw_tang_end_mm(page->job) * view->side->setup->face.stretch;
    char label[48];

    canvas_frame_open(canvas, canvas->top, view->plan_px);
    canvas_outline(canvas, "blade", &view->side->blade);
    canvas_outline(canvas, "steel", &view->side->tang);
    for (size_t i = 0; i < page->side_count; i++)
        if (drawn_as(page, &page->sides[i]) == view->side)
            draw_hollow(canvas, &page->sides[i]);
    draw_keep_outs(page, canvas, view);
    draw_axes(page, canvas);
    canvas_frame_close(canvas);
    if (page->inch)
        snprintf(label, sizeof label, "%.2f in", tw_tang_end_mm(page->job) / 25.4);
    else
        snprintf(label, sizeof label, "%.1f mm", tw_tang_end_mm(page->job));
    canvas_dimension_across(canvas, canvas_x(canvas, view->side->setup->face.start_mm), canvas_x(canvas, butt_mm),
                            canvas->top + view->plan_px + 16.0, canvas->top + view->plan_px - 6.0, label);
}

/* ---- from the side ---- */

/* Heights in the setup frame: of what the part lies on, its underside, its upper side, and the face to be ground. */
static double support_mm(const struct tw_face *face, double x_mm)
{
    return x_mm * tan(face->tilt_rad);
}

static double part_x_mm(const struct tw_face *face, double x_mm)
{
    return (x_mm - face->start_mm) / face->stretch;
}

static double under_mm(const struct page *page, const struct tw_setup_plan *setup, double x_mm)
{
    const struct tw_face *face = &setup->face;
    double gap_mm = x_mm > face->start_mm ? tw_setup_packing_mm(page->job, setup, part_x_mm(face, x_mm)) : 0.0;

    return support_mm(face, x_mm) + gap_mm / cos(face->tilt_rad);
}

static double upper_mm(const struct page *page, const struct tw_setup_plan *setup, double x_mm)
{
    const struct tw_face *face = &setup->face;

    if (face->raw && x_mm > face->start_mm)
        return tw_face_top_mm(face, x_mm);
    return support_mm(face, x_mm) + page->job->taper.ricasso_mm / cos(face->tilt_rad);
}

static void polygon(struct canvas *canvas, const char *class, const double (*points_mm)[2], size_t count)
{
    canvas_path_open(canvas, class);
    for (size_t i = 0; i < count; i++)
        canvas_path_to(canvas, i > 0, points_mm[i][0], points_mm[i][1]);
    tw_text_print(canvas->out, "z");
    canvas_path_close(canvas);
}

/* Between two lines over x: there along the one, back along the other. */
typedef double (*height_line)(const struct page *page, const struct tw_setup_plan *setup, double x_mm);

enum { PIECES = 24 };

static void draw_between(const struct page *page, struct canvas *canvas, const struct tw_setup_plan *setup,
                         const char *class, height_line upper, height_line lower, double from_mm, double to_mm)
{
    double points[2 * (PIECES + 1)][2];

    for (int i = 0; i <= PIECES; i++) {
        double x_mm = from_mm + (to_mm - from_mm) * i / PIECES;

        points[i][0] = points[2 * PIECES + 1 - i][0] = x_mm;
        points[i][1] = upper(page, setup, x_mm);
        points[2 * PIECES + 1 - i][1] = lower(page, setup, x_mm);
    }
    polygon(canvas, class, (const double(*)[2])points, 2 * (PIECES + 1));
}

static double plate_line(const struct page *page, const struct tw_setup_plan *setup, double x_mm)
{
    (void)page;
    return support_mm(&setup->face, x_mm);
}

/* Where nothing comes off, the face lies above the blank. */
static double finished_line(const struct page *page, const struct tw_setup_plan *setup, double x_mm)
{
    return fmin(tw_face_height_mm(&setup->face, x_mm), upper_mm(page, setup, x_mm));
}

static double pad_end_mm(const struct page *page)
{
    double end_mm = -HUGE_VAL;

    for (size_t i = 0; i < page->job->fixture.keep_out_count; i++)
        if (page->job->fixture.keep_outs[i].kind == TW_KEEP_OUT_PAD)
            end_mm = fmax(end_mm, tw_ring_box(&page->job->fixture.keep_outs[i].plan).max_x_mm);
    return end_mm;
}

/* What the tang lies on, level with the pad; the packing comes between. */
static void draw_rest(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_face *face = &view->side->setup->face;
    double from = fmax(face->start_mm, pad_end_mm(page)), to = tw_ring_box(&view->side->tang.outer).max_x_mm;
    double left = canvas_x(canvas, from), right = canvas_x(canvas, to);
    double y_left = canvas_y(canvas, support_mm(face, from)), y_right = canvas_y(canvas, support_mm(face, to));

    if (from >= to)
        return;
    tw_text_print(canvas->out, "<path class=\"plate\" d=\"M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fz\"/>\n", left,
                  y_left, right, y_right, right, y_right + PLATE_PX, left, y_left + PLATE_PX);
}

/* What one program takes off: from the taper start on, or in the relief's region. */
static void draw_cut(const struct page *page, struct canvas *canvas, const struct sheet_side *side)
{
    if (side->setup->scope != TW_SCOPE_RELIEF)
        draw_between(page, canvas, side->setup, "cut", upper_mm, finished_line, side->setup->face.start_mm,
                     tw_ring_box(&side->tang.outer).max_x_mm);
    for (size_t i = 0; i < side->hollow.count; i++) {
        struct tw_box box = tw_ring_box(&side->hollow.pieces[i].outer);

        draw_between(page, canvas, side->setup, "cut", upper_mm, finished_line, box.min_x_mm, box.max_x_mm);
    }
}

static void draw_blank(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_face *face = &view->side->setup->face;
    double start = face->start_mm, end = tw_ring_box(&view->side->tang.outer).max_x_mm, from = view->from_x + AROUND_MM;

    if (view->side->blade.outer.count == 0)
        from = fmin(start, 0.0);
    draw_between(page, canvas, view->side->setup, "blade", upper_mm, under_mm, from, start);
    draw_between(page, canvas, view->side->setup, "steel", upper_mm, under_mm, start, end);
    for (size_t i = 0; i < page->side_count; i++)
        if (drawn_as(page, &page->sides[i]) == view->side)
            draw_cut(page, canvas, &page->sides[i]);
    if (fabs(tw_setup_packing_mm(page->job, view->side->setup, tw_tang_end_mm(page->job))) > 0.005)
        draw_between(page, canvas, view->side->setup, "packing", under_mm, plate_line, start, end);
}

/* The mark of something that goes on. */
static void draw_break(struct canvas *canvas, double from, double to, double y)
{
    double step = fmin(6.0, (to - from) / 2.0);

    tw_text_print(canvas->out, "<path class=\"break\" d=\"M%.1f %.1f", from - 3.0, y);
    for (int i = 0; from + i * step < to + 3.0; i++)
        tw_text_print(canvas->out, "L%.1f %.1f", from + i * step, y + (i % 2 ? 3.0 : -3.0));
    canvas_path_close(canvas);
}

static void draw_keep_outs_from_side(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    const struct tw_face *face = &view->side->setup->face;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *keep_out = &fixture->keep_outs[i];
        struct tw_box box = tw_ring_box(&keep_out->plan);
        double x = canvas_x(canvas, fmax(box.min_x_mm, view->from_x)),
               to = canvas_x(canvas, fmin(box.max_x_mm, view->to_x));
        double plate = canvas_y(canvas, support_mm(face, (box.min_x_mm + box.max_x_mm) / 2.0)) + PLATE_PX;

        double top = canvas_y(canvas, fmin(keep_out->top_mm, view->highest_z));

        if (!is_drawn(view, keep_out))
            continue;
        canvas_box(canvas, keep_out_class(keep_out->kind), x, top, to - x, plate - top);
        if (keep_out->top_mm > view->highest_z)
            draw_break(canvas, x, to, top);
    }
}

/* A plate under everything, on rolls and a stack when tilted. Not to scale below the pad. */
static void draw_plate(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_face *face = &view->side->setup->face;
    double left = canvas_x(canvas, view->from_x), right = canvas_x(canvas, view->to_x);
    double y_left = canvas_y(canvas, support_mm(face, view->from_x)) + PLATE_PX;
    double y_right = canvas_y(canvas, support_mm(face, view->to_x)) + PLATE_PX;
    double table = y_left + 9.0 + 2.0 * ROLL_PX, roll = right - 26.0, rise_mm;

    tw_text_print(canvas->out, "<path class=\"plate\" d=\"M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fz\"/>\n", left,
                  y_left, right, y_right, right, y_right + 9.0, left, y_left + 9.0);
    if (face->mount == TW_MOUNT_LEVEL)
        return;
    rise_mm = tw_face_rise_mm(face, page->job->fixture.sine_bar_mm);
    canvas_circle(canvas, "pin", left + 16.0, y_left + 9.0 + ROLL_PX, ROLL_PX);
    canvas_circle(canvas, "pin", roll, y_right + 9.0 + ROLL_PX + 0.5, ROLL_PX);
    canvas_box(canvas, "stack", roll - 16.0, y_right + 9.5 + 2.0 * ROLL_PX, 32.0,
               table - y_right - 9.5 - 2.0 * ROLL_PX);
    canvas_line(canvas, "axis", left, table, right, table);
    if (page->inch)
        canvas_text(canvas, "halo", CANVAS_END, roll - 22.0, table - 5.0, "stack %.4f in", rise_mm / 25.4);
    else
        canvas_text(canvas, "halo", CANVAS_END, roll - 22.0, table - 5.0, "stack %.3f mm", rise_mm);
}

#define ZERO_LABEL_PX 17.0 /* below the zero */

static void length_label(const struct page *page, char *out, size_t size, double mm)
{
    if (page->inch)
        snprintf(out, size, "%.4f in", mm / 25.4);
    else
        snprintf(out, size, "%.2f mm", mm);
}

/* At its end; in two lines where the zero's own label is in the way of one. */
static void draw_packing_label(const struct page *page, struct canvas *canvas, const struct view *view, double end_mm)
{
    double packing_mm = tw_setup_packing_mm(page->job, view->side->setup, tw_tang_end_mm(page->job));
    double x = canvas_x(canvas, end_mm) - 4.0,
           y = canvas_y(canvas, support_mm(&view->side->setup->face, end_mm)) + 15.0;
    char label[48], words[64];

    if (fabs(packing_mm) < 0.005)
        return;
    length_label(page, label, sizeof label, packing_mm);
    snprintf(words, sizeof words, "packing %s", label);
    if (x - canvas_label_px(canvas, "", words) >= canvas_x(canvas, 0.0) + CANVAS_LABEL_GAP_PX) {
        canvas_words(canvas, "halo", CANVAS_END, x, y, words);
        return;
    }
    canvas_words(canvas, "halo", CANVAS_END, x, y, "packing");
    canvas_words(canvas, "halo", CANVAS_END, x, y + canvas_line_px(canvas), label);
}

static void draw_heights(const struct page *page, struct canvas *canvas, const struct view *view)
{
    const struct tw_face *face = &view->side->setup->face;
    double end = tw_ring_box(&view->side->tang.outer).max_x_mm, at = -10.0, upper, lower;
    char label[48];

    length_label(page, label, sizeof label, page->job->taper.ricasso_mm);
    upper = canvas_y(canvas, upper_mm(page, view->side->setup, at));
    lower = canvas_y(canvas, support_mm(face, at));
    canvas_dimension_up(canvas, canvas_x(canvas, at), upper, lower, canvas_x(canvas, at) - 6.0, "");
    canvas_words(canvas, "halo", CANVAS_START, fmax(canvas_x(canvas, 0.0), canvas_x(canvas, face->start_mm)) + 5.0,
                 (upper + lower) / 2.0 + 4.0, label); /* clear of the line at the taper start */
    canvas_words(canvas, "halo", CANVAS_END, canvas_x(canvas, end),
                 canvas_y(canvas, upper_mm(page, view->side->setup, end)) - 6.0, "taken off");
    draw_packing_label(page, canvas, view, end);
    canvas_zero(canvas, canvas_x(canvas, 0.0), canvas_y(canvas, 0.0));
    canvas_text(canvas, "halo", CANVAS_END, canvas_x(canvas, 0.0) - 5.0, canvas_y(canvas, 0.0) + ZERO_LABEL_PX, "%c 0",
                page->job->machine.up.letter);
}

static void draw_side_view(const struct page *page, struct canvas *canvas, const struct view *view)
{
    canvas_frame_open(canvas, canvas->top - ABOVE_PX, view->side_px + ABOVE_PX);
    draw_plate(page, canvas, view);
    draw_rest(page, canvas, view);
    draw_blank(page, canvas, view);
    draw_keep_outs_from_side(page, canvas, view);
    draw_heights(page, canvas, view);
    canvas_frame_close(canvas);
}

/* ---- both ---- */

static double highest_of_blank(const struct page *page, const struct sheet_side *side)
{
    double from_mm = side->setup->face.start_mm, to_mm = tw_ring_box(&side->tang.outer).max_x_mm, highest_mm = 0.0;

    for (int i = 0; i <= PIECES; i++)
        highest_mm = fmax(highest_mm, upper_mm(page, side->setup, from_mm + (to_mm - from_mm) * i / PIECES));
    return highest_mm;
}

static void draw_setup(struct page *page, struct canvas *canvas, const void *what)
{
    const struct sheet_side *side = what;
    struct view view = view_of(page, side);
    double stretch, foot_px;

    set_scale(canvas, &view);
    stretch = stretch_of(page, canvas);
    view.plan_px = (view.to_y - view.from_y) * canvas->scale;
    view.middle_px = 56.0;
    view.top_z = fmax(view.top_z, highest_of_blank(page, side)); /* tilted, its butt stands highest */
    view.highest_z =
        fmin(view.top_z, (upper_mm(page, side->setup, view.to_x) * canvas->scale * stretch + STICKS_OUT_PX) /
                             (canvas->scale * stretch));
    foot_px = PLATE_PX + 16.0 + 2.0 * ROLL_PX +
              (view.to_x - view.from_x) * tan(side->setup->face.tilt_rad) * canvas->scale * stretch;
    view.side_px = view.highest_z * canvas->scale * stretch + foot_px;
    canvas_begin(
        canvas, 20.0 + view.plan_px + view.middle_px + view.side_px + 24.0,
        "The blade and tang from above with what holds them, and below the same from the side, heights exaggerated.");
    canvas_text(canvas, "", CANVAS_START, EDGE_PX, 13.0, "from above");
    canvas->top = 20.0;
    canvas->y0_mm = view.to_y;
    draw_plan(page, canvas, &view);
    canvas->top = 20.0 + view.plan_px + view.middle_px;
    canvas->y0_mm = view.highest_z;
    canvas->stretch = stretch;
    canvas_text(canvas, "", CANVAS_START, EDGE_PX, canvas->top - ABOVE_PX - 4.0,
                stretch > 1.0 ? "from the side, heights \u00d7 %g" : "from the side", stretch);
    draw_side_view(page, canvas, &view);
    canvas_end_to_scale(canvas, EDGE_PX, 8.0);
}

/* Whether a program is packed otherwise than is drawn for it. */
static bool is_packed_otherwise(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (!lie_alike(page, drawn_as(page, &page->sides[i])->setup, page->sides[i].setup))
            return true;
    return false;
}

static enum tw_status write_setup(struct page *page, const struct sheet_side *side)
{
    enum tw_side up = side->setup->face.side;
    struct tw_text caption = { 0 };
    char id[48], title[64];
    enum tw_status status;

    snprintf(id, sizeof id, "setup-%s", side->id);
    snprintf(title, sizeof title, up == TW_SIDE_A ? "Side A up" : "Side B up, rolled over about its length");
    tw_text_print(&caption, "Now ");
    sheet_write_across(page, &caption, up);
    tw_text_print(&caption, ".");
    status = sheet_write_holders(page, &caption, up, view_of(page, side).from_x);
    if (status == TW_OK && caption.failed)
        status = tw_no_memory(page->findings);
    if (status == TW_OK)
        page_figure(page, id, title, caption.data, draw_setup, side);
    tw_text_free(&caption);
    return status;
}

static void write_note(struct page *page)
{
    bool tilted = page->job->mount == TW_MOUNT_TILTED;

    tw_text_print(
        &page->out,
        "<p class=\"note\">Stops: where they touch, in %s along and across from the zero. Shaded with a dashed edge: "
        "what comes off%s. %s%s</p>\n",
        page->inch ? "inches" : "mm", tilted ? ", until the face is level" : "",
        tilted ? "Rest, plate, rolls and stack are not to scale." : "Rest and plate are not to scale.",
        is_packed_otherwise(page) ? " Packing as for the first program with that side up." : "");
}

enum tw_status section_setups(struct page *page)
{
    enum tw_status status = TW_OK;

    if (page->job->parts > 1) {
        write_parts(page);
        sheet_write_zeros(page);
    }
    for (size_t i = 0; status == TW_OK && i < page->side_count; i++)
        if (drawn_as(page, &page->sides[i]) == &page->sides[i])
            status = write_setup(page, &page->sides[i]);
    write_note(page);
    return status;
}
