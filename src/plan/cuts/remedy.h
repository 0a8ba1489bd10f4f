/* remedy.h - what a shop could change where the limits leave no cut, or only very light ones. */
#ifndef TANGWRIGHT_PLAN_CUTS_REMEDY_H
#define TANGWRIGHT_PLAN_CUTS_REMEDY_H

#include "tangwright/job.h"

struct tw_remedy {
    const char *what;
    void (*alter)(struct tw_job *job); /* only numbers, so that a shallow copy can be altered */
    double width;                      /* of the engaged width, what is left of it */
};

#define TW_REMEDIES 8

extern const struct tw_remedy tw_remedies[TW_REMEDIES];

#endif
