/* knives.h - invented drawings of knives of many kinds, each with its taper start at 0, 0, its butt towards +x and its
 * spine, where it has one, towards +y. Corners in mm; between them straight lines, or a smooth curve through them. */
#ifndef TANGWRIGHT_TESTS_KNIVES_H
#define TANGWRIGHT_TESTS_KNIVES_H

#include "tangwright/outline.h"

#include <math.h>
#include <stdlib.h>

enum knife_spine {
    KNIFE_SPINE_SURE,   /* the shape tells it */
    KNIFE_SPINE_OR_NOT, /* the shape may tell it or not, but never wrongly */
    KNIFE_SPINE_NONE    /* nothing may be claimed */
};

struct knife {
    const char *name;
    enum knife_spine spine;
    bool whole;
    const double *corners; /* x, y */
    size_t corner_count;
    const double *holes; /* x, y, diameter */
    size_t hole_count;
};

/* From the tip over the spine to the butt and back along the edge. A corner given twice is sharp. */
#define KNIFE_CORNERS(name) static const double name##_corners[][2]
#define KNIFE_HOLES(name)   static const double name##_holes[][3]

KNIFE_CORNERS(gyuto) = { { -245, -14 }, { -245, -14 }, { -225, 2 },  { -190, 8.5 }, { -120, 11.5 }, { -40, 12.5 },
                         { 0, 12.5 },   { 40, 12 },    { 80, 13 },   { 110, 14 },   { 123, 10 },    { 127, 0 },
                         { 123, -10 },  { 110, -15 },  { 80, -12 },  { 40, -11.5 }, { 10, -12 },    { -3, -13 },
                         { -3, -13 },   { -8, -22 },   { -10, -36 }, { -10, -36 },  { -60, -36.5 }, { -120, -34 },
                         { -180, -28 }, { -220, -20 } };
KNIFE_HOLES(gyuto) = { { 25, 0, 5 }, { 68, 1, 6 }, { 108, 0, 5 } };
KNIFE_CORNERS(santoku) = { { -178, -31 }, { -178, -31 }, { -172, -14 }, { -150, 4 },   { -120, 11 },
                           { -60, 12 },   { 0, 11 },     { 50, 10.5 },  { 90, 12 },    { 106, 6 },
                           { 108, 0 },    { 106, -6 },   { 90, -13 },   { 50, -10.5 }, { 6, -10.5 },
                           { -2, -12 },   { -6, -36 },   { -6, -36 },   { -80, -36 },  { -140, -34 } };
KNIFE_HOLES(santoku) = { { 20, 0, 5 }, { 90, 0, 5 } };
KNIFE_CORNERS(nakiri) = { { -168, -40 }, { -168, -40 }, { -168, 5 },  { -168, 5 },  { -162, 10 }, { -162, 10 },
                          { 0, 10 },     { 0, 10 },     { 60, 10 },   { 60, 10 },   { 104, 12 },  { 104, 12 },
                          { 108, 0 },    { 108, 0 },    { 104, -12 }, { 104, -12 }, { 4, -11 },   { 4, -11 },
                          { -4, -13 },   { -4, -13 },   { -6, -40 },  { -6, -40 } };
KNIFE_CORNERS(chinese_cleaver) = { { -205, -60 }, { -205, -60 }, { -205, 30 }, { -205, 30 }, { -8, 30 },
                                   { -8, 30 },    { -4, 15 },    { -4, 15 },   { 0, 14 },    { 0, 14 },
                                   { 95, 15 },    { 95, 15 },    { 100, 0 },   { 100, 0 },   { 95, -15 },
                                   { 95, -15 },   { 0, -14 },    { 0, -14 },   { -6, -62 },  { -6, -62 } };
