/* away.c - see away.h. */
#include "program/away.h"

#include <math.h>
#include <stdlib.h>

static enum tw_status time_moves(const struct tw_machine *machine, struct tw_away_part *part,
                                 struct tw_findings *findings)
{
    part->times_s = calloc(part->setup->move_count + 1, sizeof *part->times_s);
    return part->times_s ? tw_setup_times(machine, part->setup, part->times_s, findings) : tw_no_memory(findings);
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
