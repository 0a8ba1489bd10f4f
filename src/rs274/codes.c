/* codes.c - every code of the report with its modal group: NISTIR 6556, section 3.4, table 4. */
#include "rs274/parts.h"

#define CYCLE        "a canned cycle"
#define COMPENSATION "cutter radius compensation"

/* The codes of long programs stand first, as the search goes from the top. */
static const struct rs274_code g_codes[] = {
    { 10, RS274_G_MOTION, NULL },
    { 0, RS274_G_MOTION, NULL },
    { 20, RS274_G_MOTION, NULL },
    { 30, RS274_G_MOTION, NULL },
    { 40, RS274_G_NON_MODAL, NULL },
    { 170, RS274_G_PLANE, NULL },
    { 180, RS274_G_PLANE, NULL },
    { 190, RS274_G_PLANE, NULL },
    { 200, RS274_G_UNITS, NULL },
    { 210, RS274_G_UNITS, NULL },
    { 900, RS274_G_DISTANCE, NULL },
    { 910, RS274_G_DISTANCE, NULL },
    { 930, RS274_G_FEED_MODE, NULL },
    { 940, RS274_G_FEED_MODE, NULL },
    { 540, RS274_G_SYSTEM, NULL },
    { 550, RS274_G_SYSTEM, NULL },
    { 560, RS274_G_SYSTEM, NULL },
    { 570, RS274_G_SYSTEM, NULL },
    { 580, RS274_G_SYSTEM, NULL },
    { 590, RS274_G_SYSTEM, NULL },
    { 591, RS274_G_SYSTEM, NULL },
    { 592, RS274_G_SYSTEM, NULL },
    { 593, RS274_G_SYSTEM, NULL },
    { 610, RS274_G_PATH, NULL },
    { 611, RS274_G_PATH, NULL },
    { 640, RS274_G_PATH, NULL },
    { 400, RS274_G_RADIUS, NULL },
    { 490, RS274_G_LENGTH, NULL },
    { 430, RS274_G_LENGTH, NULL },
    { 800, RS274_G_MOTION, NULL },
    { 530, RS274_G_NON_MODAL, NULL },
    { 100, RS274_G_NON_MODAL, NULL },
    { 280, RS274_G_NON_MODAL, NULL },
    { 300, RS274_G_NON_MODAL, NULL },
    { 920, RS274_G_NON_MODAL, NULL },
    { 921, RS274_G_NON_MODAL, NULL },
    { 922, RS274_G_NON_MODAL, NULL },
    { 923, RS274_G_NON_MODAL, NULL },
    { 980, RS274_G_RETURN, NULL },
    { 990, RS274_G_RETURN, NULL },
    { 410, RS274_G_RADIUS, COMPENSATION },
    { 420, RS274_G_RADIUS, COMPENSATION },
    { 382, RS274_G_MOTION, "straight probing" },
    { 810, RS274_G_MOTION, CYCLE },
    { 820, RS274_G_MOTION, CYCLE },
    { 830, RS274_G_MOTION, CYCLE },
    { 840, RS274_G_MOTION, CYCLE },
    { 850, RS274_G_MOTION, CYCLE },
    { 860, RS274_G_MOTION, CYCLE },
    { 870, RS274_G_MOTION, CYCLE },
    { 880, RS274_G_MOTION, CYCLE },
    { 890, RS274_G_MOTION, CYCLE },
};

static const struct rs274_code m_codes[] = {
    { 3, RS274_M_SPINDLE, NULL },   { 4, RS274_M_SPINDLE, NULL },
    { 5, RS274_M_SPINDLE, NULL },   { 7, RS274_M_COOLANT, NULL },
    { 8, RS274_M_COOLANT, NULL },   { 9, RS274_M_COOLANT, NULL },
    { 0, RS274_M_STOP, NULL },      { 1, RS274_M_STOP, NULL },
    { 2, RS274_M_STOP, NULL },      { 30, RS274_M_STOP, NULL },
    { 6, RS274_M_TOOL, NULL },      { 48, RS274_M_OVERRIDE, NULL },
    { 49, RS274_M_OVERRIDE, NULL }, { 60, RS274_M_STOP, "a pallet change" },
};

static const struct rs274_code *find(const struct rs274_code *codes, size_t count, int number)
{
    for (size_t i = 0; i < count; i++)
        if (codes[i].number == number)
            return &codes[i];
    return NULL;
}

const struct rs274_code *rs274_find_g(int tenths)
{
    return find(g_codes, sizeof g_codes / sizeof g_codes[0], tenths);
}

const struct rs274_code *rs274_find_m(int number)
{
    return find(m_codes, sizeof m_codes / sizeof m_codes[0], number);
}

