/* unfinished.c - parts that are measured as finished ones and are as thick as roughing left them. See roughed.h. */
#include "tangwright/roughed.h"

#include <math.h>

/* About that: within this share of what finishing takes off, or so many of the gauge's uncertainties where they are more: judgement. */
#define ABOUT_SHARE  0.25
#define ABOUT_GAUGES 3.0

/* Nearer to what is left without finishing than to the finished part, and about as much. */
static bool is_about(double thicker_mm, double left_mm, double finished_mm, double stock_mm, double gauge_mm)
{
    double apart_mm = left_mm - finished_mm;
    double about_mm = fmin(fmax(ABOUT_SHARE * stock_mm, ABOUT_GAUGES * gauge_mm), 0.5 * apart_mm);

    return apart_mm > ABOUT_GAUGES * gauge_mm && fabs(thicker_mm - left_mm) < about_mm;
}

bool tw_roughed_is_unfinished(double thicker_mm, double stock_mm, const struct tw_roughed_part *part, double gauge_mm)
{
    double finished_mm, again_mm;

    if (!part || !part->told)
        return is_about(thicker_mm, stock_mm, 0.0, stock_mm, gauge_mm);
    finished_mm = part->was_off_mm + part->cut_mm - part->written_mm;
    again_mm = stock_mm + fmin(part->was_off_mm, finished_mm); /* its roughing was run again, or not */
    return is_about(thicker_mm, stock_mm + part->was_off_mm, finished_mm, stock_mm, gauge_mm) ||
           is_about(thicker_mm, again_mm, finished_mm, stock_mm, gauge_mm);
}
