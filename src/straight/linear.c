/* linear.c - the way to GLPK. Its functions stop the process when something is wrong; the hook jumps out instead. */
#include "straight/linear.h"

#include <glpk.h>
#include <math.h>
#include <setjmp.h>

enum { GLPK_NO_MEMORY = 2 };

enum tw_status linear_open(bool *opened, struct tw_findings *findings)
{
    int answer = glp_init_env();

    *opened = answer == 0;
    return answer >= GLPK_NO_MEMORY ? tw_no_memory(findings) : TW_OK;
}

void linear_close(bool opened)
{
    if (opened)
        glp_free_env();
}

/* Takes what GLPK would print, also of its last words before it stops. */
static int say_nothing(void *info, const char *text)
{
    (void)info;
    (void)text;
    return 1;
}

static void jump_out(void *info)
{
    longjmp(*(jmp_buf *)info, 1);
}

static void set_column(glp_prob *glpk, int column, double low, double high)
{
    int kind = GLP_DB;

    if (isinf(low) && isinf(high))
        kind = GLP_FR;
    else if (isinf(low))
        kind = GLP_UP;
    else if (isinf(high))
        kind = GLP_LO;
    else if (low >= high)
        kind = GLP_FX;
    glp_set_col_bnds(glpk, column, kind, low, high);
}

static void fill(glp_prob *glpk, const struct linear *problem)
{
    glp_set_obj_dir(glpk, GLP_MIN);
    glp_add_cols(glpk, (int)problem->variables);
    for (size_t k = 0; k < problem->variables; k++) {
        set_column(glpk, (int)k + 1, problem->low[k], problem->high[k]);
        glp_set_obj_coef(glpk, (int)k + 1, problem->cost[k]);
    }
    if (problem->row_count > 0)
        glp_add_rows(glpk, (int)problem->row_count);
    for (size_t i = 0; i < problem->row_count; i++) {
        int index[LINEAR_VARIABLES_MOST + 1];
        double value[LINEAR_VARIABLES_MOST + 1];
        int count = 0;

        for (size_t k = 0; k < problem->variables; k++) {
            if (problem->rows[i].coefficient[k] == 0.0)
                continue;
            index[++count] = (int)k + 1;
            value[count] = problem->rows[i].coefficient[k];
        }
        glp_set_mat_row(glpk, (int)i + 1, count, index, value);
        glp_set_row_bnds(glpk, (int)i + 1, GLP_LO, problem->rows[i].least, 0.0);
    }
}

/* The only function between the jump and its target: nothing in it outlives a jump but GLPK's own, which goes with
 * its environment. */
static bool solve(const struct linear *problem, bool *possible, double *values)
{
    glp_smcp control;
    glp_prob *glpk = glp_create_prob();

    glp_init_smcp(&control);
    control.msg_lev = GLP_MSG_OFF;
    fill(glpk, problem);
    if (glp_simplex(glpk, &control) != 0) {
        glp_delete_prob(glpk);
        return false;
    }
    *possible = glp_get_status(glpk) == GLP_OPT;
    for (size_t k = 0; *possible && k < problem->variables; k++)
        values[k] = glp_get_col_prim(glpk, (int)k + 1);
    glp_delete_prob(glpk);
    return true;
}

enum tw_status linear_solve(const struct linear *problem, bool *possible, double values[LINEAR_VARIABLES_MOST],
                            struct tw_findings *findings)
{
    jmp_buf back;
    bool solved;

    if (setjmp(back) != 0) {
        glp_free_env();                /* the hooks go with it */
        return tw_no_memory(findings); /* with the rows we write it can only fail so */
    }
    glp_term_hook(say_nothing, NULL);
    glp_error_hook(jump_out, &back);
    solved = solve(problem, possible, values);
    glp_error_hook(NULL, NULL);
    glp_term_hook(NULL, NULL);
    if (!solved)
        return tw_fail(
            findings, TW_NO_PLAN, (struct tw_place){ 0 },
            "the choice of what comes off each face could not be computed; are the survey's heights in order?");
    return TW_OK;
}
