/* test_rs274_fuzz.c - a short, seeded slice of what the fuzz target does: programs put together at random
 * from pieces that mean something, with a few bytes spoilt. The properties stand in tests/rs274/properties.h.
 */
#include "rs274/properties.h"

#include "check/check.h"

static unsigned long long random_state;

/* A 64-bit linear congruential generator, high bits: D. E. Knuth, The Art of Computer Programming vol. 2,
 * section 3.3.4 (multiplier 6364136223846793005 by C. E. Haynes), from memory. */
static unsigned draw(unsigned below)
{
    random_state = random_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (unsigned)(random_state >> 33) % below;
}

static const char *const pieces[] = {
    "G0",         "G1",   "G2",      "G3",    "X1",  "X-2.5",   "Y3",   "Y0",          "Z.5",
    "Z-4",        "I1",   "J-2",     "K.5",   "R5",  "R-5",     "F100", "F0",          "S900",
    "T1",         "T4",   "M3",      "M5",    "M6",  "M8",      "M9",   "M0",          "M2",
    "M30",        "G17",  "G18",     "G19",   "G20", "G21",     "G28",  "G30",         "G43H1",
    "G49",        "G53",  "G54",     "G59.3", "G90", "G91",     "G92",  "G92.1",       "G93",
    "G94",        "G4P1", "G10L2P3", "G80",   "(x)", "(MSG,y)", "%",    "/",           "N5",
    "\n",         "\n",   "\r\n",    " ",     "G81", "#1",      "[1]",  "X1000000000", "Y-1000000000",
    "I999999999", "X1e5", "G1.5",    "H2",    "P1",
};

static const char *const lines[] = {
    "F60\n", "G1X1Y1Z1F5\n",   "G91 G2X1R.5F7\n",    "G91G3X3Y1R-9F4\n", "G91G2X0I1J1Z.1F8\n",
    "G90\n", "G0X1Y2\n",       "G91G19G3Z3K1.5F2\n", "G92X1\n",          "G92.1\n",
    "G55\n", "G10L2P2X5Z.1\n", "G4P.1(wait)\r\n",    "M3S100\n",         "M8\n",
    "G93\n", "G94F10\n",       "G0G53Z0\n",
};

static size_t make_program(char *out, size_t room)
{
    size_t length = 1;
    unsigned count = 1 + draw(60);

    out[0] = (char)draw(128);
    for (unsigned i = 0; i < count; i++) {
        bool sense = draw(3) > 0;
        const char *piece =
            sense ? lines[draw(sizeof lines / sizeof lines[0])] : pieces[draw(sizeof pieces / sizeof pieces[0])];

        if (length + strlen(piece) + 1 >= room)
            break;
        memcpy(out + length, piece, strlen(piece));
        length += strlen(piece);
        if (!sense && draw(2) == 0)
            out[length++] = '\n';
    }
    for (unsigned spoilt = draw(4) == 0 ? 1 + draw(3) : 0; spoilt > 0; spoilt--)
        out[1 + draw((unsigned)length - 1)] = (char)draw(256);
    return length;
}

Test(rs274_fuzz, random_pieces_break_no_property)
{
    long events = 0;

    random_state = 274;
    for (int i = 0; i < 60000; i++) {
        char program[600];
        size_t length = make_program(program, sizeof program);
        char *exact = malloc(length); /* so that a sanitizer sees a byte too far */

        cr_assert(ne(ptr, exact, NULL));
        memcpy(exact, program, length);
        events += watch_run(exact, length);
        free(exact);
    }
    cr_expect(gt(long, events, 60000), "the pieces hardly ever made sense: %ld events", events);
}
