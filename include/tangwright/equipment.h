/* equipment.h - the machine, wheel, steel, coolant and fixture of a job, as plain data.
 *
 * A bare name is a count, a ratio or a word; every other member carries its unit in its name:
 * mm, s, W, N, K, rad. Ranges and defaults stand in the key tables of src/input. */
#ifndef TANGWRIGHT_EQUIPMENT_H
#define TANGWRIGHT_EQUIPMENT_H

#include "tangwright/outline.h"

#include <stdbool.h>
#include <stddef.h>

/* One controlled axis: which letter of the program moves the wheel along one direction of the setup frame. */
struct tw_axis {
    char letter;          /* 'X', 'Y' or 'Z' */
    int sign;             /* +1 or -1: program word = sign * setup coordinate */
    double travel_min_mm; /* in the machine's own coordinates of that letter */
    double travel_max_mm;
    double rapid_mm_per_s;
    double acceleration_mm_per_s2;
};

enum tw_spindle { TW_SPINDLE_VERTICAL, TW_SPINDLE_HORIZONTAL };
enum tw_path_mode { TW_PATH_UNSET, TW_PATH_EXACT, TW_PATH_EXACT_STOP, TW_PATH_BLENDED }; /* -, G61, G61.1, G64 */
enum tw_dwell_word { TW_DWELL_P_SECONDS, TW_DWELL_P_MILLISECONDS, TW_DWELL_X_SECONDS };

/* How this controller wants its RS-274 text. */
struct tw_dialect {
    bool inch; /* G20, else G21 */
    int length_decimals;
    int feed_decimals;
    bool line_numbers;
    int line_number_step;
    bool percent_lines;
    bool comments;
    bool two_digit_codes; /* G01 instead of G1 */
    bool carriage_returns;
    bool cancel_radius; /* G40 in the safe line */
    bool cancel_length; /* G49 */
    bool cancel_cycles; /* G80 */
    bool select_plane;  /* G17, G18 or G19 */
    enum tw_path_mode path_mode;
    enum tw_dwell_word dwell_word;
    int flood_code, mist_code; /* 7 or 8; 0: the controller switches none */
    int end_code;              /* 2 or 30 */
    char *file_ending;         /* of programs' names, "nc": letters and digits, 1 to 8 */
    bool program_stop;         /* M0 stops it, the wheel can be dressed and touched off, and it goes on */
};

struct tw_machine {
    char *name;
    enum tw_spindle spindle;
    struct tw_axis along, across, up; /* right-handed: checked */
    double feed_min_mm_per_s, feed_max_mm_per_s;
    double smallest_step_mm; /* smallest infeed the up axis really makes */
    double spindle_power_W;  /* at the wheel, after losses */
    double spindle_min_rpm, spindle_max_rpm;
    bool spindle_programmable;       /* false: one fixed speed, spindle_max_rpm, started by the program's M3 */
    bool spindle_counterclockwise;   /* M4 instead of M3 */
    double spindle_up_to_speed_s;    /* dwell after the start */
    double spindle_nose_diameter_mm; /* body above the wheel that must not touch anything either */
    double wheel_overhang_mm;        /* cup: rim face to spindle nose; disc: unused */
    double head_tilt_rad; /* cup: the rim's side towards the taper start is the lower one by so much; rim.h */
    /* how far wheel and part give way to each other under the normal force, over it; and its range */
    double stiffness_N_per_mm, stiffness_least_N_per_mm, stiffness_most_N_per_mm;
    double growth_mm, growth_s; /* of the cold spindle towards the part, in all; time constant */
    struct tw_dialect dialect;
};

enum tw_wheel_kind { TW_WHEEL_DISC, TW_WHEEL_CUP };
enum tw_abrasive { TW_ABRASIVE_ALUMINA, TW_ABRASIVE_CBN };
enum tw_rim_state { TW_RIM_FRESH, TW_RIM_WORN_IN };

struct tw_wheel {
    char *name;
    enum tw_wheel_kind kind;         /* a mounted point that cuts on its end is a cup whose rim is its radius */
    double diameter_mm;              /* outer, as it is now */
    double width_mm;                 /* disc: T; cup: its height T */
    double rim_width_mm;             /* cup only: W */
    double operating_speed_mm_per_s; /* the wheel's marked maximum; never exceeded */
    double speed_mm_per_s;           /* wanted surface speed */
    double min_infeed_mm;            /* below this the wheel rubs more than it cuts */
    double max_infeed_mm;            /* largest depth of one pass */
    double max_crossfeed_ratio;      /* disc: lane distance over width; cup: lane distance over diameter */
    double customary_table_mm_per_s; /* customary table speed, where the schedule starts its comparison */
    double force_ratio, force_ratio_least, force_ratio_most; /* normal over tangential force */
    /* grinding energy and heat partition, see docs/heat-model.md */
    double grain_conductivity_W_per_mm_K;
    double grain_radius_mm;
    double work_partition;            /* 0.05..1, of the heat of wheel and steel; 0: Hahn's rule from the two above */
    double specific_energy_J_per_mm3; /* u_ref at an equivalent chip thickness of 0.1 um */
    bool calibrated;                  /* it was measured */
    double size_exponent;             /* n */
    double min_specific_energy_J_per_mm3;
    double chip_energy_J_per_mm3; /* what chips carry away at most */
    double contact_ratio;         /* disc: real over geometric contact length */
    enum tw_abrasive abrasive;
    /* steel taken off over wheel lost, and its range; wear.h. 0: not known */
    double grinding_ratio, grinding_ratio_least, grinding_ratio_most;
    double dress_after_mm3;      /* steel after which it wants dressing; 0: never */
    enum tw_rim_state rim_state; /* cup */
    double lead_in_rad;    /* cup: of the edge that cuts, measured or assumed; 0: worn in, rim_contact_mm counts */
    double rim_contact_mm; /* cup whose rim is worn in: heated length at most; default half the rim */
};

