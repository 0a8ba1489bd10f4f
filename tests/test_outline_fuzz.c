/* test_outline_fuzz.c - a small, always equal slice of mutated drawings: none may crash, hang or give an unsound
 * outline. tests/fuzz/fuzz_outline.c runs the same checks for as long as one likes. */
#include "outline/fuzz.h"
#include "outline/help.h"

#include <stdint.h>

#define ROUNDS 800

static uint64_t state;

/* xorshift64: Marsaglia, Xorshift RNGs, J. Stat. Softw. 8(14) (2003). */
static size_t below(size_t n)
{
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (size_t)(state % n);
}

static size_t load(const char *name, char *out, size_t room)
{
    char path[300];
    FILE *file;
    size_t length;

    snprintf(path, sizeof path, "tests/outline/%s", name);
    file = fopen(path, "rb");
    cr_assert(file != NULL);
    length = fread(out, 1, room, file);
    fclose(file);
    return length;
}

/* Words that mean something to one of the formats, so that mutations get past the first check. */
static const char *const words[] = {
    "nan", "inf", "1e308", "-1e-308",       "0",           "-1",          "99999999999", "(",    ")",
    "M",   "A",   "zZ",    "\n0\nENDSEC\n", "\n42\n1e9\n", "\n70\n1\n",   "<g>",         "</g>", "'/>",
    "[",   "]",   ",",     "use ",          "1e5",         "\n210\n-1\n", "%",           ";",    "#",
    "\"",  "",    "Q",     "\n\n"
};

static size_t mutate(char *text, size_t length, size_t room)
{
    for (size_t n = 1 + below(4); n > 0 && length > 4; n--) {
        size_t at = below(length), span = 1 + below(length - at < 40 ? length - at : 40);
        const char *word = words[below(sizeof words / sizeof *words)];
        size_t word_length = strlen(word);

        switch (below(4)) {
        case 0: /* another byte */
            text[at] = (char)below(256);
            break;
        case 1: /* a piece lost */
            memmove(text + at, text + at + span, length - at - span);
            length -= span;
            break;
        case 2: /* a word put in */
            if (length + word_length < room) {
                memmove(text + at + word_length, text + at, length - at);
                memcpy(text + at, word, word_length);
                length += word_length;
            }
            break;
        default: /* cut off, but rarely */
            length = below(8) == 0 ? at : length;
        }
    }
    return length;
}

static void fuzz(const char *name, double unit_mm)
{
    static char sample[20000], text[24000];
    const char *ending = strrchr(name, '.');
    char file[40];
    size_t length = load(name, sample, sizeof sample);

    state = 0x9E3779B97F4A7C15u;
    snprintf(file, sizeof file, "mutated%s", ending);
    enter_folder();
    for (int i = 0; i < ROUNDS; i++) {
        memcpy(text, sample, length);
        write_file(file, text, mutate(text, length, sizeof text));
        watch_file(file, TW_DRAWING_BY_NAME, unit_mm);
    }
    remove(file);
    leave_folder();
}

TestSuite(fuzz, .timeout = 60);

Test(fuzz, wkt)
{
    fuzz("whole-knife.wkt", 1.0);
}

Test(fuzz, geojson)
{
    fuzz("whole-knife.geojson", 1.0);
}

Test(fuzz, csv)
{
    fuzz("tang.csv", 1.0);
}

Test(fuzz, svg)
{
    fuzz("whole-knife.svg", 0.0);
    fuzz("tang-inch.svg", 0.0);
    fuzz("loose.svg", 0.0);
}

Test(fuzz, dxf)
{
    fuzz("loose.dxf", 0.0);
}
