/* fixture.h - a fixture designed for one job: stops, pad, rests, clamps, stations, and the plate that carries them.
 *
 * Locate   3-2-1: three points below, two stops on the straighter long edge, one at the butt. The stops are dowels; each
 *          touches the drawn outline at one point. With side B up the blank is mirrored about its taper axis, and so are
 *          the stops: what holds for side A holds for side B with y and angles of the other sign.
 * Motion   rigid, in the plane, to first order. A stop that stands s_i farther out along the edge's normal n_i lets the
 *          blank follow: n_i . (d + w k x p_i) = s_i at the three contacts p_i. The inverse of this matrix says how much each
 *          stop moves the blank (d, w); its transpose, how a push is shared among the stops. A stop only pushes: where a
 *          share is below zero the blank would leave that stop.
 * Heights  z counts from the datum pad's face along its normal, in both mounts: a sine plate tilts the whole plate. A stop
 *          ends `clearance_mm` below the finished face of either side over all of its own width, so the wheel passes over.
 * Rests    flat for side A; for side B a bar that rises by the taper's slope. Both lie under the tang, nowhere past its edge.
 * Holding  what touches: pull counts over the pad and the rest as far as the blank covers them, and only there.
 * Frame    the setup frame of side A (taper.h), but for what says otherwise.
 * Units    mm, rad, N.
 * Memory   a design owns nothing but what tw_fixture_design_free() releases; it borrows the job.
 * Errors   TW_NO_PLAN where the outline has no place for a stop or a rest, with the reason; TW_BAD_INPUT from GEOS;
 *          TW_NO_MEMORY. On failure *out is empty. */
#ifndef TANGWRIGHT_FIXTURE_H
#define TANGWRIGHT_FIXTURE_H

#include "tangwright/contacts.h"
#include "tangwright/taper.h"

enum { TW_STOP_REAR, TW_STOP_FRONT, TW_STOP_END, TW_STOP_COUNT };
enum { TW_FIXTURE_STATIONS_MOST = 9 };

/* A dowel that the blank is pushed against. */
struct tw_stop {
    struct tw_point centre, contact;
    struct tw_point normal; /* of the blank's edge, outwards: from the contact to the centre */
    double top_mm;
    double grip_mm; /* height on which it bears on the edge, on the side where that is less */
    double
        may_be_off_mm; /* along the normal, before taper start or angle leave their tolerance; HUGE_VAL: it moves neither */
    bool both;         /* it stands where its mirrored twin does, and is not moved */
};

/* How the blank answers. Rows: shift along x, along y, turn; columns: stops. */
struct tw_seating {
    double moves[3][TW_STOP_COUNT]; /* mm or rad per mm that the stop stands farther out along its normal */
    struct tw_point push_at;        /* where and which way to push so that all three stops answer */
    struct tw_point push_way;
    double share[TW_STOP_COUNT]; /* of the push, answered by each stop, without friction; all above zero */
};

struct tw_rect {
    double x0_mm, y0_mm, x1_mm, y1_mm;
};

struct tw_fixture_design {
    const struct tw_job *job;
    struct tw_outline blank; /* tang and blade together, part frame */
    double known_from_mm;    /* nothing is known of the blank ahead of this x; -HUGE_VAL: the whole knife is drawn */
    double dowel_mm;
    double clearance_mm; /* of the wheel from all of the fixture */
    struct tw_stop stops[TW_STOP_COUNT];
    struct tw_seating seating;
    int edge; /* +1: the two stops stand at the long edge of larger y, with side A up; -1 at the other */
    double off_straight_mm[2]; /* how far the edge of +y, of -y leaves a straight line where a stop may stand; HUGE_VAL:
                                 nowhere two may */
    bool has_catch;            /* a dowel ahead of the tip that does not touch */
    struct tw_stop catch_pin;  /* its contact is the blank's nearest point, catch_gap_mm away */
    double catch_gap_mm;
    struct tw_rect pad, rest;
    double slope, drop_mm; /* top of the rest for side B: slope * x - drop; the drop is the hand-finishing allowance */
    bool has_clamp, has_support;
    bool support_both; /* one support carries the blade with either side up; else side B has a mirrored twin */
    struct tw_rect clamp, support; /* the bar over the blade; what carries the blade under it with side A up */
    double clamp_force_N; /* the job's own, or where the magnet is too weak for pad and rest, what the clamp needs */
    struct tw_holding holding[2];   /* what carries the blank and holds it, side A and B up */
    struct tw_overhang free_end[2]; /* what of the tang hangs free past the rest */
    int station_count, station_most;
    double pitch_mm; /* from station to station, across */
    struct tw_station stations[TW_FIXTURE_STATIONS_MOST];
    struct tw_rect plate; /* seen from the first station's zero */
    double pad_height_mm; /* from the plate's face to z = 0 */
};

