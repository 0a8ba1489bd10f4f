/* read.h - a drawing's file turned to strokes, whatever its format. */
#ifndef TANGWRIGHT_OUTLINE_READ_H
#define TANGWRIGHT_OUTLINE_READ_H

#include "outline/sketch.h"

/* tw_sketch_free() in any case. */
enum tw_status tw_sketch_read(const struct tw_drawing *drawing, struct tw_sketch *sketch, struct tw_findings *findings);

#endif
