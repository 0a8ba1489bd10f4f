/* card_set.h - the programs of one plan as a set: which of a folder's files belong to it, and which to an older one. */
#ifndef TANGWRIGHT_CLI_CARD_SET_H
#define TANGWRIGHT_CLI_CARD_SET_H

#include "base/staged.h"
#include "tangwright/job.h"
#include "tangwright/verdict.h"

/* "programs.sha256": the set's programs, each with its SHA-256 (FIPS 180-4), in the form that `sha256sum -c` reads. */
const char *card_set_list_name(void);

/* For the caller to free(); NULL when memory runs out. Cards are named without their folder. */
char *card_set_list(const struct tw_job *job, const struct tw_card *cards, size_t count);

/* "UNFINISHED.txt": stands in a folder while its files are switched, and stays when that is cut off. */
const char *card_set_mark_name(void);
const char *card_set_mark_text(void);
struct tw_staged_mark card_set_mark(void); /* both */

/* The list that stands in `folder` vouches for the file of that name: it is, to the byte, what a plan wrote there. */
bool card_set_knows(const char *folder, const char *name);

/* Paths of what an older plan left in a folder. */
struct card_set_outdated {
    char **paths;
    size_t count, capacity;
};

/* Looks for programs of other plans: those with a name that plans give, with whatever ending, go when the new set comes, and a
 * remark names each; other programs, sheets and dry-run answers of ours that hold other inputs' digest are only named. `names` are
 * the new set's files. What goes is added to *out. A folder that is not there holds none. */
enum tw_status card_set_find_outdated(const char *folder, const char *digest, const char *const *names,
                                      size_t name_count, struct card_set_outdated *out, struct tw_findings *findings);

void card_set_outdated_free(struct card_set_outdated *outdated);

/* Of the programs named for a dry-run: TW_DO_NOT_CUT where one lies in a folder that was left unfinished; a remark where the
 * list beside it says another text. */
enum tw_status card_set_check(const char *const *paths, size_t count, struct tw_findings *findings);

#endif