const char *rs274_g_group_name(int group)
{
    static const char *const names[RS274_G_GROUPS] = {
        [RS274_G_NON_MODAL] = "the codes for one line only (G4 G10 G28 G30 G53 G92)",
        [RS274_G_MOTION] = "the motion codes",
        [RS274_G_PLANE] = "the planes (G17 G18 G19)",
        [RS274_G_DISTANCE] = "the distance modes (G90 G91)",
        [RS274_G_FEED_MODE] = "the feed modes (G93 G94)",
        [RS274_G_UNITS] = "the units (G20 G21)",
        [RS274_G_RADIUS] = "radius compensation (G40 G41 G42)",
        [RS274_G_LENGTH] = "tool length (G43 G49)",
        [RS274_G_RETURN] = "the return levels (G98 G99)",
        [RS274_G_SYSTEM] = "the work systems (G54 to G59.3)",
        [RS274_G_PATH] = "the path modes (G61 G61.1 G64)",
    };
    return names[group];
}

const char *rs274_m_group_name(int group)
{
    static const char *const names[RS274_M_GROUPS] = {
        [RS274_M_STOP] = "the stops (M0 M1 M2 M30 M60)", [RS274_M_TOOL] = "tool change (M6)",
        [RS274_M_SPINDLE] = "the spindle (M3 M4 M5)",    [RS274_M_COOLANT] = "coolant (M7 M8 M9)",
        [RS274_M_OVERRIDE] = "the overrides (M48 M49)",
    };
    return names[group];
}

const char *tw_rs274_system_name(int work_system)
{
    static const char *const names[TW_RS274_SYSTEMS] = { "G54", "G55",   "G56",   "G57",  "G58",
                                                         "G59", "G59.1", "G59.2", "G59.3" };

    return work_system >= 1 && work_system <= TW_RS274_SYSTEMS ? names[work_system - 1] : "no work system";
}

const char *tw_rs274_error_name(enum tw_rs274_error error)
{
    static const char *const names[TW_RS274_ERROR_COUNT] = {
        [TW_RS274_NO_ERROR] = "no-error",
        [TW_RS274_LINE_TOO_LONG] = "line-too-long",
        [TW_RS274_BAD_CHARACTER] = "bad-character",
        [TW_RS274_BAD_NUMBER] = "bad-number",
        [TW_RS274_NUMBER_TOO_LARGE] = "number-too-large",
        [TW_RS274_BAD_LINE_NUMBER] = "bad-line-number",
        [TW_RS274_LINE_NUMBER_PLACE] = "line-number-place",
        [TW_RS274_BAD_COMMENT] = "bad-comment",
        [TW_RS274_BLOCK_DELETE_UNSET] = "block-delete-unset",
        [TW_RS274_STRAY_PERCENT] = "stray-percent",
        [TW_RS274_PERCENT_NOT_CLOSED] = "percent-not-closed",
        [TW_RS274_NO_END] = "no-end",
        [TW_RS274_NOT_SUPPORTED] = "not-supported",
        [TW_RS274_UNKNOWN_CODE] = "unknown-code",
        [TW_RS274_REPEATED_WORD] = "repeated-word",
        [TW_RS274_GROUP_CLASH] = "group-clash",
        [TW_RS274_TOO_MANY_M] = "too-many-m",
        [TW_RS274_NEGATIVE_VALUE] = "negative-value",
        [TW_RS274_VALUE_OUT_OF_RANGE] = "value-out-of-range",
        [TW_RS274_MISSING_WORD] = "missing-word",
        [TW_RS274_UNUSED_WORD] = "unused-word",
        [TW_RS274_NO_AXIS_WORD] = "no-axis-word",
        [TW_RS274_AXIS_WORDS_CLAIMED_TWICE] = "axis-words-claimed-twice",
        [TW_RS274_AXIS_WORD_WITHOUT_MOTION] = "axis-word-without-motion",
        [TW_RS274_G53_WITHOUT_STRAIGHT_MOTION] = "g53-without-straight-motion",
        [TW_RS274_FEED_NOT_SET] = "feed-not-set",
        [TW_RS274_FEED_MISSING] = "feed-missing",
        [TW_RS274_UNITS_CHANGED] = "units-changed",
        [TW_RS274_UNITS_TOO_LATE] = "units-too-late",
        [TW_RS274_ARC_WITHOUT_PLANE_WORD] = "arc-without-plane-word",
        [TW_RS274_ARC_WITHOUT_CENTRE] = "arc-without-centre",
        [TW_RS274_ARC_RADIUS_AND_OFFSET] = "arc-radius-and-offset",
        [TW_RS274_ARC_OFFSET_NOT_IN_PLANE] = "arc-offset-not-in-plane",
        [TW_RS274_ARC_RADIUS_MISMATCH] = "arc-radius-mismatch",
        [TW_RS274_ARC_RADIUS_TOO_SMALL] = "arc-radius-too-small",
        [TW_RS274_ARC_ENDS_AT_START] = "arc-ends-at-start",
        [TW_RS274_ARC_WITHOUT_RADIUS] = "arc-without-radius",
    };

    return (unsigned)error < TW_RS274_ERROR_COUNT ? names[error] : "unknown-error";
}
