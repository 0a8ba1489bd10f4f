/* away.c - see away.h. */
#include "program/away.h"

#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>

static enum tw_status time_moves(const struct tw_machine *machine, struct tw_away_part *part,
                                 struct tw_findings *findings)
{
    const struct tw_setup_plan *setup = part->setup;
    struct tw_motion_leg *legs = calloc(setup->move_count + 1, sizeof *legs);
    enum tw_status status = TW_OK;

    part->times_s = calloc(setup->move_count + 1, sizeof *part->times_s);
    if (!legs || !part->times_s)
        status = tw_no_memory(findings);
    for (size_t i = 1; status == TW_OK && i < setup->move_count; i++) {
        const struct tw_move *move = &setup->moves[i];

        legs[i - 1].rest_after = move->kind == TW_MOVE_DWELL || move->enters;
        if (move->enters)
            continue;
        legs[i].by_mm[0] = move->to.x_mm - move[-1].to.x_mm;
        legs[i].by_mm[1] = move->to.y_mm - move[-1].to.y_mm;
        legs[i].by_mm[2] = move->to.z_mm - move[-1].to.z_mm;
        legs[i].feed_mm_per_s = move->kind == TW_MOVE_FEED ? move->feed_mm_per_s : 0.0;
    }
    if (status == TW_OK)
        status = tw_motion_times(machine, legs, setup->move_count, machine->dialect.path_mode == TW_PATH_BLENDED,
                                 part->times_s, findings);
    free(legs);
    return status;
}

enum tw_status tw_away_open(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                            struct tw_away *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    *out = (struct tw_away){ 0 };
    while (status == TW_OK && out->count < load->parts) {
        struct tw_away_part *part = &out->parts[out->count];

        part->setup = &blanks[out->count].plan->setups[setup];
        part->change_s = part->setup->between_s / fmax(1.0, (double)part->setup->rounds * load->parts);
        out->count++;
        status = time_moves(&load->machine, part, findings);
    }
    if (status != TW_OK)
        tw_away_close(out);
    return status;
}

void tw_away_close(struct tw_away *away)
{
    for (int i = 0; i < away->count; i++)
        free(away->parts[i].times_s);
    *away = (struct tw_away){ 0 };
}

static double stay_s(const struct tw_away_part *part, struct tw_stay stay)
{
    double sum_s = 0.0;

    for (size_t i = stay.first + 1; i <= stay.last; i++)
        sum_s += part->setup->moves[i].kind == TW_MOVE_DWELL ? part->setup->moves[i].dwell_s : part->times_s[i];
    return sum_s;
}

double tw_away_wait_s(struct tw_away *away, int number, struct tw_stay stay)
{
    struct tw_away_part *part = &away->parts[number];
    double here_s = stay_s(part, stay), wait_s = 0.0;

    away->now_s += part->change_s;
    if (part->stay_s > 0.0) {
        double asked_s = (away->count - 1) * fmin(part->stay_s, here_s) + away->count * part->change_s;

        wait_s = fmax(0.0, asked_s - (away->now_s - part->left_s));
    }
    away->now_s += wait_s + here_s;
    part->left_s = away->now_s;
    part->stay_s = here_s;
    return wait_s;
}
