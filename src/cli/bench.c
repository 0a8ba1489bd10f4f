/* bench.c - the page for a browser on this machine, until somebody ends it. */
#include "cli/verbs.h"

#include "tangwright/page.h"

#include <errno.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SELF "/proc/self/exe"

extern char **environ;

static enum tw_status read_port(const char *text, int *out, struct tw_findings *findings)
{
    char *end;
    long port = strtol(text, &end, 10);

    if (*end || text[0] < '0' || text[0] > '9' || port < 1024 || port > 65535)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--port" },
                       "%s is no port that a program may take; 1024 to 65535 are, such as --port 8137", text);
    *out = (int)port;
    return TW_OK;
}

/* Where there is a screen. That no browser opens is no fault: the address stands on the terminal. */
static void open_browser(const char *address)
{
    char opener[] = "xdg-open", *copy = (char *)(size_t)address;
    char *words[] = { opener, copy, NULL };
    sigset_t none;
    posix_spawnattr_t attributes;
    pid_t child;

    if (!getenv("DISPLAY") && !getenv("WAYLAND_DISPLAY"))
        return;
    sigemptyset(&none);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnp(&child, opener, NULL, &attributes, words, environ);
    posix_spawnattr_destroy(&attributes);
}

static enum tw_status print_address(const char *address, struct tw_findings *findings)
{
    if (printf("%s\n", address) > 0 && fflush(stdout) == 0)
        return TW_OK;
    return tw_fail(findings, TW_IO, (struct tw_place){ 0 }, "standard output cannot be written: %s", strerror(errno));
}

static enum tw_status serve(const struct options *options, struct tw_page *page, const sigset_t *ends,
                            struct tw_findings *findings)
{
    enum tw_status status = tw_page_serve(page, findings);
    int caught;

    if (status == TW_OK)
        status = print_address(tw_page_address(page), findings);
    if (status == TW_OK && !options->headless)
        open_browser(tw_page_address(page));
    if (status == TW_OK)
        sigwait(ends, &caught);
    return status;
}

enum tw_status verb_bench(const struct options *options, struct tw_findings *findings)
{
    struct tw_page_settings settings = { .folder = options->operands[0], .program = SELF, .begin = verb_write_starter };
    enum tw_status status = options->port ? read_port(options->port, &settings.port, findings) : TW_OK;
    struct tw_page *page = NULL;
    sigset_t ends;

    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigaddset(&ends, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &ends, NULL); /* for the server's thread as well, which starts later */
    signal(SIGPIPE, SIG_IGN);
    if (status == TW_OK)
        status = tw_page_open(&settings, &page, findings);
    if (status == TW_OK)
        status = serve(options, page, &ends, findings);
    tw_page_close(page);
    return status;
}
