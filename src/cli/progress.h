/* progress.h - a line on a person's terminal while something takes long.
 *
 * Nothing is shown before half a second, and nothing at all where standard error is no terminal. */
#ifndef TANGWRIGHT_CLI_PROGRESS_H
#define TANGWRIGHT_CLI_PROGRESS_H

#include <pthread.h>
#include <stdbool.h>

struct progress {
    const char *what; /* "planning" */
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t done_changed;
    bool running, done;
};

/* `what` is borrowed until progress_end(). Where no thread can be had, nothing is shown. */
void progress_begin(struct progress *progress, const char *what);
/* Takes the line away again. */
void progress_end(struct progress *progress);

#endif
