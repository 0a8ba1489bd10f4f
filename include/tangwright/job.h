/* job.h - everything a person writes, read, checked and turned to mm, s, W, K, rad. Immutable afterwards.
 *
 * A bare name is a count, a ratio or a word; every other member carries its unit in its name.
 * The reader, its key tables with ranges and defaults, and the messages live in src/input; the
 * reference for a person is docs/job-reference.md.
 *
 * Memory  a tw_job owns all it points to; tw_job_free() releases it.
 * Errors  tw_job_read() reports every fault of the job and its profiles at once: TW_BAD_INPUT, TW_IO,
 *         TW_NO_MEMORY. On failure *out is empty. */
#ifndef TANGWRIGHT_JOB_H
#define TANGWRIGHT_JOB_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"
#include "tangwright/material.h"
#include "tangwright/outline.h"
#include "tangwright/placement.h"
#include "tangwright/survey.h"

enum tw_mount { TW_MOUNT_LEVEL, TW_MOUNT_TILTED };
enum tw_flash_limit { TW_FLASH_STRICT, TW_FLASH_EQUIVALENT };

/* What the program's z counts from. The faces follow it, so it decides what a blank of another thickness becomes:
 * from the pad, one thicker by e is tapered e/m ahead of the taper start and comes out e thinner at the butt; from the
 * ricasso, every taper starts where it should and the butt is as much off as the blank. */
enum tw_height_zero {
    TW_ZERO_PAD,    /* the datum pad's plane */
    TW_ZERO_RICASSO /* the ricasso's upper face, touched off at the taper start of every blank */
};

struct tw_taper {
    double ricasso_mm;  /* T0 */
    double butt_mm;     /* T1, at x = length */
    double length_mm;   /* L; 0 in the file: where the outline ends */
    double smallest_mm; /* no part of the tang may come out thinner */
    double band_mm;     /* blanks from T0 - band to T0 + band are accepted */
    enum tw_height_zero zero;
};

struct tw_finish {
    double flatness_mm;  /* largest unevenness and largest stock left above the target */
    double thickness_mm; /* by so much the finished thickness may be off; half of it by each face */
    double allowance_mm; /* left on each face for hand finishing */
    double infeed_mm;    /* largest depth of a finishing layer */
    int layers;          /* number of finishing layers */
    int spark_out;       /* repeats of the last layer; TW_SPARK_OUT_AUTO: as many as spring-back needs */
};

#define TW_SPARK_OUT_AUTO (-1)
#define TW_SPARK_OUT_MOST 30

struct tw_limits {
    double tempering_degC; /* this knife's own temper; from the steel if the job gives none */
    double margin_K;
    double tempering_s; /* how long it was tempered, all times together */
    enum tw_flash_limit flash;
    double energy_reserve; /* a wheel not calibrated keeps the limits with so many times its specific energy */
    double film_reserve; /* a pass counts on the coolant's film that would last with so many times the wheel's energy */
};

struct tw_straight; /* straight.h */

/* What straightening by the survey may do; straight.h. */
struct tw_straighten {
    double cleanup_mm;        /* comes off each face at least, from cleanup_from_mm on */
    double cleanup_from_mm;   /* x */
    double tolerance_mm;      /* largest distance of the finished tang's middle from the centre plane */
    double largest_tilt_rad;  /* of the finished tang's middle, about the taper start */
    double largest_offset_mm; /* of the finished tang's middle at the taper start */
    double largest_twist_rad; /* between any place along the tang and the ricasso */
};

struct tw_travel {
    double clear_height_mm; /* above everything: rapids across run there */
    double hop_height_mm;   /* the same where the wheel goes from part to part and comes back */
    double approach_mm;     /* height above the start of a lane from which the wheel is fed down */
    double return_lift_mm;  /* height over ground it has just swept at which the wheel goes back */
    double overtravel_mm;   /* extra run past the point where the wheel has left the stock */
};

enum tw_relief_sides { TW_RELIEF_BOTH, TW_RELIEF_A, TW_RELIEF_B };
enum tw_relief_when { TW_RELIEF_AUTO, TW_RELIEF_FIRST, TW_RELIEF_LAST };

/* A shallow hollow inside the tang's faces; its region: relief.h. */
struct tw_relief {
    double depth_mm; /* below the finished face; 0: the job asks for none */
    double land_mm;  /* flat rim left along the outline */
    double boss_mm;  /* flat ring left round each hole */
    double end_mm;   /* flat left behind the taper start */
    enum tw_relief_sides sides;
    enum tw_relief_when when;
};

enum tw_balance_from { TW_AHEAD_OF_START, TW_BEHIND_START, TW_BEHIND_TIP, TW_AHEAD_OF_BUTT };

