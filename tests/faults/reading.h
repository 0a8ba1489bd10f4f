/* reading.h - a program's text as motions, for the judge alone: written from NISTIR 6556, section 3, and sharing nothing with
 * src/rs274. It knows what good programs use and little more; whatever it does not know it does not read, and a program
 * that it cannot read is never called harmless. */
#ifndef TANGWRIGHT_TESTS_FAULTS_READING_H
#define TANGWRIGHT_TESTS_FAULTS_READING_H

#include "tangwright/job.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define READING_CHORDS 200 /* of an arc */

/* What is in force. `plane` and `path` are the codes that set them, times ten. */
struct reading_modes {
    bool inch, incremental, inverse, flood, mist, no_overrides;
    int motion, plane, path, system; /* motion: -1 after G80; system: 1 to 9 */
    int spindle;                     /* 3, 4 or 5 */
    double rpm;
};

/* From place to place in machine coordinates of X, Y and Z. */
struct reading_motion {
    double from_mm[3], to_mm[3];
    bool rapid;
    struct reading_modes modes;
    double waited_s; /* dwelt since the spindle was last switched */
};

struct reading {
    double origins_mm[9][3];
    char dwell_letter;
    double dwell_s; /* of one */
    struct reading_motion *motions;
    size_t count, capacity;
    double at_mm[3], waited_s;
    struct reading_modes modes;
    bool ended; /* by M2 or M30 */
};

/* The words of one block. A letter may stand there once, but for G and M. */
struct reading_block {
    bool has[26];
    double value[26];
    int g[12], m[6], g_count, m_count; /* times ten */
};

static inline void reading_add(struct reading *reading, const double to_mm[3], bool rapid)
{
    struct reading_motion motion = { .rapid = rapid, .modes = reading->modes, .waited_s = reading->waited_s };

    if (reading->count == reading->capacity) {
        reading->capacity = 2 * reading->capacity + 256;
        reading->motions = realloc(reading->motions, reading->capacity * sizeof *reading->motions);
        if (!reading->motions)
            abort();
    }
    memcpy(motion.from_mm, reading->at_mm, sizeof motion.from_mm);
    memcpy(motion.to_mm, to_mm, sizeof motion.to_mm);
    memcpy(reading->at_mm, to_mm, sizeof reading->at_mm);
    reading->motions[reading->count++] = motion;
}

/* ---- words ---- */

/* Without comments, blanks and small letters; false: a comment that does not end, or a line too long. */
static inline bool reading_bare(const char *line, size_t length, char out[300])
{
    size_t used = 0;

    for (size_t i = 0; i < length; i++) {
        if (line[i] == '(') {
            while (i < length && line[i] != ')')
                i++;
            if (i == length)
                return false;
        } else if (!isspace((unsigned char)line[i])) {
            if (used == 299)
                return false;
            out[used++] = (char)toupper((unsigned char)line[i]);
        }
    }
    out[used] = '\0';
    return true;
}

static inline bool reading_words(const char *text, struct reading_block *out)
{
    *out = (struct reading_block){ 0 };
    while (*text) {
        size_t length = strspn(text + 1, "+-.0123456789");
        char letter = *text, number[40], *end;
        double value;

        if (letter < 'A' || letter > 'Z' || length == 0 || length >= sizeof number)
            return false;
        memcpy(number, text + 1, length); /* by itself: strtod() would read "0X1" as one number */
        number[length] = '\0';
        value = strtod(number, &end);
        if (*end != '\0')
            return false;
        text += 1 + length;
        if (letter == 'G') {
            if (out->g_count == 12)
                return false;
            out->g[out->g_count++] = (int)lround(10.0 * value);
        } else if (letter == 'M') {
            if (out->m_count == 6)
                return false;
            out->m[out->m_count++] = (int)lround(10.0 * value);
        } else if (out->has[letter - 'A']) {
            return false;
        } else {
            out->has[letter - 'A'] = true;
            out->value[letter - 'A'] = value;
        }
    }
    return true;
}

static inline double reading_value(const struct reading_block *block, char letter)
{
    return block->has[letter - 'A'] ? block->value[letter - 'A'] : 0.0;
}

/* ---- motions ---- */

static inline double reading_scale(const struct reading *reading)
{
    return reading->modes.inch ? 25.4 : 1.0;
}

