/* server.c - the page over HTTP, on the loop-back address alone. */
#include "page/page.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define CONNECTIONS_MOST 40
#define IDLE_S           15
#define HEADER_BYTES     ((size_t)32 << 10)

/* ---- the page as a thing ---- */

void tw_page_close(struct tw_page *page)
{
    if (!page)
        return;
    if (page->daemon)
        MHD_stop_daemon(page->daemon);
    page_forget_watched(page);
    page_forget_steps(page);
    folder_close(&page->folder);
    free(page->job_path);
    free(page->programs_path);
    asks_close(&page->asks);
    free(page->address);
    free(page);
}

enum tw_status tw_page_open(const struct tw_page_settings *settings, struct tw_page **out, struct tw_findings *findings)
{
    struct tw_page *page = calloc(1, sizeof *page);
    enum tw_status status;

    *out = NULL;
    if (!page)
        return tw_no_memory(findings);
    page->wanted_port = settings->port;
    page->begin = settings->begin;
    status = folder_open(settings->folder, &page->folder, findings);
    if (status == TW_OK)
        status = guard_make_key(&page->guard, findings);
    guard_set_port(&page->guard, settings->port);
    if (status == TW_OK) {
        page->job_path = folder_path(&page->folder, PAGE_JOB_NAME);
        page->programs_path = folder_path(&page->folder, ASK_PROGRAMS);
        status = page->job_path && page->programs_path ? asks_open(&page->asks, settings->program, findings)
                                                       : tw_no_memory(findings);
    }
    if (status == TW_OK)
        *out = page;
    else
        tw_page_close(page);
    return status;
}

const char *tw_page_address(const struct tw_page *page)
{
    return page->address ? page->address : "";
}

/* ---- one request ---- */

/* What came of it so far. */
struct coming {
    struct tw_text body;
    size_t most;
};

/* A header that comes twice is none: who reads the first and who the last would differ. */
struct counting {
    const char *name;
    int count;
};

static enum MHD_Result count_header(void *counting, enum MHD_ValueKind kind, const char *name, const char *value)
{
    struct counting *sum = counting;

    (void)kind, (void)value;
    sum->count += strcasecmp(name, sum->name) == 0;
    return MHD_YES;
}

static const char *single_header(struct MHD_Connection *connection, const char *name)
{
    struct counting counting = { .name = name };

    MHD_get_connection_values(connection, MHD_HEADER_KIND, count_header, &counting);
    return counting.count > 1 ? "" : MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static enum MHD_Result send_answer(struct MHD_Connection *connection, struct tw_page_response *answer)
{
    static const char *const headers[][2] = {
        { "Cache-Control", "no-store" },
        { "X-Content-Type-Options", "nosniff" },
        { "Referrer-Policy", "no-referrer" },
        { "Cross-Origin-Opener-Policy", "same-origin" },
        { "Cross-Origin-Resource-Policy", "same-origin" },
    };
    struct MHD_Response *response =
        answer->body ? MHD_create_response_from_buffer(answer->length, answer->body, MHD_RESPMEM_MUST_FREE)
                     : MHD_create_response_from_buffer(0, (void *)(size_t) "", MHD_RESPMEM_PERSISTENT);
    enum MHD_Result sent;

    if (!response) {
        free(answer->body);
        return MHD_NO; /* ends the connection */
    }
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        MHD_add_response_header(response, headers[i][0], headers[i][1]);
    MHD_add_response_header(response, "Content-Security-Policy", answer->policy);
    if (answer->body)
        MHD_add_response_header(response, "Content-Type", answer->type);
    if (answer->allow)
        MHD_add_response_header(response, "Allow", answer->allow);
    sent = MHD_queue_response(connection, answer->body ? (unsigned)answer->status : 500, response);
    MHD_destroy_response(response);
    return sent;
}

static struct tw_page_request read_head(struct MHD_Connection *connection, const char *method, const char *path)
{
    return (struct tw_page_request){ .method = method,
                                     .path = path,
                                     .host = single_header(connection, MHD_HTTP_HEADER_HOST),
                                     .origin = single_header(connection, MHD_HTTP_HEADER_ORIGIN),
                                     .fetch_site = single_header(connection, "Sec-Fetch-Site"),
                                     .body = "" };
}

static enum MHD_Result answer(struct tw_page *page, struct MHD_Connection *connection,
                              const struct tw_page_request *request)
{
    struct tw_page_response response;

    tw_page_answer(page, request, &response);
    return send_answer(connection, &response);
}

/* With the headers there and the body still to come: what may not be sent is refused before it is. */
static enum MHD_Result begin(struct tw_page *page, struct MHD_Connection *connection, struct tw_page_request *request,
                             void **per_request)
{
    const char *length = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_CONTENT_LENGTH);
    struct coming *coming = calloc(1, sizeof *coming);

    if (!coming)
        return MHD_NO;
    *per_request = coming;
    coming->most = tw_page_body_most(page, request);
    request->length = length ? strtoull(length, NULL, 10) : 0;
    return request->length > coming->most ? answer(page, connection, request) : MHD_YES;
}