/* The knife as it was weighed before tapering, holes drilled. */
struct tw_blank {
    double mass_g;     /* 0: not weighed */
    double balance_mm; /* as measured, along the taper axis */
    enum tw_balance_from measured;
    double balance_x_mm; /* the same in the part frame */
};

struct tw_pin {
    int hole;           /* 1 for the hole nearest to the taper start, and so on along x */
    double diameter_mm; /* 0: fills its hole */
    double bore_mm;     /* inner diameter of a tube */
    enum tw_material_id material;
    double density_g_per_mm3;
};

/* Two scales of even thickness, one on each face. */
struct tw_handle {
    double scale_mm;        /* thickness of each; 0: the job tells of no handle */
    double offset_mm;       /* by how much they stand over the outline */
    double front_mm;        /* part x where they begin */
    struct tw_ring outline; /* own outline in the part frame; no points: the tang's with the offset */
    double fill;            /* share of the slab that is left when the handle is shaped */
    enum tw_material_id material;
    double density_g_per_mm3;
    double glue_mm; /* bond line under each scale */
    double glue_density_g_per_mm3;
    bool relief_filled; /* the relief is full of glue, if there is glue */
    struct tw_pin *pins;
    size_t pin_count;
};

/* The blade ahead of the taper start, for looks. */
struct tw_blade {
    double length_mm;      /* tip to taper start, along the taper axis; 0: not known */
    struct tw_ring distal; /* x_mm: distance behind the tip, rising; y_mm: thickness there */
    double step_mm;        /* a sudden step of thickness above this breaks the flow */
    double kink_rad;       /* a change in direction of a face above this breaks the flow */
};

/* The plate that a fixture is made on, and its stops: fixture.h. */
struct tw_base_plate {
    double dowel_mm;           /* diameter of the stops */
    double pitch_mm;           /* stops stand at whole multiples of it along their edge */
    double grip_mm;            /* least height on which a stop bears on the edge */
    double least_clearance_mm; /* the wheel passes over a stop no nearer than this */
    double larger_mm;          /* a blank so much larger all round, or with such a burr, must still go in */
    double start_mm;           /* tolerance of the taper start */
    double angle_rad;          /* tolerance of the taper's line against its axis */
    double pad_height_mm;      /* the datum pad's face over the plate's */
    double blade_width_mm; /* room across for a blade that is not drawn; 0: three times the width at the taper start */
    double length_mm, width_mm; /* of the plate, along and across; 0: as large as the fixture needs */
};

/* Taking all the stock off one face first lets a hardened tang bow: it may be taken evenly. A measurement between roughing and
 * finishing tells what is wrong with the wheel's height, whatever the reason. */
enum tw_order {
    TW_ORDER_A_THEN_B,          /* one program for each side */
    TW_ORDER_ROUGH_THEN_FINISH, /* roughing A, roughing B, finishing A, finishing B */
    TW_ORDER_AS_NEEDED /* in a job file only: the second where wear asks for a measurement between, else the first */
};

/* What one program of the job does. */
enum tw_scope { TW_SCOPE_WHOLE, TW_SCOPE_ROUGH, TW_SCOPE_FINISH, TW_SCOPE_RELIEF };

/* "roughing", "finishing", "relief"; "" for a side in one program. */
const char *tw_scope_name(enum tw_scope scope);

struct tw_job;

/* finish.layers and finish.spark_out for the program of the job's task: none for a relief. Roughing by itself has no finishing layers, and
 * spark-outs as well: it is measured, and what springs back later would count as a wheel set too high. */
int tw_finishing_layers(const struct tw_job *job);
int tw_spark_outs_asked(const struct tw_job *job);

struct tw_profile;

/* A job as read does all of it. To plan one program of several, a copy of the job is narrowed to it. */
struct tw_task {
    enum tw_scope scope;
    double leaves_mm;    /* over the job's finished face, for a later program; below 0: a relief's floor */
    bool over_ground;    /* the face below has been ground too, so the tang lies on packing */
    bool below_hollowed; /* and has its relief already */
    double
        roughed_N; /* how hard roughing, as a program of its own, pushed along its way at the most; 0: there was none */
    const struct tw_profile *raw; /* top of the blank over the centre plane, part frame; NULL: as the blank is */
    double bends_mm_per_N;        /* the end of the tang under a push there, where it hangs free; 0: it is carried */
    double thicker_mm;            /* the blank in hand is so much thicker than the job says; below 0: thinner */
    bool stands_high;             /* and a surveyed one stands as high over its readings as they leave room for */
    double hollowed_mm; /* reliefs that are in the tang already, this program's own aside; for the heat the tang
                                       * counts as thinner by them everywhere */
    /* Where a relief has taken all that stood on this program's face, in the part frame; none, or not known: 0 pieces. */
    const struct tw_outline *hollows;
    size_t hollow_count;
};