static inline void reading_target(const struct reading *reading, const struct reading_block *block, bool machine,
                                  double out_mm[3])
{
    for (int k = 0; k < 3; k++) {
        double value_mm = reading_value(block, (char)('X' + k)) * reading_scale(reading);

        out_mm[k] = reading->at_mm[k];
        if (!block->has['X' - 'A' + k])
            continue;
        if (machine)
            out_mm[k] = value_mm;
        else
            out_mm[k] = reading->modes.incremental ? reading->at_mm[k] + value_mm
                                                   : reading->origins_mm[reading->modes.system - 1][k] + value_mm;
    }
}

/* The two axes of the plane, the second a quarter turn from the first: XY, ZX or YZ. */
static inline void reading_axes(int plane, int *a, int *b)
{
    *a = plane == 180 ? 2 : plane == 190 ? 1 : 0;
    *b = plane == 180 ? 0 : plane == 190 ? 2 : 1;
}

static inline bool reading_centre(const struct reading *reading, const struct reading_block *block,
                                  const double to_mm[3], int a, int b, int turn, double centre_mm[2])
{
    static const char offsets[] = "IJK";
    double scale = reading_scale(reading), dx = to_mm[a] - reading->at_mm[a], dy = to_mm[b] - reading->at_mm[b];

    if (block->has['R' - 'A']) {
        double r = reading_value(block, 'R') * scale, half = hypot(dx, dy) / 2.0;
        double off = sqrt(fmax(0.0, r * r - half * half)) * (r > 0.0 ? 1.0 : -1.0) * turn;

        if (!(half > 0.0) || half > fabs(r) * (1.0 + 1e-6))
            return false;
        /* To the left of the way for the short arc that turns left. */
        centre_mm[0] = reading->at_mm[a] + dx / 2.0 - off * dy / (2.0 * half);
        centre_mm[1] = reading->at_mm[b] + dy / 2.0 + off * dx / (2.0 * half);
        return true;
    }
    centre_mm[0] = reading->at_mm[a] + reading_value(block, offsets[a]) * scale;
    centre_mm[1] = reading->at_mm[b] + reading_value(block, offsets[b]) * scale;
    return block->has['I' - 'A'] || block->has['J' - 'A'] || block->has['K' - 'A'];
}

static inline bool reading_arc(struct reading *reading, const struct reading_block *block, const double to_mm[3])
{
    const double full = 2.0 * acos(-1.0);
    int a, b, turn = reading->modes.motion == 3 ? 1 : -1;
    double centre_mm[2], from_mm[3], r[2], begin, angle;

    reading_axes(reading->modes.plane, &a, &b);
    if (!reading_centre(reading, block, to_mm, a, b, turn, centre_mm))
        return false;
    memcpy(from_mm, reading->at_mm, sizeof from_mm);
    r[0] = hypot(from_mm[a] - centre_mm[0], from_mm[b] - centre_mm[1]);
    r[1] = hypot(to_mm[a] - centre_mm[0], to_mm[b] - centre_mm[1]);
    if (fabs(r[0] - r[1]) > 0.05)
        return false;
    begin = atan2(from_mm[b] - centre_mm[1], from_mm[a] - centre_mm[0]);
    angle = turn * (atan2(to_mm[b] - centre_mm[1], to_mm[a] - centre_mm[0]) - begin);
    while (angle <= 1e-9)
        angle += full;
    while (angle > full + 1e-9)
        angle -= full;
    for (int i = 1; i <= READING_CHORDS; i++) {
        double share = (double)i / READING_CHORDS, at[3], radius = r[0] + share * (r[1] - r[0]);

        for (int k = 0; k < 3; k++)
            at[k] = from_mm[k] + share * (to_mm[k] - from_mm[k]);
        if (i < READING_CHORDS) {
            at[a] = centre_mm[0] + radius * cos(begin + turn * share * angle);
            at[b] = centre_mm[1] + radius * sin(begin + turn * share * angle);
        }
        reading_add(reading, at, false);
    }
    return true;
}

static inline bool reading_move(struct reading *reading, const struct reading_block *block, bool machine)
{
    double to_mm[3];

    if (machine && (reading->modes.motion > 1 || reading->modes.incremental))
        return false;
    reading_target(reading, block, machine, to_mm);
    if (reading->modes.motion > 1)
        return reading_arc(reading, block, to_mm);
    reading_add(reading, to_mm, reading->modes.motion == 0);
    return true;
}

/* ---- codes ---- */

