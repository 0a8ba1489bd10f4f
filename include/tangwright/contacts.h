/* contacts.h - how the blank lies among the keep-outs of its fixture, with side A up and with side B up.
 *
 * Frame   setup frame; side B is the blank rolled over, so its y is mirrored while the keep-outs stay where they are.
 *         Heights count along the normal of the pad: a sine plate tilts pad, blank and stops together.
 * Drawn   Unless the whole knife is drawn (placement.h) the drawing says nothing of what stands ahead of it, and nothing is
 *         claimed there.
 * Kinds   A pad carries the blank from below, a clamp lies on top of it, a pin or another body stands beside it; a
 *         pin may stand in one of its holes. What does not rise above the blank's lower face is under it, of any kind.
 * Inside  The plan of a pin, body, pad or of a clamp no higher than the blank overlaps the blank by more than the
 *         fixture's touch tolerance, and its top stands above the blank's lower face. Nothing solid can: a fault.
 * Touch   Nearer than the tolerance, or overlapping by less: the tolerance covers a burr and how exactly the blank
 *         is drawn. Clamps hold, but they locate nothing; one that only touches holds nothing either.
 * Locate  Two directions count as located if the pushes of the stops differ by 30 deg or more; else the one they
 *         mostly act in. Turning counts as located if the stops, best turned about, act at 10 mm of lever
 *         (judgement): two pins on one edge 15 mm apart.
 * Model   GEOS for distances and overlaps; first order of rigid motion in the plane for what is located.
 * Memory  a tw_contacts owns its items, which borrow the job's keep-outs; tw_contacts_free() releases them. */
#ifndef TANGWRIGHT_CONTACTS_H
#define TANGWRIGHT_CONTACTS_H

#include "tangwright/taper.h"

enum tw_meeting {
    TW_MEETING_INSIDE,
    TW_MEETING_TOUCHES,
    TW_MEETING_MISSES,
    TW_MEETING_UNDER,    /* below the blank: carries it, if it is high enough */
    TW_MEETING_OVER,     /* a clamp on top of it */
    TW_MEETING_NOT_DRAWN /* it stands ahead of what is drawn */
};

struct tw_fixture_contact {
    const struct tw_keep_out *keep_out;
    size_t number; /* 1 for the first keep-out of the job */
    enum tw_meeting meeting;
    double gap_mm;      /* MISSES, TOUCHES: between it and the blank, 0 where they overlap; UNDER: below the blank */
    double depth_mm;    /* INSIDE, TOUCHES: how far it reaches into the blank's outline */
    double area_mm2;    /* OVER: of the blank under it */
    double above_mm;    /* INSIDE: how far its top stands above the blank's lower face */
    struct tw_point at; /* INSIDE: its deepest point; TOUCHES, MISSES: the blank's point that is nearest */
    double move_mm;     /* INSIDE: moved so far along y it just touches */
};

struct tw_contacts {
    enum tw_side side;
    double drawn_from_mm; /* nothing is known of the blank ahead of this x; -HUGE_VAL: the whole knife is drawn */
    struct tw_fixture_contact *items;
    size_t count;                         /* keep-outs that are in place for this side, in the job's order */
    bool along, across, turning;          /* what the touching stops locate */
    struct tw_fixture_contact *nearest;   /* of the stops that miss, the one that misses by least; NULL: none */
    struct tw_fixture_contact *farthest;  /* of the pins that miss, the one that misses by most; NULL: none */
    struct tw_fixture_contact *not_drawn; /* the first stop that cannot be compared; NULL: none */
    size_t not_drawn_count;
};

/* Whether it can locate a blank at all: a pin or a body. */
bool tw_keep_out_is_stop(const struct tw_keep_out *keep_out);

/* The meetings of one side. Errors: TW_NO_MEMORY, or GEOS's own. */
enum tw_status tw_contacts_make(const struct tw_job *job, enum tw_side side, struct tw_contacts *out,
                                struct tw_findings *findings);

void tw_contacts_free(struct tw_contacts *contacts);

/* '"edge stop" misses the blank by 3.20 mm; nearest is (-60.0, -14.2) mm' */
void tw_contact_words(const struct tw_fixture_contact *contact, bool inches, char *out, size_t size);

/* A remark for each side on which nothing locates the blank along, across or against turning, and for clamps that miss
 * it or are not listed, and for a tang that hangs below the pad. Looks at both sides. */
enum tw_status tw_contacts_remark(const struct tw_job *job, struct tw_findings *findings);

/* Where a rest that rises for side B is farthest off the face that lies on it. */
struct tw_rest_fit {
    const struct tw_keep_out *rest; /* NULL: there is none, or it fits to the last digit */
    size_t number;                  /* among the keep-outs, from 1 */
    double off_mm, x_mm;            /* above 0: the rest stands higher, and the tang rides on it */
};

struct tw_rest_fit tw_rest_fit_of(const struct tw_job *job);

/* So far off the tang rides on it or hangs over it, and neither packing nor holding is as told. Judgement: as much as a stop's top may
 * stand over the face and still count as level with it. */
#define TW_REST_MISFIT_MM 0.05

void tw_rest_fit_words(const struct tw_job *job, const struct tw_rest_fit *fit, char *out, size_t size);

