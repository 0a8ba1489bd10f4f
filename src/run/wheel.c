/* wheel.c - the wheel's state from load to load: when it is dressed, and when it is used up. */
#include "tangwright/run.h"

/* Before a load, as one goes from the first that is planned to the last. */
struct state {
    const struct tw_run_outcome *outcome;
    bool most;        /* of the losses the most, else the likely ones */
    double since_mm3; /* steel since it was dressed */
    double left_mm;   /* of the wheel that is on */
    size_t wheels;    /* this one counted */
    bool dresses, renews;
};

static double loss_mm(const struct state *state, const struct tw_load_figures *load)
{
    return state->most ? load->wheel_most_mm : load->wheel_mm;
}

static double new_mm(const struct tw_run_request *request)
{
    return request->wheel_new_mm > 0.0 ? request->wheel_new_mm : request->wheel_left_mm;
}

static struct state begin(const struct tw_run_outcome *outcome, bool most)
{
    const struct tw_run_request *request = outcome->request;

    struct state state = { .outcome = outcome,
                           .most = most,
                           .since_mm3 = request->wheel.since_mm3,
                           .left_mm = request->wheel_left_mm - request->wheel.lost_mm -
                                      (double)request->wheel.dressings * request->dressing_mm,
                           .wheels = 1 };

    for (; state.left_mm < 0.0 && new_mm(request) > 0.0; state.wheels++)
        state.left_mm += new_mm(request);
    return state;
}

/* A new wheel is dressed when it is put on. */
static void renew(struct state *state, double wanted_mm)
{
    const struct tw_run_request *request = state->outcome->request;

    state->renews = request->wheel_left_mm > 0.0 && state->left_mm < wanted_mm && new_mm(request) > state->left_mm;
    if (!state->renews)
        return;
    state->wheels++;
    state->left_mm = new_mm(request);
    state->dresses = true;
}

static void step(struct state *state, size_t load)
{
    const struct tw_run_outcome *outcome = state->outcome;
    const struct tw_run_request *request = outcome->request;
    const struct tw_load_figures *figures = &outcome->loads[load];
    double allowed_mm3 = outcome->layout->job.wheel.dress_after_mm3;

    state->dresses = state->renews = false;
    if (figures->refusal)
        return;
    state->dresses = request->wheel.dressed[tw_run_load_number(outcome->layout, load)] ||
                     (allowed_mm3 > 0.0 &&
                      ((!request->wheel.used && load == 0) || state->since_mm3 + figures->removed_mm3 > allowed_mm3));
    renew(state, loss_mm(state, figures) + (state->dresses ? request->dressing_mm : 0.0));
    if (state->dresses) {
        state->since_mm3 = 0.0;
        state->left_mm -= request->dressing_mm;
    }
    state->since_mm3 += figures->removed_mm3;
    state->left_mm -= loss_mm(state, figures);
}

static struct state state_before(const struct tw_run_outcome *outcome, size_t load, bool most)
{
    struct state state = begin(outcome, most);

    for (size_t i = 0; i <= load && i < outcome->layout->load_count; i++)
        step(&state, i);
    return state;
}

bool tw_run_dresses_before(const struct tw_run_outcome *outcome, size_t load)
{
    return state_before(outcome, load, false).dresses;
}

bool tw_run_renews_before(const struct tw_run_outcome *outcome, size_t load)
{
    return state_before(outcome, load, false).renews;
}

size_t tw_run_wheels(const struct tw_run_outcome *outcome, bool most)
{
    bool known = false;

    for (size_t i = 0; i < outcome->layout->load_count; i++)
        known = known || outcome->loads[i].wheel_mm > 0.0;
    if (!known || outcome->request->wheel_left_mm == 0.0)
        return 0;
    return state_before(outcome, outcome->layout->load_count, most).wheels;
}
