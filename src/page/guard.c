/* guard.c - see guard.h. */
#include "page/guard.h"

#include <errno.h>
#include <nettle/memops.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

enum tw_status guard_make_key(struct guard *guard, struct tw_findings *findings)
{
    unsigned char chance[GUARD_KEY_DIGITS / 2];
    size_t got = 0;

    while (got < sizeof chance) {
        ssize_t more = getrandom(chance + got, sizeof chance - got, 0);

        if (more < 0 && errno != EINTR)
            return tw_fail(findings, TW_IO, (struct tw_place){ 0 }, "the system gives no random bytes for the key: %s",
                           strerror(errno));
        got += more > 0 ? (size_t)more : 0;
    }
    for (size_t i = 0; i < sizeof chance; i++)
        snprintf(guard->key + 2 * i, 3, "%02x", chance[i]);
    return TW_OK;
}

void guard_set_port(struct guard *guard, int port)
{
    snprintf(guard->host, sizeof guard->host, "127.0.0.1:%d", port);
    snprintf(guard->origin, sizeof guard->origin, "http://%s", guard->host);
}

/* The path behind a key of the right length, whatever the key; NULL: there is none. */
static const char *rest_of(const char *path)
{
    size_t length = strlen(path);

    if (*path != '/' || length < GUARD_KEY_DIGITS + 2 || path[GUARD_KEY_DIGITS + 1] != '/')
        return NULL;
    return path + GUARD_KEY_DIGITS + 2;
}

static bool is(const char *header, const char *wanted)
{
    return header && strcmp(header, wanted) == 0;
}

/* A browser says where a request comes from: another page's, even one that knows the key, is refused. An address that was typed,
 * or opened by the program, has no origin. */
static bool comes_from_here(const struct guard *guard, const struct tw_page_request *request)
{
    bool changes = strcmp(request->method, "GET") != 0;

    if (request->origin ? !is(request->origin, guard->origin) : changes)
        return false;
    return !request->fetch_site || is(request->fetch_site, "same-origin") ||
           (is(request->fetch_site, "none") && !changes);
}

int guard_check(const struct guard *guard, const struct tw_page_request *request, const char **rest)
{
    *rest = rest_of(request->path);
    if (!is(request->host, guard->host))
        return 421; /* misdirected: RFC 9110 section 15.5.20 */
    if (!*rest || !memeql_sec(request->path + 1, guard->key, GUARD_KEY_DIGITS))
        return 403;
    return comes_from_here(guard, request) ? 200 : 403;
}

static int digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

bool guard_decode(const char *raw, char *out, size_t room)
{
    size_t length = 0;

    for (; *raw; raw++) {
        int high = *raw == '%' ? digit(raw[1]) : 0, low = *raw == '%' && high >= 0 ? digit(raw[2]) : 0;
        char byte = *raw == '%' ? (char)(high * 16 + low) : *raw;

        if (high < 0 || low < 0 || byte == '\0' || byte == '/' || length + 1 >= room)
            return false;
        out[length++] = byte;
        raw += *raw == '%' ? 2 : 0;
    }
    out[length] = '\0';
    return length > 0;
}