/* Designs for that many stations. */
enum tw_status tw_fixture_design(const struct tw_job *job, int stations, struct tw_fixture_design *out,
                                 struct tw_findings *findings);

void tw_fixture_design_free(struct tw_fixture_design *design);

/* Where a station's zero lies, seen from the first one's. */
struct tw_point tw_fixture_station_at(const struct tw_fixture_design *design, int station);

/* Whether the clamp is there because pad and rest alone would not hold the blank, though the job has none. */
bool tw_fixture_adds_clamp(const struct tw_fixture_design *design);

/* What carries the blade under the clamp with that side up; only where it has_support. */
struct tw_rect tw_fixture_support(const struct tw_fixture_design *design, enum tw_side side);

/* Whether a clamp presses on a blade that nothing of the fixture carries: the maker has to. */
bool tw_fixture_blade_hangs(const struct tw_fixture_design *design);

/* Whether the free end of the tang bends by less than half of what the machine gives way under the wheel (judgement). */
bool tw_fixture_is_firm(const struct tw_fixture_design *design);

/* Height of the rest's top at x, with that side up. */
double tw_fixture_rest_mm(const struct tw_fixture_design *design, enum tw_side side, double x_mm);

/* With z zero on the pad side A leaves a blank that is thinner or thicker by e with a face e beside the one that rest B
 * fits; with z zero on the ricasso's upper face every blank fits. Whether the job's band lets that happen. */
bool tw_fixture_band_lifts(const struct tw_fixture_design *design);

/* "rear stop", "front stop", "end stop" */
const char *tw_stop_name(int stop);

/* ---- the plate's features, as they are drawn and drilled ---- */

enum tw_feature_kind {
    TW_FEATURE_DOWEL,
    TW_FEATURE_THREAD, /* of the plate, for what is screwed down from above */
    TW_FEATURE_SCREW,  /* through the plate, for a screw from below into a block that stands on it */
    TW_FEATURE_WINDOW
};

struct tw_feature {
    enum tw_feature_kind kind;
    int station;   /* from 0 */
    char name[48]; /* "rear stop, A up" */
    enum tw_in_place sides;
    struct tw_point at;          /* from the first station's zero; of a window its middle */
    double diameter_mm;          /* of a hole */
    double deep_mm, long_mm;     /* of a dowel's hole below the plate's face, and its dowel's length; else 0 */
    double wide_x_mm, wide_y_mm; /* of a window */
};

/* Whether the machine, with the plate where it is to lie for grinding and the stations where the design has them, cannot take its
 * spindle there: past the end of its travel along or across. Of a window, anywhere in it. Never where the spindle lies level: the
 * plate is drilled on another machine then. */
bool tw_feature_is_beyond(const struct tw_fixture_design *design, const struct tw_feature *feature);

/* The holes and windows that lie beyond, by their numbers, the farthest of them and the travel that it leaves, in one sentence:
 * "holes and windows no. 3, 4 ..."; *out NULL: there are none. *out is the caller's: free(). */
