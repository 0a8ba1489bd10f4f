/* advise.h - what else would bring the balance point where it is wanted. */
#ifndef TANGWRIGHT_BALANCE_ADVISE_H
#define TANGWRIGHT_BALANCE_ADVISE_H

#include "tangwright/balance.h"

/* Tries changes of the job one by one, each with its own best butt and relief, and fills answer->advice. */
enum tw_status tw_balance_advise(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                 struct tw_balance_answer *answer, struct tw_findings *findings);

#endif
