/* page.h - a page on this machine alone, to work on the job of one folder with a browser.
 *
 * Serves    http://127.0.0.1:PORT/KEY/ where KEY is made of chance at every start: who does not know it is told nothing.
 *           Nothing but the loop-back address is listened on. Host must be that very address, and so must the origin
 *           of whatever changes anything, so that no page of somebody else can ask through the browser.
 * Files     only those of the folder are read or written for a request, by names without "..", and no link is followed. What
 *           the job itself names is read as everywhere.
 * Record    the job file alone. Every change is written into it at its place (input/edit.h); the page shows what stands in
 *           it, whoever wrote it. A change that cannot be read by itself is not written.
 * Threads   requests are answered one after another, by a thread of the server.
 * Errors    TW_IO, TW_BAD_INPUT, TW_NO_MEMORY. */
#ifndef TANGWRIGHT_PAGE_H
#define TANGWRIGHT_PAGE_H

#include "tangwright/findings.h"

struct tw_page;

struct tw_page_settings {
    const char *folder;
    const char *program; /* that answers what takes long, as a process of its own: this very program */
    int port;            /* 0: any that is free */
    /* Writes a job to start from into the folder, which holds none. */
    enum tw_status (*begin)(const char *folder, struct tw_findings *findings);
};

/* Opens the folder; nothing is served yet. */
enum tw_status tw_page_open(const struct tw_page_settings *settings, struct tw_page **out,
                            struct tw_findings *findings);
void tw_page_close(struct tw_page *page);

/* From here on requests are answered, until tw_page_close(). */
enum tw_status tw_page_serve(struct tw_page *page, struct tw_findings *findings);

/* "http://127.0.0.1:8137/KEY/" once it serves. */
const char *tw_page_address(const struct tw_page *page);

/* A request as it came; NULL for a header that was not sent. */
struct tw_page_request {
    const char *method, *path; /* path: percent signs and all */
    const char *host, *origin, *fetch_site;
    const char *body;
    size_t length;
};

struct tw_page_response {
    int status;        /* of HTTP */
    const char *type;  /* of the body */
    char policy[256];  /* of the content */
    const char *allow; /* methods, of a refused one */
    char *body;        /* the caller's: free(); NULL when memory ran out */
    size_t length;
};

/* What may come in the body of such a request at most, in bytes; its own body counts for nothing here. */
size_t tw_page_body_most(const struct tw_page *page, const struct tw_page_request *request);

void tw_page_answer(struct tw_page *page, const struct tw_page_request *request, struct tw_page_response *out);

#endif
