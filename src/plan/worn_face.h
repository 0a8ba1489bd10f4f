/* worn_face.h - whether a face that is ground by a wheel that wears comes out as the job asks for, and what would help. */
#ifndef TANGWRIGHT_PLAN_WORN_FACE_H
#define TANGWRIGHT_PLAN_WORN_FACE_H

#include "tangwright/plan.h"

/* TW_NO_PLAN where the wear leaves the finished thickness less certain, or more standing on the face, than the job allows. */
enum tw_status tw_worn_face_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                  struct tw_findings *findings);

#endif
