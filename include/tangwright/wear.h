/* wear.h - how much of the wheel goes while it takes steel off.
 *
 * Model   Grinding ratio G: volume of steel over volume of wheel. Spread over the surface that shares the work it is a
 *         loss of height: loss = V / (G A). A cup in the tilted mount shares it over all its rim, in the level mount over
 *         the ring that lies under the layer (rim.h); a disc over its periphery, as wide as it stands on the tang. Where a
 *         disc steps across, the edge that enters the steel first cuts alone and loses more, V / (G pi D step).
 * Ratio   The wheel's own, for hardened plain carbon and low-alloy steel in plenty of coolant. Alumina wears faster on a steel
 *         with hard carbides, by the steel's own factor; dry, all wheels wear faster. Sources: docs/wheel-state.md.
 * Limits  Wear is taken to be even round the wheel; a fresh rim, whose edge goes first, loses no more height than this.
 * Units   mm, mm2, mm3. Nothing here allocates or fails. */
#ifndef TANGWRIGHT_WEAR_H
#define TANGWRIGHT_WEAR_H

#include "tangwright/taper.h"

/* Grinding ratios of the job's wheel on its steel with its coolant; all 0: the wheel's is not known. */
struct tw_grinding_ratio {
    double least, likely, most;
};

struct tw_grinding_ratio tw_grinding_ratio_of(const struct tw_job *job);

/* The surface that shares the work; `lean` of a cup's rim over the face (rim.h), 0 in the tilted mount. */
double tw_wear_area_mm2(const struct tw_job *job, double lean);

/* Loss of height; ratio > 0. */
double tw_wear_mm(double volume_mm3, double ratio, double area_mm2);

/* How much more the edge of a disc loses than all its width: with step_mm of itself it enters the steel in each lane and takes most
 * of it off there, to and fro with either edge in turn. 0 for a cup, and where it steps across by its whole width. */
double tw_wear_edge_mm(const struct tw_job *job, double volume_mm3, double ratio, double step_mm);

/* What a program costs the wheel, and what that does to the finished face. */
struct tw_wheel_loss {
    double area_mm2;                       /* that shares the work */
    double tang_mm2;                       /* of the face that it grinds */
    bool known;                            /* false: the wheel's grinding ratio is not */
    double ratio_least, ratio, ratio_most; /* with this steel and coolant */
    double volume_mm3;                     /* of steel, of one part as stated */
    double least_mm, likely_mm, most_mm;   /* of the wheel's height, by the end of one part */
    bool follows;                          /* the program goes lower by the likely loss, layer by layer */
    double followed_mm;                    /* at its end, on the last part */
    double jump_mm;         /* a layer may be deeper by this for what the wheel lost less than likely at other parts */
    double high_mm, low_mm; /* the finished face of any part may come out so much too high, or too low */
    double standing_mm;     /* and by the likely ratio the thickest blank does come out so much too high */
};

/* Volume of a blank so much thicker than stated that comes off down to a plane `bottom_mm` above the face. */
double tw_wear_volume_mm3(const struct tw_job *job, enum tw_side side, double thicker_mm, double bottom_mm);

/* What to expect of one side. Of a relief nothing; of roughing alone that nothing is followed, for it is measured after. */
struct tw_wheel_loss tw_wear_expected(const struct tw_job *job, enum tw_side side);

/* What a relief of volume_mm3 a part costs the wheel that hollows it, over all parts: that much shallower it comes out. `job` has
 * that wheel. */
struct tw_wheel_loss tw_wear_of_relief(const struct tw_job *job, double volume_mm3);

/* Sets high_mm, low_mm and standing_mm, for the thinnest and the thickest blank of the band, where the wheel has ground so many of them. */
void tw_wear_set_uncertain(const struct tw_job *job, enum tw_side side, double blanks, struct tw_wheel_loss *loss);

/* The wheel goes round the parts: a stay at each, then the next stay at each. Before stay k at part p */
struct tw_wear_ledger {
    double *since_mm3; /* [k * parts + p]: what it has taken off thin blanks since it was touched off */
    double *taken_mm3; /* [k * parts + p]: the same of thick blanks, had it not been dressed right before */
    bool *dresses; /* [k * parts + p]: the program stops for it to be dressed and touched off anew; never the first */
    size_t stay_count;
    int parts, stops; /* all true ones */
    double first_mm3,
        end_mm3; /* off thick blanks up to the first stop, or all of it; and since the last one, at the end */
};

/* Stay k takes thin_mm3[k] off one of the thinnest blanks and thick_mm3[k] off one of the thickest. The wheel is dressed where the
 * thickest would take more than dress_after_mm3 (0: never) off with it. False: no memory. */
bool tw_wear_ledger_make(const double *thin_mm3, const double *thick_mm3, size_t stay_count, int parts,
                         double dress_after_mm3, struct tw_wear_ledger *out);
void tw_wear_ledger_free(struct tw_wear_ledger *ledger);

/* Whether a stay that takes so much off one of the thickest blanks is too long for one dressing. */
bool tw_wear_stay_is_full(double thick_mm3, double dress_after_mm3);

/* How many of the thickest blanks one program's wheel can have ground since it was last touched off. */
double tw_wear_blanks(const struct tw_job *job, enum tw_side side);

/* How much lower the wheel may come to a part than was reckoned with: it lost less while it took so much off others. */
double tw_wear_jump_mm(const struct tw_wheel_loss *loss, double others_mm3);

/* How far at most side A, ground or roughed, may stand over its finished face while side B is ground: what it keeps for its finishing, and
 * what the wheel may have lost on it. */
double tw_wear_kept_on_a_mm(const struct tw_job *job);

/* Whether one program a side leaves the finished thickness less certain than the job asks for. */
bool tw_wear_is_uncertain(const struct tw_job *job);

/* Whether it leaves more standing on the thickest blank than its flatness, of which ridges between lanes need some, has room for. */
bool tw_wear_leaves_too_much(const struct tw_job *job);

#endif
