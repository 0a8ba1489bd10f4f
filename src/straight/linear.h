/* linear.h - small linear programmes, solved by GLPK without its messages and without its global habits. */
#ifndef TANGWRIGHT_STRAIGHT_LINEAR_H
#define TANGWRIGHT_STRAIGHT_LINEAR_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

#define LINEAR_VARIABLES_MOST 5

/* sum of coefficient * variable >= least */
struct linear_row {
    double coefficient[LINEAR_VARIABLES_MOST];
    double least;
};

/* Least cost; each variable between low and high (either may be infinite; equal: fixed). */
struct linear {
    size_t variables;
    double cost[LINEAR_VARIABLES_MOST];
    double low[LINEAR_VARIABLES_MOST], high[LINEAR_VARIABLES_MOST];
    const struct linear_row *rows;
    size_t row_count;
};

/* *possible false: nothing meets all rows, and `values` is left alone. TW_NO_MEMORY when GLPK runs out of it. */
enum tw_status linear_solve(const struct linear *problem, bool *possible, double values[LINEAR_VARIABLES_MOST],
                            struct tw_findings *findings);

/* Opens GLPK's state for this thread; *opened tells whether it was closed before, and linear_close() is due. */
enum tw_status linear_open(bool *opened, struct tw_findings *findings);
void linear_close(bool opened);

#endif