/* Called once when the headers are there, then for each piece of the body, then once more. */
static enum MHD_Result take(void *context, struct MHD_Connection *connection, const char *path, const char *method,
                            const char *version, const char *data, size_t *length, void **per_request)
{
    struct coming *coming = *per_request;
    struct tw_page_request request = read_head(connection, method, path);

    (void)version;
    if (!coming)
        return begin(context, connection, &request, per_request);
    if (*length > 0) {
        if (coming->body.length + *length > coming->most)
            return MHD_NO; /* more than it said, or it did not say: the connection ends */
        tw_text_append(&coming->body, data, *length);
        *length = 0;
        return coming->body.failed ? MHD_NO : MHD_YES;
    }
    if (coming->body.data)
        request.body = coming->body.data;
    request.length = coming->body.length;
    return answer(context, connection, &request);
}

static void forget(void *context, struct MHD_Connection *connection, void **per_request,
                   enum MHD_RequestTerminationCode code)
{
    struct coming *coming = *per_request;

    (void)context, (void)connection, (void)code;
    if (coming)
        tw_text_free(&coming->body);
    free(coming);
}

/* Percent signs stay: what they stand for is asked name by name. */
static size_t keep_raw(void *context, struct MHD_Connection *connection, char *text)
{
    (void)context, (void)connection;
    return strlen(text);
}

/* What a stranger sends is no matter for the terminal. */
static void keep_quiet(void *context, const char *format, va_list arguments)
{
    (void)context, (void)format, (void)arguments;
}

/* ---- serving ---- */

static enum tw_status make_address(struct tw_page *page, struct tw_findings *findings)
{
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(page->daemon, MHD_DAEMON_INFO_BIND_PORT);
    struct tw_text address = { 0 };

    guard_set_port(&page->guard, info ? info->port : page->wanted_port);
    tw_text_print(&address, "%s/%s/", page->guard.origin, page->guard.key);
    page->address = tw_text_take(&address);
    return page->address ? TW_OK : tw_no_memory(findings);
}

enum tw_status tw_page_serve(struct tw_page *page, struct tw_findings *findings)
{
    struct sockaddr_in loop = { .sin_family = AF_INET, .sin_port = htons((uint16_t)page->wanted_port) };

    loop.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    errno = 0;
    page->daemon = MHD_start_daemon(MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_ERROR_LOG, 0, NULL, NULL, take, page,
                                    MHD_OPTION_EXTERNAL_LOGGER, keep_quiet, NULL, MHD_OPTION_SOCK_ADDR, &loop,
                                    MHD_OPTION_NOTIFY_COMPLETED, forget, NULL, MHD_OPTION_UNESCAPE_CALLBACK, keep_raw,
                                    NULL, MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MOST,
                                    MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
                                    HEADER_BYTES, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
    if (!page->daemon)
        return tw_fail(findings, TW_IO, (struct tw_place){ .key = "--port" },
                       "port %d of this machine cannot be had: %s; give another one, or none", page->wanted_port,
                       errno ? strerror(errno) : "it may be in use");
    return make_address(page, findings);
}