struct tw_steel {
    char *name;
    double conductivity_W_per_mm_K;
    double density_g_per_mm3;
    double specific_heat_J_per_g_K;
    double tempering_degC;  /* usual temper; the job normally gives this knife's own */
    double temper_constant; /* C of Hollomon and Jaffe, temper.h; 0: not known */
    double wheel_wear;      /* how many times as fast it wears an alumina wheel as low-alloy steel does */
    double softening_HRC;   /* hardness lost per unit of P by that C; 0: not known */
    double magnetic_pull;   /* a magnet's pull on it, hardened, over that on mild steel */
};

/* Where a coolant's contact_conductance holds: 10 um deep by a disc of 200 mm, at a usual wheel speed. */
#define TW_FILM_CONTACT_MM     1.4
#define TW_FILM_WHEEL_MM_PER_S 30e3

enum tw_coolant_kind { TW_COOLANT_DRY, TW_COOLANT_MIST, TW_COOLANT_FLOOD };

struct tw_coolant {
    char *name;
    enum tw_coolant_kind kind;
    double contact_conductance_W_per_mm2_K; /* h_f inside a contact of TW_FILM_CONTACT_MM at TW_FILM_WHEEL_MM_PER_S */
    double contact_conductance_least_W_per_mm2_K; /* lower end of its range; 0: as stated */
    double flow_mm3_per_s;                        /* pumped or sprayed; 0: not known */
    double flow_heat_J_per_mm3;                   /* that a volume of it takes up at most */
    double flow_share;                            /* of the flow, what goes through the contact */
    double boiling_degC;                    /* contact temperature above which the film boils and h_f counts as 0 */
    double surface_conductance_W_per_mm2_K; /* outside the contact, over the face */
    double joint_conductance_W_per_mm2_K;   /* blank to fixture below */
    double temperature_degC;                /* of coolant, air and fixture */
};

enum tw_keep_out_kind { TW_KEEP_OUT_CLAMP, TW_KEEP_OUT_PIN, TW_KEEP_OUT_PAD, TW_KEEP_OUT_BODY };

/* With which side up a keep-out stands on the fixture: stops are moved when the blank is turned over. */
enum tw_in_place { TW_IN_PLACE_BOTH, TW_IN_PLACE_A, TW_IN_PLACE_B };

/* A solid of the fixture: its plan shape, from the table up to its top. Setup frame, same for both sides. */
struct tw_keep_out {
    char *name;
    enum tw_keep_out_kind kind;
    struct tw_ring plan;
    double top_mm;  /* z of its top, at its highest */
    double rise_mm; /* by how much the top rises along x, from its front end to its rear end */
    enum tw_in_place sides;
};

/* Where the setup frame's origin lies in machine coordinates for one part of the fixture. */
struct tw_station {
    int work_offset;                   /* 1..9 for G54..G59.3 */
    double along_mm, across_mm, up_mm; /* machine coordinates of the letters that these directions map to */
    double lower_mm; /* faces were gauged to come out so much too high here: programs go lower by it */
};

/* Sets of gauge blocks as they are commonly listed, by their number of blocks; packing.h tells their sizes. */
enum tw_block_set { TW_BLOCKS_METRIC_87, TW_BLOCKS_METRIC_88, TW_BLOCKS_INCH_81 };

enum tw_packing { TW_PACKING_SHIMS, TW_PACKING_STEEL };

struct tw_fixture {
    char *name;
    struct tw_keep_out *keep_outs;
    size_t keep_out_count;
    struct tw_station *stations;
    size_t station_count;
    double clearance_mm;       /* smallest distance of the moving wheel from any keep-out */
    double touch_tolerance_mm; /* a stop this near to the blank, or overlapping it by less, touches it */
    double clamp_force_N;      /* total clamping force, 0 if held by magnet alone */
    double pull_N_per_mm2;     /* real magnet pull on mild steel as thick as the blank, 0 if clamped alone */
    double gap_scale_mm;       /* g0: over a gap as wide, a quarter of the pull is left */
    double pole_mm;            /* from pole to pole */
    enum tw_packing packing;   /* what fills the gap under the tang where nothing of the fixture does */
    double friction;
    double holding_safety;
    double sine_bar_mm;       /* length between the rolls, or of the vice that is raised at one end */
    enum tw_block_set blocks; /* what the stack under the sine bar's roll is made of */
};

#endif
