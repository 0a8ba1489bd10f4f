/* tokens.c - see tokens.h. */
#include "input/tokens.h"

#include <ctype.h>
#include <string.h>

static void skip_to(struct tw_scan *scan, const char *end)
{
    for (; scan->at < end; scan->at++)
        scan->line += *scan->at == '\n';
}

static bool skip_comment(struct tw_scan *scan)
{
    const char *at = scan->at;
    const char *end;

    if (*at == '#' || (at[0] == '/' && at[1] == '/')) {
        end = strchr(at, '\n');
    } else if (at[0] == '/' && at[1] == '*') {
        end = strstr(at + 2, "*/");
        if (end)
            end += 2;
    } else {
        return false;
    }
    skip_to(scan, end ? end : at + strlen(at));
    return true;
}

static const char *end_of_string(const char *at)
{
    for (at++; *at && *at != '"'; at++)
        at += *at == '\\' && at[1];
    return at;
}

static bool is_name_start(char c)
{
    return isalpha((unsigned char)c) || c == '*';
}

static bool is_name_part(char c)
{
    return isalnum((unsigned char)c) || strchr("*-_", c);
}

struct tw_token tw_token_next(struct tw_scan *scan)
{
    struct tw_token token = { .kind = TW_TOKEN_END };
    const char *end;

    while (*scan->at && (isspace((unsigned char)*scan->at) || skip_comment(scan)))
        if (isspace((unsigned char)*scan->at))
            skip_to(scan, scan->at + 1);
    token.start = end = scan->at;
    token.line = scan->line;
    if (*end == '"') {
        token.kind = TW_TOKEN_STRING;
        end = end_of_string(end);
        token.closed = *end == '"';
        end += token.closed;
    } else if (is_name_start(*end)) {
        token.kind = TW_TOKEN_NAME;
        while (*end && is_name_part(*end))
            end++;
    } else if (isdigit((unsigned char)*end) || (*end && strchr("+-.", *end) && isdigit((unsigned char)end[1]))) {
        token.kind = TW_TOKEN_NUMBER;
        for (end++; isdigit((unsigned char)*end) || *end == '.'; end++)
            ;
    } else if (*end) {
        token.kind = TW_TOKEN_MARK;
        end++;
    }
    skip_to(scan, end);
    token.length = (int)(end - token.start);
    token.last_line = scan->line;
    return token;
}

bool tw_token_is_mark(struct tw_token token, const char *marks)
{
    return token.kind == TW_TOKEN_MARK && strchr(marks, *token.start);
}
