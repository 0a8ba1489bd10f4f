/* proof.c - how fast the dry-run is: whole, and its removal alone. */
#include "bench.h"

#include "geometry/ring.h"
#include "tangwright/removal.h"
#include "tangwright/verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CELL_MM 0.1
#define RUNS    3

/* ---- whole ---- */

static double prove_s(const struct sample *sample, bool *cut)
{
    struct tw_card cards[2];
    double s[RUNS];

    for (int i = 0; i < 2; i++)
        cards[i] = (struct tw_card){ i ? "side-b.nc" : "side-a.nc", sample->texts[i], strlen(sample->texts[i]) };
    for (int run = 0; run < RUNS; run++) {
        struct tw_findings findings = { 0 };
        struct tw_verdict verdict;
        double began = bench_cpu_s();

        bench_must(tw_verdict_make(&sample->job, cards, 2, CELL_MM, &verdict, &findings), "a dry-run", &findings);
        s[run] = bench_cpu_s() - began;
        *cut = verdict.cut;
        tw_verdict_free(&verdict);
        tw_findings_free(&findings);
    }
    return bench_median(s, RUNS);
}

/* ---- the removal alone: the moves of one part over its own blank ---- */

static void fill_field(const struct sample *sample, const struct tw_face *face, struct tw_field *out)
{
    struct tw_findings findings = { 0 };
    struct tw_outline tang = { 0 };
    struct tw_ring *rings;
    struct tw_box box;
    double tilt = face->mount == TW_MOUNT_TILTED ? tan(face->tilt_rad) : 0.0;
    struct tw_height_plane top = { sample->job.taper.ricasso_mm / cos(face->tilt_rad), tilt, 0.0 };

    bench_must(tw_face_outline(face, &sample->job.part.tang, &tang, &findings), "an outline", &findings);
    box = tw_ring_box(&tang.outer);
    rings = malloc((tang.hole_count + 1) * sizeof *rings);
    if (!rings)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    rings[0] = tang.outer;
    for (size_t i = 0; i < tang.hole_count; i++)
        rings[i + 1] = tang.holes[i];
    bench_must(tw_field_new(box.min_x_mm - 1.0, box.min_y_mm - 1.0, CELL_MM,
                            (int)ceil((box.max_x_mm - box.min_x_mm + 2.0) / CELL_MM),
                            (int)ceil((box.max_y_mm - box.min_y_mm + 2.0) / CELL_MM), 0.0, out, &findings),
               "a field", &findings);
    bench_must(tw_field_add_stock(out, rings, tang.hole_count + 1, top, &findings), "a field", &findings);
    free(rings);
    tw_outline_free(&tang);
    tw_findings_free(&findings);
}

/* All parts of one side, as often as there are parts; returns seconds. */
static double remove_s(const struct sample *sample, const struct tw_setup_plan *setup)
{
    const struct tw_wheel *wheel = &sample->job.wheel;
    struct tw_wheel_body body = { .shape = wheel->kind == TW_WHEEL_CUP ? TW_BODY_CUP : TW_BODY_DISC,
                                  .radius_mm = wheel->diameter_mm / 2.0,
                                  .width_mm = wheel->width_mm,
                                  .rim_mm = wheel->rim_width_mm,
                                  .hollow_mm = wheel->width_mm };
    double s = 0.0;

    for (int part = 0; part < sample->job.parts; part++) {
        struct tw_field field;
        struct tw_sweep *sweep;
        double began;

        fill_field(sample, &setup->face, &field);
        bench_must(tw_sweep_new(&field, &body, 6.0, &sweep, NULL), "a sweep", NULL);
        began = bench_cpu_s();
        for (size_t i = 1; i < setup->move_count; i++) {
            const struct tw_place3 *a = &setup->moves[i - 1].to, *b = &setup->moves[i].to;
            struct tw_removal removal;

            bench_must(tw_sweep_line(sweep, (double[3]){ a->x_mm, a->y_mm, a->z_mm },
                                     (double[3]){ b->x_mm, b->y_mm, b->z_mm }, &removal, NULL),
                       "a motion", NULL);
        }
        s += bench_cpu_s() - began;
        tw_sweep_free(sweep);
        tw_field_free(&field);
    }
    return s;
}

void bench_proof(const struct sample *samples, size_t count)
{
    printf("\nDry-run of both programs on cells of %.1f mm, on one core: grinding proved per second of computing "
           "(median of %d),\n"
           "and the removal of the same moves alone; aim: an hour in under 2 s, which is 1800 s per s\n\n",
           CELL_MM, RUNS);
    printf("%-14s %10s %10s %10s %10s %10s %10s   %s\n", "job", "grinding", "dry-run", "s per s", "an hour", "removal",
           "s per s", "aim");
    printf("%-14s %10s %10s %10s %10s %10s\n", "", "s", "s", "", "s", "s");
    for (size_t i = 0; i < count; i++) {
        bool cut;
        double grinding_s = samples[i].plan.cycle_time_s, s = prove_s(&samples[i], &cut);
        double removal_s =
            remove_s(&samples[i], &samples[i].plan.setups[0]) + remove_s(&samples[i], &samples[i].plan.setups[1]);

        printf("%-14s %10.0f %10.3f %10.0f %10.2f %10.3f %10.0f   %s%s\n", samples[i].name, grinding_s, s,
               grinding_s / s, 3600.0 * s / grinding_s, removal_s, grinding_s / removal_s,
               grinding_s / s >= 1800.0 ? "met" : "missed", cut ? "" : " (and the verdict is: do not cut)");
    }
}
