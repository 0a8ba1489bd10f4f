/* guard.h - who may ask, and what. */
#ifndef TANGWRIGHT_PAGE_GUARD_H
#define TANGWRIGHT_PAGE_GUARD_H

#include "tangwright/page.h"

#define GUARD_KEY_DIGITS 32

struct guard {
    char key[GUARD_KEY_DIGITS + 1];
    char host[32];   /* "127.0.0.1:8137" */
    char origin[40]; /* "http://127.0.0.1:8137" */
};

/* A key of chance. TW_IO where the system has none to give. */
enum tw_status guard_make_key(struct guard *guard, struct tw_findings *findings);
void guard_set_port(struct guard *guard, int port);

/* 200 with *rest, the path behind the key, where the request may be answered; else the status to refuse it with. */
int guard_check(const struct guard *guard, const struct tw_page_request *request, const char **rest);

/* Percent signs turned to bytes, in a name of one part: false for what is no such name. */
bool guard_decode(const char *raw, char *out, size_t room);

#endif
