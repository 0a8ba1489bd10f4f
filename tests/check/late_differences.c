/* late_differences.c - Criterion starts a program anew for each of its tests, and each start readies libgit2, which shows how two
 * texts differ. That reads all certificates of the machine: a third of what a start takes, and of what the leak checker has to
 * look through at its end. Here it is put off until there is a difference to show. These are found before libgit2's functions
 * of the same names, whose types are those of its public header, git2/diff.h; Criterion calls no others of it. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stddef.h>
#include <stdlib.h>

typedef int init_function(void);
typedef int diff_function(const void *, size_t, const char *, const void *, size_t, const char *, const void *, void *,
                          void *, void *, void *, void *);

init_function git_libgit2_init, git_libgit2_shutdown;
diff_function git_diff_buffers;

/* How many use it, as libgit2 counts. */
int git_libgit2_init(void)
{
    return 1;
}

int git_libgit2_shutdown(void)
{
    return 0;
}

int git_diff_buffers(const void *old, size_t old_bytes, const char *old_name, const void *new, size_t new_bytes,
                     const char *new_name, const void *options, void *file, void *binary, void *hunk, void *line,
                     void *context)
{
    init_function *init;
    diff_function *diff;

    *(void **)&init = dlsym(RTLD_NEXT, "git_libgit2_init");
    *(void **)&diff = dlsym(RTLD_NEXT, "git_diff_buffers");
    if (!init || !diff || init() < 0)
        abort();
    return diff(old, old_bytes, old_name, new, new_bytes, new_name, options, file, binary, hunk, line, context);
}