KNIFE_HOLES(chinese_cleaver) = { { 20, 0, 6 }, { 80, 0, 6 } };
KNIFE_CORNERS(cleaver_hung) = { { -170, -48 }, { -170, -48 }, { -170, 24 }, { -170, 24 }, { 0, 22 },  { 0, 22 },
                                { 50, 19 },    { 50, 19 },    { 115, 23 },  { 115, 23 },  { 120, 0 }, { 120, 0 },
                                { 115, -23 },  { 115, -23 },  { 50, -19 },  { 50, -19 },  { 0, -22 }, { 0, -22 },
                                { -8, -24 },   { -8, -24 },   { -12, -50 }, { -12, -50 } };
KNIFE_HOLES(cleaver_hung) = { { -155, 10, 12 }, { 30, 0, 6 }, { 90, 0, 6 } };
KNIFE_CORNERS(bolster) = { { -160, -8 }, { -160, -8 }, { -60, 10 },  { -60, 10 }, { -2, 11 },   { -2, 11 },
                           { 0, 14 },    { 0, 14 },    { 10, 14 },   { 10, 14 },  { 12, 10 },   { 12, 10 },
                           { 100, 12 },  { 100, 12 },  { 112, 0 },   { 112, 0 },  { 100, -12 }, { 100, -12 },
                           { 12, -10 },  { 12, -10 },  { 10, -16 },  { 10, -16 }, { 0, -16 },   { 0, -16 },
                           { -2, -28 },  { -2, -28 },  { -90, -26 }, { -90, -26 } };
KNIFE_HOLES(bolster) = { { 30, 0, 5 }, { 90, 0, 5 } };
KNIFE_CORNERS(petty) = { { -152, -8 }, { -152, -8 }, { -135, 2 }, { -90, 7 },  { -30, 9 },   { 0, 9 },     { 40, 8.5 },
                         { 80, 9.5 },  { 96, 7 },    { 100, 0 },  { 96, -7 },  { 80, -10 },  { 40, -8.5 }, { 5, -9 },
                         { -3, -10 },  { -3, -10 },  { -5, -19 }, { -5, -19 }, { -60, -19 }, { -110, -16 } };
KNIFE_HOLES(petty) = { { 20, 0, 4 }, { 78, 0, 4 } };
KNIFE_CORNERS(paring) = { { -88, -5 }, { -88, -5 }, { -70, 4 }, { -40, 7 },   { 0, 7.5 },
                          { 40, 8 },   { 75, 9 },   { 86, 5 },  { 88, 0 },    { 86, -5 },
                          { 75, -9 },  { 40, -8 },  { 0, -8 },  { -20, -10 }, { -50, -10.5 } };
KNIFE_HOLES(paring) = { { 24, 0, 4 }, { 64, 0, 4 } };
KNIFE_CORNERS(boning) = { { -150, 3 }, { -150, 3 }, { -120, 8 },  { -60, 9.5 }, { 0, 11 },   { 50, 11 },
                          { 95, 13 },  { 108, 8 },  { 110, 0 },   { 108, -9 },  { 95, -15 }, { 50, -11 },
                          { 8, -12 },  { -4, -14 }, { -14, -11 }, { -50, -9 },  { -100, -7 } };
KNIFE_HOLES(boning) = { { 25, 0, 5 }, { 85, 0, 5 } };
KNIFE_CORNERS(bread) = { { -255, -12 }, { -255, -12 }, { -252, 4 }, { -240, 9 },  { -100, 11 },  { 0, 12 },
                         { 60, 11 },    { 110, 13 },   { 120, 0 },  { 110, -14 }, { 60, -11 },   { 5, -12 },
                         { -5, -13 },   { -5, -13 },   { -8, -22 }, { -8, -22 },  { -130, -21 }, { -230, -18 } };
KNIFE_HOLES(bread) = { { 20, 0, 5 }, { 62, 0, 5 }, { 104, 0, 5 } };
KNIFE_CORNERS(slicer_round) = { { -300, -4 }, { -297, 6 },  { -285, 12 }, { -100, 13 },  { 0, 13 },
                                { 60, 12 },   { 118, 13 },  { 124, 0 },   { 118, -13 },  { 60, -12 },
                                { 0, -13 },   { -10, -20 }, { -30, -21 }, { -280, -20 }, { -295, -14 } };
