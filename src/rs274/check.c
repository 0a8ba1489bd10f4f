/* check.c - what one line may not say, whatever went before it: NISTIR 6556, sections 3.4 and 3.5. */
#include "rs274/parts.h"

static bool takes_axis_words(int g_non_modal)
{
    return g_non_modal == 100 || g_non_modal == 280 || g_non_modal == 300 || g_non_modal == 920;
}

static bool is_arc(int g_motion)
{
    return g_motion == 20 || g_motion == 30;
}

static bool check_axis_words(const struct rs274_line *line, struct rs274_faults *faults)
{
    int once = line->g[RS274_G_NON_MODAL], motion = line->g[RS274_G_MOTION];
    bool axes = (line->letters & RS274_AXIS_BITS) != 0;
    bool moves = motion != RS274_NOT_THERE && motion != 800;

    if (moves && takes_axis_words(once))
        return rs274_fault(faults, line->line, TW_RS274_AXIS_WORDS_CLAIMED_TWICE,
                           "G%g and G%g both take the axis words of this line; put them on two lines", motion / 10.0,
                           once / 10.0);
    if (once == 920 && !axes)
        return rs274_fault(faults, line->line, TW_RS274_NO_AXIS_WORD, "G92 needs at least one of X, Y and Z");
    if (once == 530 && !axes)
        return rs274_fault(faults, line->line, TW_RS274_NO_AXIS_WORD, "G53 needs at least one of X, Y and Z");
    if (motion == 800 && axes && !takes_axis_words(once))
        return rs274_fault(faults, line->line, TW_RS274_AXIS_WORD_WITHOUT_MOTION,
                           "G80 says no motion, but the line has axis words; leave one of them out");
    /* An arc lacking its words is told apart later, when the plane is known. */
    if (moves && !axes && (!is_arc(motion) || !(line->letters & ~(rs274_bit('F') | rs274_bit('S') | rs274_bit('T')))))
        return rs274_fault(faults, line->line, TW_RS274_NO_AXIS_WORD,
                           "G%g needs at least one of X, Y and Z on its line", motion / 10.0);
    return true;
}

static bool check_dwell(const struct rs274_line *line, struct rs274_faults *faults)
{
    if (!rs274_has(line, 'P'))
        return rs274_fault(faults, line->line, TW_RS274_MISSING_WORD, "G4 needs P, the seconds to wait");
    return true;
}

static bool check_origin(const struct rs274_line *line, struct rs274_faults *faults)
{
    int table, system;

    if (!rs274_has(line, 'L') || !rs274_has(line, 'P'))
        return rs274_fault(faults, line->line, TW_RS274_MISSING_WORD,
                           "G10 needs L2 and P, the number 1 to 9 of the work system to set");
    if (!rs274_whole(rs274_value(line, 'L'), &table) || table != 2)
        return rs274_fault(faults, line->line, TW_RS274_NOT_SUPPORTED,
                           "G10 L%.10g is not supported; G10 L2 sets the origin of a work system",
                           rs274_value(line, 'L'));
    if (!rs274_whole(rs274_value(line, 'P'), &system) || system < 1 || system > TW_RS274_SYSTEMS)
        return rs274_fault(faults, line->line, TW_RS274_VALUE_OUT_OF_RANGE,
                           "G10 L2 P%.10g: P must be a whole number from 1 (G54) to 9 (G59.3)", rs274_value(line, 'P'));
    return true;
}

/* Letters that some code written on this line uses, whatever the motion in force. */
static uint32_t used_letters(const struct rs274_line *line)
{
    uint32_t used = RS274_AXIS_BITS | rs274_bit('F') | rs274_bit('S') | rs274_bit('T');
    /* I J K R may belong to an arc that is in force from an earlier line. */
    uint32_t arc = rs274_bit('I') | rs274_bit('J') | rs274_bit('K') | rs274_bit('R');

    if (is_arc(line->g[RS274_G_MOTION]) || line->g[RS274_G_MOTION] == RS274_NOT_THERE)
        used |= arc;
    if (line->g[RS274_G_NON_MODAL] == 40)
        used |= rs274_bit('P');
    if (line->g[RS274_G_NON_MODAL] == 100)
        used |= rs274_bit('P') | rs274_bit('L');
    if (line->g[RS274_G_LENGTH] == 430)
        used |= rs274_bit('H');
    return used;
}

static bool check_unused(const struct rs274_line *line, struct rs274_faults *faults)
{
    uint32_t unused = line->letters & ~used_letters(line);

    for (char letter = 'A'; unused && letter <= 'Z'; letter++)
        if (unused & rs274_bit(letter))
            return rs274_fault(faults, line->line, TW_RS274_UNUSED_WORD,
                               "%c%.10g means nothing here: no code on this line uses %c", letter,
                               rs274_value(line, letter), letter);
    return true;
}

bool rs274_check_line(const struct rs274_line *line, struct rs274_faults *faults)
{
    if (!check_axis_words(line, faults))
        return false;
    if (line->g[RS274_G_NON_MODAL] == 40 && !check_dwell(line, faults))
        return false;
    if (line->g[RS274_G_NON_MODAL] == 100 && !check_origin(line, faults))
        return false;
    if (line->g[RS274_G_LENGTH] == 430 && !rs274_has(line, 'H'))
        return rs274_fault(faults, line->line, TW_RS274_MISSING_WORD, "G43 needs H, the slot of the tool length");
    return check_unused(line, faults);
}
