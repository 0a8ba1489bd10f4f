/* roughed.h - what parts measured between roughing and finishing say about the finishing of the very same parts.
 *
 * Aim     A roughed part is as thick as the finished one and, on each face, what the finishing layers take. Where that is no
 *         less than the blank, nothing was ground, and nothing can be told.
 * Stops   A part that roughing cannot have left so stops its load: the finishing layers would meet what was not roughed. Three stories
 *         are held against its readings: every side roughed, one left out, all left out. Each leaves at every place a rest; the story
 *         is believed whose rests scatter least and have the mean that a machine makes soonest (as by least squares), a side left out
 *         only where it tells the readings clearly better. A part that no story tells, or that is farther off than is ever planned stops, too. One that is
 *         thinner already than the finished part may be is not worth finishing.
 * Weighed Part by part: the mean of what its readings are too thick by. It holds all that the wheel stood too high by just then,
 *         on that station: wear, spring-back, warmth, touching off. Each part is corrected by its own, an equal share on each face.
 * Cut     A reading is held against the plane by which the part was last really cut. Programs that were written higher since cut nothing,
 *         for no grinding puts steel back; by programs that were written lower it was cut if at least a quarter of what they are lower by
 *         came off, and else not yet. So readings that say the same twice correct once.
 * Left    What is not larger than the gauge's own uncertainty, nor than twice what the readings scatter (pooled over the parts that
 *         do not stop, over the root of their number), is left alone.
 * Misread One figure misread would go into the mean and from there into the wheel. So each reading is foretold by all others: the
 *         part's other places, the other parts, loads before (src/run/doubt.h); a part whose sides were not all roughed stops and is not
 *         asked. What is farther from that than chance, dirt and touching off make it is refused with its line, until the place
 *         was read twice alike.
 * Errors  TW_BAD_INPUT: a reading where nothing was roughed, thicker than the blank was, less than half of what it should be, or
 *         one that its fellows make unbelievable; each with its line. TW_NO_MEMORY. */
#ifndef TANGWRIGHT_ROUGHED_H
#define TANGWRIGHT_ROUGHED_H

#include "tangwright/gauge.h"

/* So much may be left of a part that goes on to its finishing: judgement. Where more is, its roughing is run again first, or else the
 * first finishing layer is deeper by it. */
#define TW_ROUGHED_LEFT_MM 0.002

/* A blank of the load, as it was planned. */
struct tw_roughed_part {
    const char *number;
    int station;                            /* from 1 */
    double ricasso_mm, planned_mm, butt_mm; /* measured; aimed at, at the taper start and the butt */
    double value_mm;                        /* that its programs were to be thinner by so far, for the same reason */
    double written_mm;                      /* that the programs in the folder are thinner by */
    bool told;                              /* by its last readings: */
    double cut_mm, was_off_mm;              /* by programs so much thinner it was cut, and was so much too thick */
    bool foretold;      /* by a load before, on the same station by the same wheel since the same dressing: */
    double foretold_mm; /* so much too thick it is likely to be, measured for the first time */
};

enum tw_roughed_stop {
    TW_ROUGHED_GOES_ON,
    TW_ROUGHED_SIDE_LEFT,  /* about as thick as with one of two sides not roughed */
    TW_ROUGHED_NOT_AT_ALL, /* about as thick as with no side roughed */
    TW_ROUGHED_OTHER_WHEEL, /* by a wheel that was dressed or changed since: what was measured tells nothing of this one */
    TW_ROUGHED_UNEXPLAINED, /* farther off, or more unevenly, than any machine */
    TW_ROUGHED_TOO_THIN,    /* thinner than the finished part may be */
    TW_ROUGHED_STOP_COUNT
};

struct tw_roughed_found {
    size_t readings; /* 0: it was not measured, and value_mm stays what it was */
    double off_mm;   /* mean, too thick */
    double sure_mm;  /* twice the standard uncertainty by scatter; 0: one reading a part tells of none */
    enum tw_roughed_stop stop;
    double left_mm; /* what the sides that were left out would make it too thick by, in the mean */
    double
        under_mm; /* at the place where most is missing, so much thinner than the finished part may be; below 0: thicker */
    double under_x_mm;
    double
        again_mm; /* more is left than TW_ROUGHED_LEFT_MM, which roughing by the corrected programs takes off; 0: it is not */
    bool corrected;  /* it is more than may be chance or the gauge, and does not stop */
    bool uncut;      /* it is as thick as before its roughing was to be run again, by programs that are lower */
    double cut_mm;   /* that the programs were thinner by which it was cut */
    double value_mm; /* by how much thinner its programs are to be, in all */
};

enum tw_status tw_roughed_weigh(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_roughed_found *out, struct tw_findings *findings);

/* Refuses readings that all others of the load make unbelievable: the misread ones. */
enum tw_status tw_roughed_doubt(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_findings *findings);

/* Whether a part, measured as a finished one and so much thicker than its aim, is as thick as roughing left it: by what its own readings
 * between roughing and finishing told (`part`), and else by `stock_mm` alone, which finishing takes off it. False where the gauge cannot
 * tell the two. */
bool tw_roughed_is_unfinished(double thicker_mm, double stock_mm, const struct tw_roughed_part *part, double gauge_mm);

/* "one side left", ... as the record keeps it; NULL where it goes on. What is not known counts as unexplained. */
const char *tw_roughed_stop_name(enum tw_roughed_stop stop);
enum tw_roughed_stop tw_roughed_stop_named(const char *name);

/* For a person: how such a part is, and what to do about it. */
const char *tw_roughed_stop_words(enum tw_roughed_stop stop);
const char *tw_roughed_stop_cure(enum tw_roughed_stop stop);

/* How a load is roughed once more, by the corrected programs: it lies on ground faces by then. */
const char *tw_roughed_again_words(bool one_face);

/* Whether a load is not to be finished, by what each of its measured parts is: one of them stops it, and so do none but thin ones. */
bool tw_roughed_stops_load(const enum tw_roughed_stop *stops, size_t count);

#endif