KNIFE_HOLES(slicer_round) = { { 20, 0, 5 }, { 62, 0, 5 }, { 104, 0, 5 } };
KNIFE_CORNERS(honesuki) = { { -152, -24 }, { -152, -24 }, { -100, 2 }, { -40, 12 },   { 0, 12 },  { 50, 11.5 },
                            { 95, 13 },    { 106, 0 },    { 95, -13 }, { 50, -11.5 }, { 4, -12 }, { -3, -13 },
                            { -3, -13 },   { -8, -29 },   { -8, -29 }, { -90, -28 } };
KNIFE_HOLES(honesuki) = { { 22, 0, 5 }, { 84, 0, 5 } };
KNIFE_CORNERS(sujihiki) = { { -275, -8 }, { -275, -8 }, { -240, 4 }, { -150, 9 },  { -40, 11 },   { 0, 11.5 },
                            { 60, 11 },   { 112, 13 },  { 122, 0 },  { 112, -13 }, { 60, -11 },   { 5, -11 },
                            { -4, -12 },  { -4, -12 },  { -8, -25 }, { -8, -25 },  { -150, -24 }, { -230, -18 } };
KNIFE_HOLES(sujihiki) = { { 25, 0, 5 }, { 65, 0, 5 }, { 102, 0, 5 } };
KNIFE_CORNERS(hunter) = {
    { -105, 4 }, { -105, 4 }, { -70, 12 },  { -30, 14 }, { 0, 14 },    { 40, 13 },   { 85, 13 },
    { 104, 6 },  { 108, -4 }, { 100, -16 }, { 85, -16 }, { 50, -12 },  { 25, -13 },  { 8, -12 },
    { 0, -14 },  { 0, -14 },  { -8, -13 },  { -8, -13 }, { -12, -15 }, { -50, -14 }, { -85, -7 }
};
KNIFE_HOLES(hunter) = { { 25, 0, 6 }, { 80, -1, 6 }, { 98, -6, 7 } };
KNIFE_CORNERS(skinner) = { { -88, 16 }, { -88, 16 },  { -60, 13 },  { -25, 14 },  { 0, 15 },    { 50, 13 },  { 90, 12 },
                           { 110, 2 },  { 112, -10 }, { 100, -18 }, { 80, -15 },  { 50, -12 },  { 20, -13 }, { 4, -12 },
                           { -3, -17 }, { -3, -17 },  { -10, -14 }, { -14, -20 }, { -45, -24 }, { -75, -8 } };
KNIFE_HOLES(skinner) = { { 25, 0, 6 }, { 88, -2, 6 } };
KNIFE_CORNERS(bowie) = { { -228, -3 }, { -228, -3 },  { -190, 5 },   { -160, 12 }, { -150, 15 }, { -60, 16 },
                         { 0, 16 },    { 50, 14 },    { 100, 15 },   { 122, 10 },  { 126, -6 },  { 118, -20 },
                         { 100, -16 }, { 50, -13 },   { 10, -14 },   { 0, -16 },   { 0, -16 },   { -6, -15 },
                         { -10, -19 }, { -100, -20 }, { -180, -20 }, { -215, -12 } };
KNIFE_HOLES(bowie) = { { 25, 0, 6 }, { 65, 0, 6 }, { 105, -2, 6 } };
/* The handle runs along the axis; the blade leans to the edge side by five degrees. */
KNIFE_CORNERS(dropped) = { { -212, -33 }, { -212, -33 }, { -180, -12 }, { -120, 0 },  { -40, 9 },   { 0, 12.5 },
                           { 50, 12 },    { 100, 14 },   { 112, 0 },    { 100, -15 }, { 50, -12 },  { 6, -12 },
                           { -4, -13 },   { -4, -13 },   { -14, -39 },  { -14, -39 }, { -80, -44 }, { -160, -44 } };
