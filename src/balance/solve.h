/* solve.h - the search without advice, for the advice to use. */
#ifndef TANGWRIGHT_BALANCE_SOLVE_H
#define TANGWRIGHT_BALANCE_SOLVE_H

#include "tangwright/balance.h"

/* As tw_balance_solve(), but the blank must have been weighed, and no advice is given. */
enum tw_status tw_balance_seek(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                               struct tw_balance_answer *out, struct tw_findings *findings);

#endif