enum tw_status tw_fixture_beyond(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* *out is the caller's: free(). */
enum tw_status tw_fixture_features(const struct tw_fixture_design *design, struct tw_feature **out, size_t *count,
                                   struct tw_findings *findings);

/* ---- what is to be made or bought ---- */

enum tw_piece_kind {
    TW_PIECE_PLATE,
    TW_PIECE_BLOCK,     /* level with the pad */
    TW_PIECE_REST_B,    /* rises to the butt */
    TW_PIECE_OWN_BLOCK, /* to be set under the clamp by hand: none fits that the plate could carry */
    TW_PIECE_CLAMP,
    TW_PIECE_DOWEL,
    TW_PIECE_WEDGE
};
enum { TW_PIECES_MOST = 12 };

struct tw_piece {
    enum tw_piece_kind kind;
    char name[48];
    int count; /* for all stations */
    double length_mm;
    double width_mm; /* of a dowel its diameter; 0: as the blade asks for */
    /* Over the plate's face, of a bar at its thick and its thin end; of plate and clamp their thickness. On a magnet the blocks go
     * through the plate, and are higher by its thickness. */
    double high_mm, low_mm;
    double deep_mm; /* of a dowel's hole below the plate's face */
    bool moved;     /* a dowel that is pulled and put into another hole for side B */
    char material[64];
};

size_t tw_fixture_pieces(const struct tw_fixture_design *design, struct tw_piece out[TW_PIECES_MOST]);

/* How its faces are ground, and what else is to be known. */
const char *tw_piece_faces(const struct tw_fixture_design *design, const struct tw_piece *piece);

/* Length of a stop's dowel, a size that is sold, and the depth of its hole: what is left of it below the plate's face. */
double tw_fixture_dowel_mm(const struct tw_fixture_design *design, const struct tw_stop *stop);
double tw_fixture_hole_mm(const struct tw_fixture_design *design, const struct tw_stop *stop);

/* From the blade's upper face to the height that the clamp may reach, the heads of its screws included. */
double tw_fixture_clamp_room_mm(const struct tw_fixture_design *design);

/* ---- texts; the caller's: free() ---- */

/* A fixture's profile, to be named in the job. */
enum tw_status tw_fixture_profile(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* The plate at 1:1, ASCII DXF R12, in mm. Its zero is the first station's. */
enum tw_status tw_fixture_dxf(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* The plate at 1:1 with dimensions, numbers and the table of coordinates. */
enum tw_status tw_fixture_svg(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* What was designed, for a terminal. */
enum tw_status tw_fixture_table(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* ---- bars that are ground to the taper's slope ---- */

enum tw_bar_kind {
    TW_BAR_REST_B, /* the rest for side B, ground in its place: its own zero lies at its thick end, on the plate's face */
    TW_BAR_WEDGE   /* two of them under the plate make the tilt where there is no sine plate */
};

struct tw_bar {
    enum tw_bar_kind kind;
    double length_mm, width_mm;
    double thick_mm, thin_mm; /* finished height at its ends; x of the bar runs from the thick end to the thin one */
    double thicker_mm;        /* stock: it is so much thicker at most before it is ground */
};

struct tw_bar tw_fixture_bar(const struct tw_fixture_design *design, enum tw_bar_kind kind);

/* Height of the rear edge of the pad's face in the program that grinds the rest for side B: what to touch off. In the tilted
 * mount the ricasso end is raised meanwhile, about the bar's zero at the rest's rear end. */
double tw_fixture_touch_mm(const struct tw_fixture_design *design);

/* How far each station's work offset has to be moved along, as the machine counts, to grind the rest for side B: from the taper start
 * to the bar's thick end. Back again behind it. */
double tw_fixture_zero_moves_mm(const struct tw_fixture_design *design);

/* Whether screws hold the bar while it is ground: where there is no magnet, from below; where the magnet is too weak for so small
 * a bar, through the plate against the side of its window. */
bool tw_bar_is_screwed(const struct tw_fixture_design *design, enum tw_bar_kind kind);

/* "rest-b", "wedge" */
const char *tw_bar_name(enum tw_bar_kind kind);

/* The job's machine and steel as a bar is ground with them: a shallow copy that owns nothing. */
struct tw_job tw_bar_equipment(const struct tw_fixture_design *design, enum tw_bar_kind kind);

/* Its job, which names bar.csv and the profiles machine.cfg, wheel.cfg, steel.cfg, coolant.cfg and fixture.cfg beside it. */
enum tw_status tw_bar_job(const struct tw_fixture_design *design, enum tw_bar_kind kind, char **out,
                          struct tw_findings *findings);
enum tw_status tw_bar_outline(const struct tw_bar *bar, char **out, struct tw_findings *findings);
/* Its fixture: the bare plate. */
enum tw_status tw_bar_fixture(const struct tw_fixture_design *design, enum tw_bar_kind kind, char **out,
                              struct tw_findings *findings);

#endif