KNIFE_HOLES(dropped) = { { 25, 0, 5 }, { 90, 0, 5 } };
KNIFE_CORNERS(steak) = {
    { -118, -6 }, { -118, -6 }, { -95, 5 },   { -50, 9 }, { 0, 9 },     { 50, 8.5 },  { 95, 10 },
    { 104, 0 },   { 95, -10 },  { 50, -8.5 }, { 0, -9 },  { -10, -11 }, { -60, -11 }, { -100, -9 }
};
KNIFE_HOLES(steak) = { { 24, 0, 4 }, { 80, 0, 4 } };
KNIFE_CORNERS(wharncliffe) = {
    { -82, -12 }, { -82, -12 }, { -60, 2 }, { -35, 10 }, { 0, 12 },   { 0, 12 },  { 90, 12 },
    { 90, 12 },   { 96, 0 },    { 96, 0 },  { 90, -13 }, { 90, -13 }, { 0, -12 }, { 0, -12 }
};
KNIFE_CORNERS(dagger) = { { -165, 0 }, { -165, 0 }, { -120, 12 }, { -10, 15 },  { -10, 15 },  { -4, 24 },  { 2, 24 },
                          { 4, 12 },   { 50, 12 },  { 105, 14 },  { 112, 0 },   { 105, -14 }, { 50, -12 }, { 4, -12 },
                          { 2, -24 },  { -4, -24 }, { -10, -15 }, { -10, -15 }, { -120, -12 } };
KNIFE_HOLES(dagger) = { { 25, 0, 5 }, { 90, 0, 5 } };
KNIFE_CORNERS(oyster) = { { -62, 0 }, { -62, 0 },  { -50, 7 },  { -10, 9 }, { 0, 10 },   { 50, 12 }, { 95, 13 },
                          { 110, 0 }, { 95, -13 }, { 50, -12 }, { 0, -10 }, { -10, -9 }, { -50, -7 } };
KNIFE_HOLES(oyster) = { { 30, 0, 5 }, { 85, 0, 5 } };
KNIFE_CORNERS(fillet) = { { -185, 10 }, { -185, 10 }, { -120, 7 },  { -50, 9 },  { 0, 11 },   { 60, 11 },
                          { 105, 14 },  { 118, 2 },   { 105, -15 }, { 60, -11 }, { 10, -11 }, { 0, -14 },
                          { 0, -14 },   { -8, -10 },  { -60, -8 },  { -130, -5 } };
KNIFE_HOLES(fillet) = { { 30, 0, 5 }, { 90, 0, 5 } };
KNIFE_CORNERS(tang_plain) = { { 0, -11 }, { 0, -11 }, { 0, 11.5 }, { 0, 11.5 }, { 40, 11 },   { 98, 12 },
                              { 108, 8 }, { 110, 0 }, { 108, -8 }, { 98, -13 }, { 40, -11.5 } };
KNIFE_CORNERS(tang_ricasso) = { { -18, -15 }, { -18, -15 }, { -18, 15 }, { -18, 15 },  { 0, 15 },   { 55, 13 },
                                { 108, 16 },  { 122, 8 },   { 123, -2 }, { 108, -16 }, { 55, -13 }, { 0, -15 } };
KNIFE_HOLES(tang_ricasso) = { { 32, 0, 6 }, { 92, 0, 6 } };
KNIFE_CORNERS(tang_fishtail) = { { 0, -13 },   { 0, -13 },   { 0, 13 },   { 0, 13 },  { 60, 11 },
                                 { 100, 14 },  { 128, 22 },  { 128, 22 }, { 124, 0 }, { 128, -22 },
                                 { 128, -22 }, { 100, -14 }, { 60, -11 } };