/* What of the drawing would make the side's pins touch, though they do not as it lies. */
struct tw_misplaced {
    enum {
        TW_MISPLACED_NOT,
        TW_MISPLACED_MIRRORED,
        TW_MISPLACED_NOT_TURNED, /* mirrored they would touch, but the drawing is right: the other side's touch */
        TW_MISPLACED_SHIFTED
    } how;
    double shift_mm;       /* SHIFTED: the taper start lies so much farther towards the butt */
    size_t touching, pins; /* how many would touch then, of how many that stand where something is drawn */
};

enum tw_status tw_contacts_misplaced(const struct tw_job *job, enum tw_side side, struct tw_misplaced *out,
                                     struct tw_findings *findings);

/* "all 3 stops of side A would touch if the drawing showed the knife from its other side: ...". With the key of the job's group
 * outline that would do it. `mirrored`: as the job has it. */
const char *tw_misplaced_key(const struct tw_misplaced *misplaced);
void tw_misplaced_words(const struct tw_job *job, enum tw_side side, const struct tw_misplaced *misplaced, char *out,
                        size_t size);

/* Parts on several stations: what of one station stands inside the blank of another. */
struct tw_clash {
    int station, other;               /* indices of the fixture's stations */
    const struct tw_keep_out *inside; /* of `other`, inside the blank at `station`; NULL: the blanks themselves meet */
    struct tw_point at;               /* in the setup frame of `station` */
};

/* The first clash with `side` up; clash.station is -1 for none. */
enum tw_status tw_contacts_clash(const struct tw_job *job, enum tw_side side, struct tw_clash *out,
                                 struct tw_findings *findings);

/* Young's modulus E of hardened steel; handbooks give 205 to 210 kN/mm2 (from memory). */
#define TW_STEEL_N_PER_MM2 210e3

/* What of the tang hangs free behind all that carries it, with one side up and under the job's task. A beam, clamped where the
 * last of it is carried: a push P at its end bends that by P times the sum of (end - x)^2 dx / (E I), I = width thickness^3 / 12
 * (Euler and Bernoulli), the thickness that of a program that is done. */
struct tw_overhang {
    double from_mm, length_mm; /* length 0: none, as where no rest lies under the tang */
    double mm_per_N;           /* at its end */
};

struct tw_overhang tw_overhang_of(const struct tw_job *job, enum tw_side side);

/* The blank's thickness at x when the program of this side is done. */
double tw_holding_thickness_mm(const struct tw_job *job, enum tw_side side, double x_mm);

/* What holds the blank with one side up, while a program of that side runs.
 *
 * Magnet  pull on mild steel as thick as the blank, times the steel's own factor, times how much flux the thinned tang leads,
 *         times (1 + g/g0)^-2 for the gap g between it and what carries flux; summed over all that lies on a pad or rest, or,
 *         where no rest lies under the tang, on the magnet itself, level with the datum pad. A gap that is packed with a
 *         solid wedge of steel counts as none, any other packing as air.
 * Thin    steel leads all the flux of a pole down to a thickness of 7/16 of the distance from pole to pole (1.4 T at the pole,
 *         1.6 T in hardened steel: from memory); below, the pull falls with the square of the thickness.
 * Turning a cup pushes across, the harder to hold the farther from what presses: the least push at the end of what is ground that
 *         turns the part against friction, over the job's safety. Clamps press where they have the blank under
 *         them, on the face below alone; the wheel's own pressing counts by its least. Stops are not counted.
 * Source  docs/contacts.md, "Holding". */
struct tw_holding {
    double clamp_N, magnet_N; /* what presses it down: clamps, magnet */
    double force_N;           /* sideways force that it is trusted with: the lesser of sliding and turning */
    double sliding_N;         /* friction times what presses over the job's safety */
    double turning_N;         /* what a cup's push across may be at push_mm; of a disc, which pushes along, HUGE_VAL */
    double push_mm, about_mm; /* x of the end of what is ground; and of what the part would turn about there */
    bool turns;               /* turning is less than sliding */
    bool again;     /* of side A roughed once more, on side B as that was roughed since: less than the first time */
    double solid_N; /* magnet_N, were every gap solid steel */
    double solid_force_N; /* force_N then */
    double area_mm2;      /* of all that lies over pads, rests or the magnet */
    double touching_mm2;  /* of it, what touches, or lies on solid steel packing */
    double gap_mm;        /* widest gap under it, packed or not */
    bool rests;           /* rests lie under the tang */
    bool rests_carry;     /* and touch it all along; else packing lies between, as a wedge on a level rest */
};

/* For the program that the job is narrowed to, if it is. */
struct tw_holding tw_holding_of(const struct tw_job *job, enum tw_side side);

/* More than this is asked about; a source or a judgement stands with the questions, in src/input/size_checks.c. */
#define TW_ASKED_PULL_N_PER_CM2 60.0
#define TW_ASKED_FRICTION       0.4

/* A part that is trusted with less is not held: a finger pushes it aside. Judgement. */
#define TW_HOLDING_LEAST_N 5.0

/* A clamp counts for no more than so much on what it has of the blank: there mild steel yields (EN 10025-2:2019, table 6, S235). */
#define TW_SEAT_BEARS_N_PER_MM2 235.0

/* What the magnet pulls on flat mild steel so thick, told by its pull on steel as thick as the blank. */
double tw_holding_pull_N_per_mm2(const struct tw_job *job, double thick_mm);

/* What clamps, where they are, would have to press with for TW_HOLDING_LEAST_N without a magnet. */
double tw_holding_clamps_N(const struct tw_job *job, enum tw_side side);

/* Its force_N. */
double tw_holding_N(const struct tw_job *job, enum tw_side side);

#endif