static inline bool reading_set_g(struct reading_modes *modes, int code, bool *dwell, bool *machine)
{
    switch (code) {
    case 0:
    case 10:
    case 20:
    case 30:
        modes->motion = code / 10;
        return true;
    case 40:
        return *dwell = true;
    case 170:
    case 180:
    case 190:
        modes->plane = code;
        return true;
    case 200:
    case 210:
        modes->inch = code == 200;
        return true;
    case 400:
    case 490:
        return true;
    case 530:
        return *machine = true;
    case 540:
    case 550:
    case 560:
    case 570:
    case 580:
    case 590:
        modes->system = code / 10 - 53;
        return true;
    case 591:
    case 592:
    case 593:
        modes->system = code - 591 + 7;
        return true;
    case 610:
    case 611:
    case 640:
        modes->path = code;
        return true;
    case 800:
        modes->motion = -1;
        return true;
    case 900:
    case 910:
        modes->incremental = code == 910;
        return true;
    case 930:
    case 940:
        modes->inverse = code == 930;
        return true;
    default:
        return false;
    }
}

static inline bool reading_set_m(struct reading *reading, int code, bool *end)
{
    struct reading_modes *modes = &reading->modes;

    switch (code) {
    case 20:
    case 300:
        return *end = true;
    case 30:
    case 40:
    case 50:
        if (modes->spindle != code / 10)
            reading->waited_s = 0.0;
        modes->spindle = code / 10;
        return true;
    case 70:
        return modes->mist = true;
    case 80:
        return modes->flood = true;
    case 90:
        modes->mist = modes->flood = false;
        return true;
    case 480:
    case 490:
        modes->no_overrides = code == 490;
        return true;
    default:
        return false;
    }
}

/* In the order of the standard's table: speed, spindle, coolant, dwell, modes, motion, end. */
static inline bool reading_block(struct reading *reading, const struct reading_block *block)
{
    static const char known[] = "FGIJKMNPRSXYZ";
    bool dwell = false, machine = false, end = false, moves = false, read = true;

    for (int k = 0; k < 26; k++)
        if (block->has[k] && !strchr(known, 'A' + k))
            return false;
    if (block->has['S' - 'A'] && block->value['S' - 'A'] != reading->modes.rpm) {
        reading->modes.rpm = block->value['S' - 'A'];
        reading->waited_s = 0.0;
    }
    for (int i = 0; read && i < block->m_count; i++)
        read = reading_set_m(reading, block->m[i], &end);
    for (int i = 0; read && i < block->g_count; i++)
        read = reading_set_g(&reading->modes, block->g[i], &dwell, &machine);
    if (!read)
        return false;
    if (dwell)
        reading->waited_s += reading_value(block, reading->dwell_letter) * reading->dwell_s;
    for (int k = 'X'; k <= 'Z'; k++)
        moves |= block->has[k - 'A'] && !(dwell && k == reading->dwell_letter);
    if (dwell && moves && reading->dwell_letter == 'X')
        return false;              /* whose X would it be */
    if (reading->modes.motion > 1) /* a full circle needs no end */
        moves |= block->has['I' - 'A'] || block->has['J' - 'A'] || block->has['K' - 'A'];
    if (moves)
        read = reading->modes.motion >= 0 && reading_move(reading, block, machine);
    reading->ended = end;
    return read;
}

/* Where the line that begins at `text` ends, and the next one begins. */
static inline const char *reading_line(const char *text, const char *end, size_t *length)
{
    const char *stop = text;

    while (stop < end && *stop != '\n' && *stop != '\r')
        stop++;
    *length = (size_t)(stop - text);
    if (stop < end && *stop == '\r' && stop + 1 < end && stop[1] == '\n')
        stop++;
    return stop < end ? stop + 1 : end;
}

/* `reading` has its origins, its dwells and where it stands. Lines of a percent sign alone may stand round the program. */
static inline bool reading_text(struct reading *reading, const char *text, size_t size)
{
    const char *end = text + size;
    bool percent = false;

    reading->modes = (struct reading_modes){ .motion = 1, .plane = 170, .path = 610, .system = 1, .spindle = 5 };
    if (size >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0)
        text += 3;
    for (size_t length; text < end && !reading->ended;) {
        const char *line = text;
        struct reading_block block;
        char bare[300];

        text = reading_line(text, end, &length);
        if (!reading_bare(line, length, bare))
            return false;
        if (strcmp(bare, "%") == 0) {
            if (percent)
                return false;
            percent = true;
        } else if (!reading_words(bare, &block) || !reading_block(reading, &block)) {
            return false;
        }
    }
    return true;
}

/* What the profile says of dwells. */
static inline void reading_set_dwell(struct reading *reading, const struct tw_dialect *dialect)
{
    reading->dwell_letter = dialect->dwell_word == TW_DWELL_X_SECONDS ? 'X' : 'P';
    reading->dwell_s = dialect->dwell_word == TW_DWELL_P_MILLISECONDS ? 1e-3 : 1.0;
}

#endif
