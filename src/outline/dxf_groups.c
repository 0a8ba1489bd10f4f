/* dxf_groups.c - code and value, two lines each. */
#include "outline/dxf_groups.h"

#include "base/memory.h"

#include <limits.h>
#include <string.h>

/* The next line without its end and without blanks at both ends; false at the end of the text. */
static bool next_line(struct tw_scan *scan, const char **value, size_t *length, int *line)
{
    const char *stop, *from = scan->at, *to;

    if (scan->at >= scan->end)
        return false;
    stop = memchr(from, '\n', (size_t)(scan->end - from));
    to = stop ? stop : scan->end;
    scan->at = stop ? stop + 1 : scan->end;
    *line = scan->line;
    scan->line += stop != NULL;
    while (from < to && tw_scan_is_space(*from))
        from++;
    while (to > from && tw_scan_is_space(to[-1]))
        to--;
    *value = from;
    *length = (size_t)(to - from);
    return true;
}

static bool whole_number(const char *value, size_t length, int *out)
{
    bool negative = length > 0 && *value == '-';
    size_t i = length > 0 && (*value == '-' || *value == '+');
    long number = 0;

    if (i == length || length - i > 9)
        return false;
    for (; i < length; i++) {
        if (value[i] < '0' || value[i] > '9')
            return false;
        number = number * 10 + (value[i] - '0');
    }
    *out = (int)(negative ? -number : number);
    return true;
}

enum tw_status tw_dxf_next(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_group *out)
{
    const char *code;
    size_t length;
    int line;

    *out = (struct tw_dxf_group){ .code = -1, .value = "", .line = scan->line };
    if (!next_line(scan, &code, &length, &line))
        return TW_OK;
    if (length == 0) { /* blank lines may only trail */
        tw_scan_spaces(scan);
        if (scan->at == scan->end)
            return TW_OK;
    }
    if (!whole_number(code, length, &out->code) || out->code < 0 || out->code > 1071) {
        struct tw_scan bad = { code, code + length, line };
        char seen[40];

        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, line),
                       "a group code (a whole number from 0 to 1071) should stand here, but here stands %s; "
                       "is this an ASCII DXF drawing, and whole?",
                       length > 0 ? tw_scan_seen(&bad, seen) : "an empty line");
    }
    if (!next_line(scan, &out->value, &out->length, &out->line))
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, line),
                       "the drawing ends after a group code; it is cut off, export it again");
    return TW_OK;
}

enum tw_status tw_dxf_read_entity(struct tw_reader *reader, struct tw_scan *scan, const struct tw_dxf_group *head,
                                  struct tw_dxf_entity *out)
{
    out->head = *head;
    out->count = 0;
    for (;;) {
        struct tw_scan before = *scan;
        struct tw_dxf_group group;
        enum tw_status status = tw_dxf_next(reader, scan, &group);

        if (status != TW_OK)
            return status;
        if (group.code == -1)
            return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, group.line),
                           "the drawing ends inside %.*s; it is cut off, export it again", (int)head->length,
                           head->value);
        if (group.code == 0) {
            *scan = before;
            return TW_OK;
        }
        if (group.code >= 999) /* comments and data of other programs */
            continue;
        if (!tw_grow((void **)&out->groups, &out->capacity, out->count + 1, sizeof *out->groups))
            return tw_no_memory(reader->findings);
        out->groups[out->count++] = group;
    }
}

bool tw_dxf_is(const struct tw_dxf_group *group, const char *value)
{
    return group->length == strlen(value) && strncmp(group->value, value, group->length) == 0;
}

enum tw_status tw_dxf_number(struct tw_reader *reader, const struct tw_dxf_group *group, double *out)
{
    struct tw_scan scan = { group->value, group->value + group->length, group->line };
    enum tw_scanned scanned = tw_scan_number(&scan, out);

    if (scanned == TW_SCANNED && scan.at == scan.end)
        return TW_OK;
    if (scanned == TW_SCANNED)
        scanned = TW_SCAN_NO_NUMBER;
    scan.at = group->value;
    return tw_reader_number_fault(reader, &scan, scanned, "the value of a group");
}

enum tw_status tw_dxf_integer(struct tw_reader *reader, const struct tw_dxf_group *group, int *out)
{
    struct tw_scan scan = { group->value, group->value + group->length, group->line };
    char seen[40];

    if (whole_number(group->value, group->length, out))
        return TW_OK;
    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, group->line),
                   "the value of group %d should be a whole number, but here stands %s", group->code,
                   group->length > 0 ? tw_scan_seen(&scan, seen) : "an empty line");
}

const struct tw_dxf_group *tw_dxf_find(const struct tw_dxf_entity *entity, int code)
{
    for (size_t i = 0; i < entity->count; i++)
        if (entity->groups[i].code == code)
            return &entity->groups[i];
    return NULL;
}

enum tw_status tw_dxf_get(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, double missing,
                          double *out)
{
    const struct tw_dxf_group *group = tw_dxf_find(entity, code);

    *out = missing;
    return group ? tw_dxf_number(reader, group, out) : TW_OK;
}

enum tw_status tw_dxf_get_integer(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, int missing,
                                  int *out)
{
    const struct tw_dxf_group *group = tw_dxf_find(entity, code);

    *out = missing;
    return group ? tw_dxf_integer(reader, group, out) : TW_OK;
}

enum tw_status tw_dxf_place(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, struct tw_vec *out)
{
    const struct tw_dxf_group *x = tw_dxf_find(entity, code), *y = tw_dxf_find(entity, code + 10);
    enum tw_status status;

    if (!x || !y)
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line),
                       "%.*s lacks the place of groups %d and %d; export the drawing again", (int)entity->head.length,
                       entity->head.value, code, code + 10);
    status = tw_dxf_number(reader, x, &out->x);
    return status == TW_OK ? tw_dxf_number(reader, y, &out->y) : status;
}
