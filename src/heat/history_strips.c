/* history_strips.c - where the wheel heats the plate: the strips of a piece of a pass, and how hot it is under them. */
#include "heat/history_parts.h"

#include "tangwright/rim.h"

#include <math.h>

/* How the motion runs: along x or along y, forwards or backwards. */
struct heading {
    bool along_y;
    double way; /* +1 or -1 along that axis */
};

static struct heading heading_of(const struct tw_history_piece *piece)
{
    double dx = piece->to_mm[0] - piece->from_mm[0], dy = piece->to_mm[1] - piece->from_mm[1];
    struct heading heading = { fabs(dy) > fabs(dx), 1.0 };

    heading.way = (heading.along_y ? dy : dx) < 0.0 ? -1.0 : 1.0;
    return heading;
}

/* Where, ahead of the programmed point, the wheel touches at this distance beside it. A trailing rim cuts with its inner
 * edge. */
static double contact_offset_mm(const struct tw_history *history, const struct heading *heading, bool trails,
                                double beside_mm)
{
    const struct tw_wheel *wheel = history->wheel.wheel;
    bool inner = trails && !history->wheel.level_cup;
    double radius_mm = wheel->diameter_mm / 2.0 - (inner ? wheel->rim_width_mm : 0.0);
    double arc_mm = sqrt(fmax(0.0, radius_mm * radius_mm - beside_mm * beside_mm));

    if (wheel->kind == TW_WHEEL_DISC)
        return heading->along_y ? 0.0 : -history->wheel.shift_mm;
    if (history->wheel.level_cup)
        return heading->along_y ? 0.0 : -arc_mm;                   /* the uphill edge, whichever way it goes */
    return inner ? -heading->way * arc_mm : heading->way * arc_mm; /* else the leading edge */
}

static void set_band(const struct heading *heading, double at_mm, double contact_mm, double low_mm, double high_mm,
                     double speed, struct tw_plate_band *band)
{
    double half = contact_mm / 2.0;

    if (heading->along_y) {
        band->from_y_mm = at_mm - half;
        band->to_y_mm = at_mm + half;
        band->from_x_mm = low_mm;
        band->to_x_mm = high_mm;
        band->y_mm_per_s = heading->way * speed;
    } else {
        band->from_x_mm = at_mm - half;
        band->to_x_mm = at_mm + half;
        band->from_y_mm = low_mm;
        band->to_y_mm = high_mm;
        band->x_mm_per_s = heading->way * speed;
    }
}

int tw_history_way(const struct tw_history_piece *piece)
{
    double dx_mm = piece->to_mm[0] - piece->from_mm[0], dy_mm = piece->to_mm[1] - piece->from_mm[1];

    return fabs(dy_mm) > fabs(dx_mm) ? 0 : dx_mm < 0.0 ? -1 : 1;
}

double tw_strips_contact_mm(const struct tw_history *history, const struct tw_history_piece *piece, double depth_mm)
{
    const struct tw_wheel *wheel = history->wheel.wheel;
    double lean = history->wheel.lean;
    int way = tw_history_way(piece);

    if (wheel->kind == TW_WHEEL_DISC)
        return tw_disc_contact_mm(depth_mm, wheel);
    /* Across the lean one side of the rim is as good as the other, and neither is eased. */
    return tw_cup_contact_mm(wheel, way == 0 ? -fabs(lean) : way * lean, depth_mm);
}

void tw_strips_place(const struct tw_history *history, const struct tw_history_piece *piece, double contact_mm,
                     double duration_s, struct tw_history_strips *out)
{
    struct heading heading = heading_of(piece);
    double width_mm, start_mm = piece->from_mm[heading.along_y], centre_mm = piece->from_mm[!heading.along_y];

    out->count = history->wheel.wheel->kind == TW_WHEEL_CUP ? STRIPS : 1;
    width_mm = (piece->high_mm - piece->low_mm) / out->count;
    for (int i = 0; i < out->count; i++) {
        double low_mm = piece->low_mm + i * width_mm;
        double offset_mm = contact_offset_mm(history, &heading, piece->trails, low_mm + width_mm / 2.0 - centre_mm);

        out->bands[i] = (struct tw_plate_band){ .end_s = duration_s };
        set_band(&heading, start_mm + offset_mm, contact_mm, low_mm, low_mm + width_mm, piece->table_mm_per_s,
                 &out->bands[i]);
    }
}

struct tw_plate_hottest tw_strips_hottest(const struct tw_history *history, const struct tw_plate *plate,
                                          const struct tw_history_strips *strips, double from_s, double to_s)
{
    struct tw_plate_hottest hottest = { -HUGE_VAL, 0.0, 0.0 };
    double wider_mm = history->wider_mm;

    for (int i = 0; i < strips->count; i++) {
        const struct tw_plate_band *band = &strips->bands[i];
        double x0 = fmin(band->x_mm_per_s * from_s, band->x_mm_per_s * to_s) - wider_mm;
        double x1 = fmax(band->x_mm_per_s * from_s, band->x_mm_per_s * to_s) + wider_mm;
        double y0 = fmin(band->y_mm_per_s * from_s, band->y_mm_per_s * to_s) - wider_mm;
        double y1 = fmax(band->y_mm_per_s * from_s, band->y_mm_per_s * to_s) + wider_mm;
        struct tw_plate_hottest there =
            tw_plate_hottest(plate, band->from_x_mm + x0, band->to_x_mm + x1, band->from_y_mm + y0, band->to_y_mm + y1);

        if (there.degC > hottest.degC)
            hottest = there;
    }
    return hottest;
}