/* What a plan keeps back from the limits because a dry-run found more than an earlier plan foresaw; see proven.h. */
struct tw_reserve {
    double heat_K;
    double film_share;   /* of heat.film_reserve, on top of it */
    double dry_K;        /* of the temperature without the film, where a pass need not rely on it */
    double load_share;   /* of the spindle's power and of what holds the part */
    double spring_share; /* of what spring-back may leave on the face */
    int plans;           /* made before with less of it, each of which has had its part of the computing */
};

/* Of each program its own, by its side and by whether it grinds a relief. */
struct tw_reserves {
    struct tw_reserve of[2][2];
    bool hasty; /* no time is left for another search: what is planned anew goes by what it was planned by before */
};

/* The heights to which a fixture full of blanks is ground. */
enum tw_heights {
    TW_HEIGHTS_SHARED, /* one for all of them: each starts its taper, or ends it, as much off as it is thicker or thinner */
    TW_HEIGHTS_BY_BLANK /* each its own, by its thickness and its survey */
};

/* What lies on one of the stations in use, as measured. */
struct tw_loaded_blank {
    double thickness_mm;     /* of its ricasso */
    struct tw_survey survey; /* survey.path NULL: none, it counts as flat */
};

/* How many sides a job grinds: side A, then side B. */
#define TW_SIDES_OF(job) ((job)->one_face ? 1 : 2)

struct tw_job {
    char *path; /* of the job file, for messages */
    char *name;
    char *confirmed; /* unlikely sizes that are meant so, with commas between them; NULL: none */
    struct tw_taper taper;
    enum tw_mount mount;
    struct tw_finish finish;
    struct tw_limits limits;
    struct tw_travel travel;
    struct tw_survey survey; /* survey.path NULL: none, the blank counts as flat */
    struct tw_straighten straighten;
    struct tw_straight *straight; /* what the survey came to; NULL: there is none */
    struct tw_relief relief;
    struct tw_blank blank;
    struct tw_handle handle;
    struct tw_blade blade;
    struct tw_base_plate plate;
    enum tw_order order;
    bool one_face; /* side A alone is ground, as of a bar */
    struct tw_task task;
    struct tw_reserve reserve;          /* nothing, as read */
    const struct tw_reserves *reserves; /* borrowed; NULL: `reserve` holds for all programs */
    int parts;                          /* blanks on the fixture, 1..station_count */
    struct tw_loaded_blank *blanks;     /* of each part; NULL: none was measured, and all are as the job says */
    size_t blank_count;
    enum tw_heights heights;
    double longest_s; /* a plan may take so long for one part */
    struct tw_machine machine;
    struct tw_wheel wheel;
    struct tw_wheel relief_wheel; /* its diameter 0: the relief is ground by the wheel as well */
    struct tw_steel steel;
    struct tw_coolant coolant;
    struct tw_fixture fixture;
    struct tw_part part;           /* the outline in the part frame, cut at the taper start */
    struct tw_placement placement; /* what the drawing shows, and how it lies */
    char digest[17];               /* 16 hexadecimal digits over every value and the outline file */
    struct tw_findings said;       /* remarks while it was read, for the pages that are made of it */
};

/* Whether the text may stand behind the dot of a program's name: letters and digits alone. */
#define TW_FILE_ENDING_LONGEST 8
bool tw_is_file_ending(const char *text, size_t length);

/* Reads the job at `path`, its profiles and its outline. */
enum tw_status tw_job_read(const char *path, struct tw_job *out, struct tw_findings *findings);

/* One key that shall be otherwise than the job file says, both words as a person writes them: "taper.butt_thickness",
 * "1.5 mm". The value "none" takes the key, or a whole group, out of the job. */
struct tw_instead {
    const char *key, *value;
};

/* The same with these keys changed. */
enum tw_status tw_job_read_with(const char *path, const struct tw_instead *changes, size_t count, struct tw_job *out,
                                struct tw_findings *findings);

/* The same as the text of a job file that stands in `folder`, which is there: the files that it names are named as seen from
 * there. The caller's: free(). */
enum tw_status tw_job_text_with(const char *path, const struct tw_instead *changes, size_t count, const char *folder,
                                char **out, struct tw_findings *findings);

void tw_job_free(struct tw_job *job);

/* What the job makes of "machine", "wheel", "steel" or "coolant", as the text of a profile. The caller's: free(). */
enum tw_status tw_job_profile(const struct tw_job *job, const char *name, char **out, struct tw_findings *findings);

#endif
