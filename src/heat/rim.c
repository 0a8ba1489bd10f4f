/* rim.c - what of a cup's rim touches the steel. */
#include "tangwright/rim.h"

#include "base/numbers.h"

#include <math.h>
#include <stdio.h>

#define FRESH_LEAD_IN_deg 1.0 /* 0.5 to 3 deg once it has formed: judgement */

double tw_rim_lead_in_rad(enum tw_rim_state state)
{
    return state == TW_RIM_FRESH ? FRESH_LEAD_IN_deg * TW_PI / 180.0 : 0.0;
}

/* Part of the depth comes under the leaning rim, spread over all its width, the rest meets the edge with its lead-in. The
 * two bands follow each other, so their own rises, each as power / sqrt(length), add up to more than both together make:
 * the one band that is as hot as that sum errs to the safe side. */
static double shared_mm(const struct tw_wheel *wheel, double lean, double depth_mm)
{
    double width_mm = wheel->rim_width_mm, flat_mm = fmin(depth_mm, width_mm * lean), edge_mm = depth_mm - flat_mm;
    double flat_band_mm = flat_mm < depth_mm ? width_mm : depth_mm / lean;
    double edge_band_mm = edge_mm / tan(wheel->lead_in_rad), heat;

    heat = flat_mm / depth_mm / sqrt(flat_band_mm);
    if (edge_mm > 0.0)
        heat += edge_mm / depth_mm / sqrt(edge_band_mm);
    return 1.0 / (heat * heat);
}

double tw_cup_contact_mm(const struct tw_wheel *wheel, double lean, double depth_mm)
{
    if (wheel->lead_in_rad <= 0.0) /* worn in: it lies on the work as it leans */
        return lean == 0.0 ? wheel->rim_contact_mm : fmin(wheel->rim_contact_mm, depth_mm / fabs(lean));
    if (lean > 0.0)
        return fmin(wheel->rim_width_mm, shared_mm(wheel, lean, depth_mm));
    return fmin(wheel->rim_width_mm, depth_mm / tan(wheel->lead_in_rad));
}

double tw_rim_dish_mm(double diameter_mm, double head_tilt_rad, double width_mm)
{
    double radius_mm = diameter_mm / 2.0, half_mm = fmin(width_mm / 2.0, radius_mm);

    return tan(head_tilt_rad) * (radius_mm - sqrt(radius_mm * radius_mm - half_mm * half_mm));
}

void tw_rim_words(const struct tw_wheel *wheel, double lean, double depth_mm, char out[TW_RIM_WORDS])
{
    double band_mm = tw_cup_contact_mm(wheel, lean, depth_mm);
    const char *state = wheel->rim_state == TW_RIM_FRESH ? "fresh" : "worn in";

    if (wheel->lead_in_rad > 0.0)
        snprintf(out, TW_RIM_WORDS, "%s: its edge cuts, a lead-in of %.3g deg, %.2f mm long at %.4f mm of depth", state,
                 tw_degrees(wheel->lead_in_rad), band_mm, depth_mm);
    else
        snprintf(out, TW_RIM_WORDS, "%s%s: %.2f of its %.3g mm share the cut at %.4f mm of depth", state,
                 lean != 0.0 ? ", to the slope of the face" : "", band_mm, wheel->rim_width_mm, depth_mm);
}
