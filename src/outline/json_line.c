/* json_line.c - following a path through JSON text that is known to be sound. */
#include "outline/json_line.h"

#include "outline/scan.h"

#include <string.h>

static void skip_string(struct tw_scan *scan)
{
    scan->at++;
    while (scan->at < scan->end && *scan->at != '"')
        scan->at += *scan->at == '\\' ? 2 : 1;
    if (scan->at < scan->end)
        scan->at++;
}

/* Past one value: a nesting of brackets is counted, not followed, so no depth can exhaust the stack. */
static void skip_value(struct tw_scan *scan)
{
    size_t open = 0;

    do {
        char c;

        tw_scan_spaces(scan);
        c = tw_scan_peek(scan);
        if (c == '"') {
            skip_string(scan);
            continue;
        }
        open += c == '[' || c == '{';
        if (open > 0 && (c == ']' || c == '}'))
            open--;
        scan->at++;
        if (open == 0 && c != ']' && c != '}')
            while (scan->at < scan->end && !strchr(",]} \t\r\n", *scan->at))
                scan->at++;
    } while (open > 0 && scan->at < scan->end);
}

static int key_is(const struct tw_scan *scan, const char *key)
{
    size_t length = strlen(key);

    return (size_t)(scan->end - scan->at) > length + 1 && strncmp(scan->at + 1, key, length) == 0 &&
           scan->at[length + 1] == '"';
}

/* From the value at `scan` to its member or element; 0 when there is none. */
static int step_into(struct tw_scan *scan, const struct tw_json_step *step)
{
    tw_scan_spaces(scan);
    if (tw_scan_peek(scan) != (step->key ? '{' : '['))
        return 0;
    scan->at++;
    for (size_t index = 0; scan->at < scan->end; index++) {
        int found = step->key == NULL && index == step->index;

        tw_scan_spaces(scan);
        if (tw_scan_peek(scan) == ']' || tw_scan_peek(scan) == '}')
            return 0;
        if (step->key) {
            found = key_is(scan, step->key);
            skip_string(scan);
            tw_scan_spaces(scan);
            scan->at++; /* the colon */
            tw_scan_spaces(scan);
        }
        if (found)
            return 1;
        skip_value(scan);
        tw_scan_spaces(scan);
        if (tw_scan_peek(scan) == ',')
            scan->at++;
    }
    return 0;
}

int tw_json_line(const char *text, size_t length, const struct tw_json_step *steps, size_t step_count)
{
    struct tw_scan scan = { text, text + length, 1 };
    int line;

    tw_scan_spaces(&scan);
    line = scan.line;
    for (size_t i = 0; i < step_count && step_into(&scan, &steps[i]); i++)
        line = scan.line;
    return line;
}
