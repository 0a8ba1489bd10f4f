/* card.h - what the head of a program says of itself. */
#ifndef TANGWRIGHT_VERDICT_CARD_H
#define TANGWRIGHT_VERDICT_CARD_H

#include "tangwright/verdict.h"

struct tw_card_head {
    bool has_side, has_inputs;
    enum tw_side side;
    char inputs[17];
    double lift_mm; /* 0: not lifted */
    int side_line, inputs_line;
    double raised_mm, bar_mm; /* the butt end, over the length of a bar; bar 0: it does not say */
    int raised_line;
    int step;            /* of several programs that must be run in order; 0: it does not say */
    enum tw_scope scope; /* what of the side it says it does; "taper" is all but the relief */
    bool clashes;        /* with the file's name */
    bool not_raised;     /* though the file's name says so */
    bool marked;         /* the text begins with a byte order mark */
    bool dresses;        /* it tells to dress the wheel before */
    int foreign_line;    /* first comment with characters outside ASCII; 0: none */
};

/* Looks at the comment lines before the first line that is none. */
void tw_card_read(const struct tw_card *card, struct tw_card_head *out);

/* The side the program is used for: by its file name, else by its head, else A. */
enum tw_side tw_card_side(const struct tw_card *card, const struct tw_card_head *head);

/* Answers the check "card"; a program without any head is remarked, or `strict` fails. */
void tw_card_check(const struct tw_job *job, const struct tw_card_head *head, bool strict, struct tw_proof *proof);

#endif
