/* heat.c - how fast the plate is stepped, beside a plain in-cache loop and a solution in SciPy of the same accuracy. */
#include "bench.h"

#include "tangwright/plate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define RUNS   9
#define PROBES 7

/* Of one vector of cells in a stage, in all and counting twice what straddles two cache lines; and of the plain loop. */
#define LOADS           10
#define STRADDLED_LOADS 11.5
#define PLAIN_LOADS     2

static const struct tw_steel steel = { .conductivity_W_per_mm_K = 0.040,
                                       .density_g_per_mm3 = 7.830e-3,
                                       .specific_heat_J_per_g_K = 0.480 };

static struct tw_plate *new_plate(const struct tw_plate_grid *grid, const struct tw_plate_surroundings *around)
{
    struct tw_findings findings = { 0 };
    struct tw_plate *plate;

    bench_must(tw_plate_new(grid, &steel, around, &plate, &findings), "a plate", &findings);
    return plate;
}

/* ---- cell updates ---- */

/* Cells times stages per second, of plates as the planner and the dry-run have them. */
static double updates_per_s(size_t nx, size_t ny, double cell_mm)
{
    const struct tw_plate_surroundings around = { 4e-4, 1.5e-3, 4e-4, 0.0 };
    double *thickness = malloc(nx * ny * sizeof *thickness), rates[RUNS];
    struct tw_plate_grid grid = { .nx = nx, .ny = ny, .cell_mm = cell_mm, .thickness_mm = thickness };
    struct tw_plate *plate;

    if (!thickness)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    for (size_t k = 0; k < nx * ny; k++)
        thickness[k] = 3.0 - 1.5 * (double)(k % nx) / (double)nx;
    plate = new_plate(&grid, &around);
    for (int run = 0; run < RUNS; run++) {
        double before = tw_plate_cell_updates(plate), began = bench_cpu_s();

        for (int i = 0; i < 400; i++) {
            tw_plate_heat_cell(plate, nx / 2, ny / 2, 1.0);
            bench_must(tw_plate_step(plate, 0.1, NULL), "a step", NULL);
        }
        rates[run] = (tw_plate_cell_updates(plate) - before) / (bench_cpu_s() - began);
    }
    tw_plate_free(plate);
    free(thickness);
    return bench_median(rates, RUNS);
}

static void print_updates(void)
{
    static const struct {
        const char *what;
        size_t nx, ny;
        double cell_mm;
    } grids[] = { { "2 mm cells, as planned with", 76, 14, 2.0 },
                  { "1 mm cells", 140, 25, 1.0 },
                  { "0.5 mm cells", 280, 50, 0.5 } };
    /* Half is out of reach. A later stage of a five-point sum with conductances that differ from cell to cell reads,
     * for every vector of cells: the stage above, left and right of them (their own and the one below are still in
     * registers); the conductances to the right, to the left and above (that to below is in a register); the loss,
     * 1/capacity, the rate at the start, the stage before last. That makes 10 loads and a store where the plain loop
     * has 2 and 1, so where both are held up by the loads alone the ratio is 2/10. Three of the ten are not aligned,
     * and with vectors of 4 half of those straddle two cache lines and count twice: 2/11.5. (Arithmetic comes next: 9
     * products and 10 sums, none fused, against 1 and 1.) The 0.5 mm plate is over 1 MB and comes from the second
     * cache. Narrower numbers would halve the loads but not close the books to 1e-9. */
    printf("\nHeat kernel: million cell updates (cells times stages) per s, beside a plain in-cache loop (a = b + s c, "
           "double);\n"
           "aim: at least half. A cell takes %d loads where the plain loop has %d, of which some straddle cache lines: "
           "where\n"
           "loads alone count the ratio cannot pass %.2f.\n\n",
           LOADS, PLAIN_LOADS, PLAIN_LOADS / STRADDLED_LOADS);
    printf("%-30s %10s %10s %10s   %-8s %-10s %s\n", "", "updates", "plain", "ratio", "aim", "of bound",
           "ratio of bytes moved (88 against 24 an element)");
    for (size_t i = 0; i < sizeof grids / sizeof *grids; i++) {
        double before = bench_stream_double_per_s(), rate = updates_per_s(grids[i].nx, grids[i].ny, grids[i].cell_mm);
        double stream = (before + bench_stream_double_per_s()) / 2.0; /* right before and right after */

        printf("%-30s %10.0f %10.0f %10.2f   %-8s %-10.2f %.2f\n", grids[i].what, rate / 1e6, stream / 1e6,
               rate / stream, rate >= 0.5 * stream ? "met" : "missed", rate / stream * STRADDLED_LOADS / PLAIN_LOADS,
               rate * 8.0 * (LOADS + 1) / (stream * 8.0 * (PLAIN_LOADS + 1)));
    }
}

/* ---- against SciPy ---- */

