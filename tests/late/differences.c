/* differences.c - Criterion starts a program anew for each of its tests, and each start loads libgit2, which shows how two texts
 * differ, with all that does cryptography and networks for it: fourteen libraries of twenty-one, and certificates that are read.
 * That took a third of a start, and of what the leak checker looks through at its end. This stands in libgit2's place and under
 * its name, beside the tests, where their loader finds it first; libgit2 itself, at LIBGIT2, is loaded when there is a difference
 * to show. These are the functions that Criterion calls, with the types of libgit2's public header, git2/diff.h. */
#include <dlfcn.h>
#include <stddef.h>
#include <stdio.h>
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
    void *library = dlopen(LIBGIT2, RTLD_NOW | RTLD_LOCAL);
    init_function *init = NULL;
    diff_function *diff = NULL;

    if (library) {
        *(void **)&init = dlsym(library, "git_libgit2_init");
        *(void **)&diff = dlsym(library, "git_diff_buffers");
    }
    if (!init || !diff || init() < 0) {
        fputs("what shows differences is not at " LIBGIT2 "; build the tests anew\n", stderr);
        abort();
    }
    return diff(old, old_bytes, old_name, new, new_bytes, new_name, options, file, binary, hunk, line, context);
}