KNIFE_HOLES(tang_fishtail) = { { 20, 0, 5 }, { 60, 0, 5 }, { 108, 0, 8 } };
KNIFE_CORNERS(tang_beak) = { { -10, -14 }, { -10, -14 }, { -10, 14 }, { -10, 14 },  { 0, 14 },
                             { 60, 13 },   { 100, 12 },  { 122, 0 },  { 130, -22 }, { 118, -28 },
                             { 108, -18 }, { 60, -13 },  { 0, -14 } };
KNIFE_HOLES(tang_beak) = { { 25, 0, 5 }, { 95, -2, 5 } };
KNIFE_CORNERS(tang_pointed) = { { -12, -13 }, { -12, -13 }, { -12, 13 }, { -12, 13 }, { 60, 12 },
                                { 96, 9 },    { 120, 0 },   { 96, -9 },  { 60, -12 } };
KNIFE_HOLES(tang_pointed) = { { 25, 0, 5 }, { 85, 0, 5 } };
KNIFE_CORNERS(tang_square) = { { -8, -17 }, { -8, -17 }, { -8, 17 },  { -8, 17 },
                               { 72, 17 },  { 72, 17 },  { 72, -17 }, { 72, -17 } };
KNIFE_CORNERS(tang_piece) = { { -70, -11 }, { -70, -11 }, { -70, 11 }, { -70, 11 }, { 0, 10 }, { 50, 9 },
                              { 96, 11 },   { 104, 0 },   { 96, -11 }, { 50, -9 },  { 0, -10 } };
KNIFE_HOLES(tang_piece) = { { 24, 0, 4 }, { 80, 0, 4 } };

#define KNIFE(name, spine, whole)                                                                                      \
    {                                                                                                                  \
#name, spine, whole, name##_corners[0], sizeof name##_corners / sizeof *name##_corners, NULL, 0                \
    }
/* Through the blade, so that nothing sticks; and none in the tang. */
KNIFE_CORNERS(cheese) = { { -140, 8 }, { -140, 8 }, { 0, 10 },    { 0, 10 },    { 100, 11 },   { 100, 11 },
                          { 112, 0 },  { 112, 0 },  { 100, -11 }, { 100, -11 }, { 0, -10 },    { 0, -10 },
                          { -8, -11 }, { -8, -11 }, { -10, -26 }, { -10, -26 }, { -130, -24 }, { -130, -24 } };
KNIFE_HOLES(cheese) = { { -30, -8, 10 }, { -60, -8, 10 }, { -90, -8, 10 } };
KNIFE_CORNERS(square_blade) = { { -90, 10 }, { -90, 10 }, { 0, 10 },    { 0, 10 },   { 100, 6 }, { 100, 6 },
                                { 104, 0 },  { 104, 0 },  { 100, -6 },  { 100, -6 }, { 0, -8 },  { 0, -8 },
                                { -5, -18 }, { -5, -18 }, { -90, -18 }, { -90, -18 } };
KNIFE_HOLES(square_blade) = { { 10, 0, 4 }, { 95, 0, 4 } };

#define KNIFE_WITH_HOLES(name, spine, whole)                                                                           \
    {                                                                                                                  \
#name, spine, whole,                                                                                           \
            name##_corners[0], sizeof name##_corners / sizeof *name##_corners,                                         \
                           name##_holes[0], sizeof name##_holes / sizeof *name##_holes                                 \
    }