/* The case that tests/reference/heat_plate.py states. */
static double solve_s(double cell_mm, double step_s, double *probes)
{
    static const double places[PROBES][2] = { { 5, 10 },  { 20, 4 },  { 38, 10 },   { 42, 6 },
                                              { 50, 10 }, { 58, 18 }, { 59.5, 0.5 } };
    const struct tw_plate_surroundings around = { 4e-4, 1.5e-3, 4e-4, 0.0 };
    size_t nx = (size_t)lround(60.0 / cell_mm), ny = (size_t)lround(20.0 / cell_mm);
    double *thickness = malloc(nx * ny * sizeof *thickness), began, seconds;
    struct tw_plate_grid grid = { .nx = nx, .ny = ny, .cell_mm = cell_mm, .thickness_mm = thickness };
    struct tw_plate_band bands[3];
    struct tw_plate *plate;

    if (!thickness)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    for (size_t k = 0; k < nx * ny; k++) {
        double x = ((double)(k % nx) + 0.5) * cell_mm, y = ((double)(k / nx) + 0.5) * cell_mm;

        thickness[k] = x > 40.0 && x < 44.0 && y > 8.0 && y < 12.0 ? 0.0 : 4.0 - 1.5 * x / 60.0;
    }
    for (int n = 0; n < 3; n++)
        bands[n] = (struct tw_plate_band){ -2.0, 0.0, 0.0, 20.0, 50.0, 0.0, 2.0 * n, 2.0 * n + 1.28, 5.0 };
    plate = new_plate(&grid, &around);
    began = bench_cpu_s();
    bench_must(tw_plate_run(plate, bands, 3, 0.0, 3.0, step_s, NULL), "a run", NULL);
    for (size_t k = 0; k < nx * ny; k++)
        thickness[k] = fmax(thickness[k] - 0.2, 0.0);
    bench_must(tw_plate_set_thickness(plate, thickness, NULL), "grinding", NULL);
    bench_must(tw_plate_run(plate, bands, 3, 3.0, 6.0, step_s, NULL), "a run", NULL);
    seconds = bench_cpu_s() - began;
    for (int n = 0; n < PROBES; n++) {
        double sum = 0.0;
        int cells = 0;

        for (size_t k = 0; k < nx * ny; k++) {
            double x = ((double)(k % nx) + 0.5) * cell_mm, y = ((double)(k / nx) + 0.5) * cell_mm;

            /* the millimetre around the probe, half a millimetre of each cell beside it where cells are 1 mm */
            if (fabs(x - places[n][0]) < 0.51 && fabs(y - places[n][1]) < 0.51) {
                sum += tw_plate_degC(plate, k % nx, k / nx);
                cells++;
            }
        }
        probes[n] = sum / cells;
    }
    tw_plate_free(plate);
    free(thickness);
    return seconds;
}

static double off_by(const double *probes, const double *fine)
{
    double worst = 0.0;

    for (int n = 0; n < PROBES; n++)
        worst = fmax(worst, fabs(probes[n] / fine[n] - 1.0));
    return worst;
}

static double scipy(double cell_mm, double step_s, double *probes)
{
    char command[200], word[20];
    double seconds;

    snprintf(command, sizeof command, "/usr/bin/python3 tests/bench/heat_scipy.py %g %g > build/bench-scipy", cell_mm,
             step_s);
    if (system(command) != 0) {
        fprintf(stderr, "bench: SciPy failed\n");
        exit(1);
    }
    seconds = bench_python("cat build/bench-scipy", "seconds");
    for (int n = 0; n < PROBES; n++) {
        snprintf(word, sizeof word, "probe%d", n);
        probes[n] = bench_python("cat build/bench-scipy", word);
    }
    return seconds;
}

static void print_against_scipy(void)
{
    static const double cells_mm[] = { 1.0, 0.5 }, steps_s[] = { 0.02, 0.02 };
    double fine[PROBES];

    scipy(0.25, 0.01, fine);
    printf("\nThe plate of tests/reference/heat_plate.py, 6 s, beside Crank-Nicolson with sparse direct factors in "
           "SciPy; off by:\n"
           "farthest from the same in SciPy on cells of 0.25 mm in steps of 0.01 s; aim: 50 times\n\n");
    printf("%10s %10s %10s %10s %10s %10s %10s   %s\n", "cells mm", "step s", "ours ms", "off by %", "SciPy ms",
           "off by %", "ratio", "aim");
    for (size_t i = 0; i < sizeof cells_mm / sizeof *cells_mm; i++) {
        double ours[PROBES], theirs[PROBES], s[RUNS], their_s = scipy(cells_mm[i], steps_s[i], theirs), our_s;

        for (int run = 0; run < RUNS; run++)
            s[run] = solve_s(cells_mm[i], steps_s[i], ours);
        our_s = bench_median(s, RUNS);
        printf("%10.2f %10.3f %10.2f %10.2f %10.1f %10.2f %10.0f   %s\n", cells_mm[i], steps_s[i], our_s * 1e3,
               100.0 * off_by(ours, fine), their_s * 1e3, 100.0 * off_by(theirs, fine), their_s / our_s,
               their_s >= 50.0 * our_s ? "met" : "missed");
    }
}

void bench_heat(void)
{
    print_updates();
    print_against_scipy();
}
