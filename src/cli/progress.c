/* progress.c - a line on a person's terminal while something takes long. */
#include "cli/progress.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define TENTH_NS 100000000L
enum { FIRST_TENTHS = 5, NEXT_TENTHS = 2 };

static void later(struct timespec *time, int tenths)
{
    time->tv_nsec += tenths * TENTH_NS;
    time->tv_sec += time->tv_nsec / 1000000000L;
    time->tv_nsec %= 1000000000L;
}

/* Wakes when it is over, or when the next line is due. */
static void *watch(void *context)
{
    struct progress *progress = context;
    struct timespec due;
    int tenths = FIRST_TENTHS;
    bool shown = false;

    clock_gettime(CLOCK_REALTIME, &due);
    later(&due, FIRST_TENTHS);
    pthread_mutex_lock(&progress->lock);
    while (!progress->done) {
        if (pthread_cond_timedwait(&progress->done_changed, &progress->lock, &due) == 0 || progress->done)
            continue;
        fprintf(stderr, "\r%s, %d.%d s", progress->what, tenths / 10, tenths % 10);
        fflush(stderr);
        shown = true;
        tenths += NEXT_TENTHS;
        later(&due, NEXT_TENTHS);
    }
    pthread_mutex_unlock(&progress->lock);
    if (shown)
        fprintf(stderr, "\r%*s\r", 60, "");
    return NULL;
}

void progress_begin(struct progress *progress, const char *what)
{
    *progress = (struct progress){ .what = what };
    if (!isatty(STDERR_FILENO))
        return;
    pthread_mutex_init(&progress->lock, NULL);
    pthread_cond_init(&progress->done_changed, NULL);
    progress->running = pthread_create(&progress->thread, NULL, watch, progress) == 0;
}

void progress_end(struct progress *progress)
{
    if (!progress->running)
        return;
    pthread_mutex_lock(&progress->lock);
    progress->done = true;
    pthread_cond_signal(&progress->done_changed);
    pthread_mutex_unlock(&progress->lock);
    pthread_join(progress->thread, NULL);
    pthread_cond_destroy(&progress->done_changed);
    pthread_mutex_destroy(&progress->lock);
    progress->running = false;
}