static const struct knife knives[] = {
    KNIFE_WITH_HOLES(gyuto, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(santoku, KNIFE_SPINE_SURE, true),
    KNIFE(nakiri, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(chinese_cleaver, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(cleaver_hung, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(petty, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(paring, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(boning, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(bread, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(slicer_round, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(honesuki, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(sujihiki, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(hunter, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(skinner, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(bowie, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(dropped, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(steak, KNIFE_SPINE_OR_NOT, true),
    KNIFE(wharncliffe, KNIFE_SPINE_OR_NOT, true),
    KNIFE_WITH_HOLES(dagger, KNIFE_SPINE_NONE, true),
    KNIFE_WITH_HOLES(oyster, KNIFE_SPINE_NONE, true),
    KNIFE_WITH_HOLES(fillet, KNIFE_SPINE_OR_NOT, true),
    KNIFE(tang_plain, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(tang_ricasso, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(tang_fishtail, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(tang_beak, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(tang_pointed, KNIFE_SPINE_NONE, false),
    KNIFE(tang_square, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(tang_piece, KNIFE_SPINE_NONE, false),
    KNIFE_WITH_HOLES(cheese, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(square_blade, KNIFE_SPINE_SURE, true),
    KNIFE_WITH_HOLES(bolster, KNIFE_SPINE_SURE, true),
};

enum { KNIFE_COUNT = sizeof knives / sizeof *knives, KNIFE_STEPS = 6, KNIFE_HOLE_CORNERS = 36 };

/* Where a drawing puts the knife: turned over if flipped, scaled, turned, moved, in this order. */
struct knife_way {
    bool flipped; /* y turned over */
    double scale, turn_rad;
    struct tw_point at_mm;
};

static struct tw_point knife_put(struct knife_way way, double x_mm, double y_mm)
{
    double y = way.flipped ? -y_mm : y_mm, c = cos(way.turn_rad), s = sin(way.turn_rad);

    return (struct tw_point){ way.at_mm.x_mm + way.scale * (x_mm * c - y * s),
                              way.at_mm.y_mm + way.scale * (x_mm * s + y * c) };
}

static double knife_smooth(double a, double b, double c, double d, double t)
{
    return b + t * ((c - a) / 2 + t * ((a - 2.5 * b + 2 * c - d / 2) + t * ((3 * b - a - 3 * c + d) / 2)));
}

/* A cubic through the corners with the chord of the neighbours as tangent; at a double corner it runs straight in. */
static struct tw_ring knife_ring(const struct knife *knife, struct knife_way way)
{
    size_t n = knife->corner_count;
    struct tw_ring ring = { calloc(n * KNIFE_STEPS, sizeof(struct tw_point)), 0 };

    for (size_t i = 0; i < n; i++) {
        const double *b = knife->corners + 2 * i, *c = knife->corners + 2 * ((i + 1) % n);
        const double *a = knife->corners + 2 * ((i + n - 1) % n), *d = knife->corners + 2 * ((i + 2) % n);

        for (int k = 0; k < KNIFE_STEPS && (b[0] != c[0] || b[1] != c[1]); k++)
            ring.points[ring.count++] = knife_put(way, knife_smooth(a[0], b[0], c[0], d[0], (double)k / KNIFE_STEPS),
                                                  knife_smooth(a[1], b[1], c[1], d[1], (double)k / KNIFE_STEPS));
    }
    return ring;
}

static struct tw_outline knife_drawing(const struct knife *knife, struct knife_way way)
{
    struct tw_outline drawing = { .outer = knife_ring(knife, way),
                                  .holes = calloc(knife->hole_count + 1, sizeof(struct tw_ring)),
                                  .hole_count = knife->hole_count };

    for (size_t i = 0; i < knife->hole_count; i++) {
        const double *hole = knife->holes + 3 * i;

        drawing.holes[i].points = calloc(KNIFE_HOLE_CORNERS, sizeof(struct tw_point));
        drawing.holes[i].count = KNIFE_HOLE_CORNERS;
        for (int k = 0; k < KNIFE_HOLE_CORNERS; k++) {
            double angle = 6.283185307179586 * k / KNIFE_HOLE_CORNERS;

            drawing.holes[i].points[k] =
                knife_put(way, hole[0] + hole[2] / 2 * cos(angle), hole[1] + hole[2] / 2 * sin(angle));
        }
    }
    return drawing;
}

#endif
