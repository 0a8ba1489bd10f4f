/* test_removal_numpy.c - whole programs of motions, ground here and by tests/reference/removal_numpy.py,
 * which is written apart from this code and in double throughout. Volumes motion by motion and every cell
 * must agree. */
#include "tangwright/removal.h"

#include "check/check.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { MOTIONS = 60 };

struct problem {
    struct tw_wheel_body body;
    double x0, x1, y0, y1, top, bottom, cell;
    double motions[MOTIONS][6];
    int count;
};

static unsigned long long random_state = 77;

/* Linear congruential, as in Knuth, The Art of Computer Programming vol. 2, section 3.3.4, from memory. */
static double draw(double from, double to)
{
    random_state = random_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return from + (to - from) * (double)(random_state >> 11) / 9007199254740992.0;
}

static void add(struct problem *p, double x, double y, double z)
{
    double *motion = p->motions[p->count];

    memcpy(motion, p->count ? p->motions[p->count - 1] + 3 : (double[3]){ x, y, z }, 3 * sizeof *motion);
    motion[3] = x;
    motion[4] = y;
    motion[5] = z;
    p->count++;
}

static const double grid_margin_mm = 3.0;

/* The distribution's NumPy belongs to the distribution's Python, so that is looked for first. */
static FILE *ask(const struct problem *p, const char *heights, char *problem_path, int columns, int rows)
{
    FILE *out = fopen(problem_path, "w");
    char command[300];

    cr_assert(ne(ptr, out, NULL));
    fprintf(out, "%.17g %.17g %.17g %d %d %.17g\n", p->x0 - grid_margin_mm, p->y0 - grid_margin_mm, p->cell, columns,
            rows, p->bottom);
    fprintf(out, "%s %.17g %.17g\n", p->body.shape == TW_BODY_DISC ? "disc" : "cup", p->body.radius_mm,
            p->body.shape == TW_BODY_DISC ? p->body.width_mm : p->body.rim_mm);
    fprintf(out, "%.17g %.17g %.17g %.17g %.17g\n", p->x0, p->x1, p->y0, p->y1, p->top);
    for (int i = 0; i < p->count; i++)
        fprintf(out, "%.17g %.17g %.17g %.17g %.17g %.17g\n", p->motions[i][0], p->motions[i][1], p->motions[i][2],
                p->motions[i][3], p->motions[i][4], p->motions[i][5]);
    cr_assert(eq(int, fclose(out), 0));
    snprintf(command, sizeof command, "PATH=/usr/bin:/bin:$PATH python3 tests/reference/removal_numpy.py %s < %s",
             heights, problem_path);
    return popen(command, "r");
}

static void compare(const struct problem *p)
{
    char heights_path[] = "/tmp/tangwright-heights-XXXXXX", problem_path[] = "/tmp/tangwright-problem-XXXXXX";
    int columns = (int)lround((p->x1 - p->x0 + 2 * grid_margin_mm) / p->cell);
    int rows = (int)lround((p->y1 - p->y0 + 2 * grid_margin_mm) / p->cell);
    struct tw_point corners[4] = { { p->x0, p->y0 }, { p->x1, p->y0 }, { p->x1, p->y1 }, { p->x0, p->y1 } };
    struct tw_ring ring = { corners, 4 };
    double *heights = malloc((size_t)columns * (size_t)rows * sizeof *heights);
    struct tw_field field;
    struct tw_sweep *sweep;
    FILE *answer;

    cr_assert(ne(ptr, heights, NULL));
    cr_assert(ge(int, mkstemp(heights_path), 0));
    cr_assert(ge(int, mkstemp(problem_path), 0));
    cr_assert(eq(
        int,
        tw_field_new(p->x0 - grid_margin_mm, p->y0 - grid_margin_mm, p->cell, columns, rows, p->bottom, &field, NULL),
        TW_OK));
    cr_assert(eq(int, tw_field_add_stock(&field, &ring, 1, (struct tw_height_plane){ p->top, 0, 0 }, NULL), TW_OK));
    cr_assert(eq(int, tw_sweep_new(&field, &p->body, p->cell, &sweep, NULL), TW_OK));
    answer = ask(p, heights_path, problem_path, columns, rows);
    cr_assert(ne(ptr, answer, NULL));
    for (int i = 0; i < p->count; i++) {
        struct tw_removal removal;
        double expected;

        cr_assert(eq(int, fscanf(answer, "%lf", &expected), 1),
                  "the reference failed; run the tests from the project's folder");
        cr_assert(eq(int, tw_sweep_line(sweep, p->motions[i], p->motions[i] + 3, &removal, NULL), TW_OK));
        /* a cell whose centre lies on the wheel's edge to the last bit may fall either way */
        cr_expect(epsilon_eq(dbl, removal.volume_mm3, expected, 1e-4 * expected + 0.01), "motion %d", i);
    }
    fscanf(answer, "%*[^0-9]");
    while (fgetc(answer) != EOF)
        ;
    cr_expect(eq(int, pclose(answer), 0));
    answer = fopen(heights_path, "rb");
    cr_assert(ne(ptr, answer, NULL));
    cr_assert(eq(sz, fread(heights, sizeof *heights, (size_t)columns * (size_t)rows, answer),
                 (size_t)columns * (size_t)rows));
    fclose(answer);
    int different = 0;
    for (int i = 0; i < columns * rows; i++)
        different += !(fabs((double)field.stock_mm[i] - heights[i]) <= 1e-5 || (double)field.stock_mm[i] == heights[i]);
    cr_expect(le(int, different, columns *rows / 20000), "%d cells", different);
    unlink(heights_path);
    unlink(problem_path);
    tw_sweep_free(sweep);
    tw_field_free(&field);
    free(heights);
}

Test(removal_numpy, a_disc_in_lanes_and_at_random)
{
    struct problem p = { .body = { .shape = TW_BODY_DISC, .radius_mm = 87.3, .width_mm = 12.7 },
                         .x1 = 90,
                         .y1 = 24,
                         .top = 3.7,
                         .bottom = 0.5,
                         .cell = 0.1 };

    add(&p, -10, 5, 5);
    for (int i = 0; i < 10; i++) {
        add(&p, i % 2 ? 100 : -10, 3.33 + 2.1 * i, 3.6 - 0.02 * i);
        add(&p, i % 2 ? -10 : 100, 3.33 + 2.1 * i, 3.5 - 0.03 * i);
    }
    for (int i = 0; i < 30; i++)
        add(&p, draw(0, 90), draw(0, 24), draw(2.6, 4));
    compare(&p);
}

Test(removal_numpy, a_cup_in_lanes_and_at_random)
{
    struct problem p = { .body = { .shape = TW_BODY_CUP, .radius_mm = 21.1, .rim_mm = 4.2, .hollow_mm = 30 },
                         .x1 = 90,
                         .y1 = 24,
                         .top = 3.7,
                         .bottom = 0.5,
                         .cell = 0.1 };

    add(&p, -30, 5, 5);
    for (int i = 0; i < 10; i++) {
        add(&p, i % 2 ? 120 : -30, 3.33 + 2.1 * i, 3.6 - 0.02 * i);
        add(&p, i % 2 ? -30 : 120, 3.33 + 2.1 * i, 3.5 - 0.03 * i);
    }
    for (int i = 0; i < 30; i++)
        add(&p, draw(0, 90), draw(0, 24), draw(2.6, 4));
    compare(&p);
}
