/* parts.h - what the writers of programs share: the head, the lines that are alike in all, and what stands before each part. */
#ifndef TANGWRIGHT_PROGRAM_PARTS_H
#define TANGWRIGHT_PROGRAM_PARTS_H

#include "base/units.h"
#include "program/writer.h"
#include "tangwright/program.h"

struct program {
    const struct tw_job *job;
    const struct tw_plan *plan;
    const struct tw_setup_plan *setup;
    const struct tw_program_blank *blanks; /* of a load, one on each station; NULL: all parts are as the job says */
    size_t index;                          /* of the setup, in the plans of all of them */
    int passes;                            /* of all parts */
    double cycle_s;                        /* the same */
    bool dresses;                          /* the wheel is to be dressed before the program, */
    double begins_mm3;                     /* for it has taken off so much since it was */
    double lift_mm;
    double up_mm; /* what a height counts higher in the program than in the setup frame: the lift, and z's own zero */
    int told;     /* the part whose offset stands before whatever is written next; -1: none */
    struct tw_writer writer;
};

/* As the machine shows it. */
struct tw_length_text tw_program_length(const struct program *program, double mm, int decimals);
/* A temperature as the shop reads it: "412 DEGF" where the machine is programmed in inches, else "211 DEGC". */
struct tw_program_degrees {
    char text[24];
};
struct tw_program_degrees tw_program_degrees(const struct program *program, double degC);

struct tw_program_volume {
    char text[24];
};
/* "3120 MM3", or "0.1904 IN3" */
struct tw_program_volume tw_program_volume(const struct program *program, double mm3);

/* head.c: identification and cautions. */
void tw_program_write_head(struct program *program);

/* frame.c: the lines before and after the passes. */
void tw_program_write_safe_lines(struct program *program);
void tw_program_write_offset(struct program *program, int part);
void tw_program_write_start(struct program *program);
void tw_program_switch_off(struct program *program);
void tw_program_write_end(struct program *program);
/* Ahead of move `index` of a stay that ends with move `last`: the comment that tells of its layer's passes, once in the stay and
 * only if the wheel is fed in it before it leaves. Takes and returns the layer last told of; -1: none yet. */
int tw_program_tell_layer(struct program *program, size_t index, size_t last, int told);

/* What a height counts higher in the program than in the setup frame of that part: less what faces were gauged to come out
 * too high at its station. */
double tw_program_up_at_mm(const struct program *program, int part);
/* The latter alone, by as much as a program can say. */
double tw_program_lower_mm(const struct program *program, int part);

#endif
