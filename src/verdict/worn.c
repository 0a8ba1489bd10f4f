/* worn.c - see worn.h. */
#include "verdict/worn.h"

#include <math.h>

struct tw_worn tw_worn_open(const struct tw_job *job, const struct tw_witness_face *face)
{
    double lean = job->mount == TW_MOUNT_LEVEL ? face->slope : 0.0;
    struct tw_worn worn = { .area_mm2 = tw_wear_area_mm2(job, lean) };

    if (job->task.scope != TW_SCOPE_RELIEF && job->task.scope != TW_SCOPE_ROUGH)
        worn.ratio = tw_grinding_ratio_of(job);
    return worn;
}

void tw_worn_by(struct tw_worn *worn, double volume_mm3)
{
    if (!(volume_mm3 > 0.0))
        return;
    worn->volume_mm3 += volume_mm3;
    if (worn->ratio.least > 0.0)
        worn->likely_mm = tw_wear_mm(worn->volume_mm3, worn->ratio.likely, worn->area_mm2);
}

void tw_worn_dress(struct tw_worn *worn)
{
    worn->volume_mm3 = worn->likely_mm = 0.0;
}

double tw_worn_off_mm(const struct tw_worn *worn, double volume_mm3, double low_mm, double high_mm)
{
    double most_mm = tw_wear_mm(volume_mm3, worn->ratio.least, worn->area_mm2);
    double likely_mm = tw_wear_mm(volume_mm3, worn->ratio.likely, worn->area_mm2);
    double least_mm = tw_wear_mm(volume_mm3, worn->ratio.most, worn->area_mm2);
    double middle_mm = (low_mm + high_mm) / 2.0;

    return fmax(middle_mm + most_mm - likely_mm, likely_mm - least_mm - middle_mm);
}
