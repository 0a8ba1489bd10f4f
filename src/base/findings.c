/* findings.c - the list of faults and remarks. */
#include "tangwright/findings.h"

#include "base/memory.h"
#include "base/plain.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/* With a text that is the list's from now on; NULL: there was no memory for it. */
static void keep(struct tw_findings *findings, enum tw_status status, struct tw_place at, char *text)
{
    struct tw_finding finding = { .status = status, .line = at.line, .text = text };

    finding.file = at.file ? tw_copy_string(at.file) : NULL;
    finding.key = at.key ? tw_copy_string(at.key) : NULL;
    if (!text || (at.file && !finding.file) || (at.key && !finding.key) ||
        !tw_grow((void **)&findings->items, &findings->capacity, findings->count + 1, sizeof finding)) {
        findings->out_of_memory = true;
        free(finding.text);
        free(finding.file);
        free(finding.key);
        return;
    }
    findings->items[findings->count++] = finding;
}

static void add(struct tw_findings *findings, enum tw_status status, struct tw_place at, const char *format,
                va_list arguments) __attribute__((format(printf, 4, 0)));

static void add(struct tw_findings *findings, enum tw_status status, struct tw_place at, const char *format,
                va_list arguments)
{
    struct tw_text text = { 0 };

    if (!findings)
        return;
    if (at.file)
        tw_text_print(&text, at.line > 0 ? "%s:%d: " : "%s: ", at.file, at.line);
    if (at.key)
        tw_text_print(&text, "%s: ", at.key);
    tw_text_vprint(&text, format, arguments);
    keep(findings, status, at, tw_text_take(&text));
}

enum tw_status tw_fail(struct tw_findings *findings, enum tw_status status, struct tw_place at, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    add(findings, status, at, format, arguments);
    va_end(arguments);
    return status;
}

void tw_remark(struct tw_findings *findings, struct tw_place at, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    add(findings, TW_OK, at, format, arguments);
    va_end(arguments);
}

enum tw_status tw_no_memory(struct tw_findings *findings)
{
    if (findings)
        findings->out_of_memory = true;
    return TW_NO_MEMORY;
}

void tw_findings_append(struct tw_findings *findings, struct tw_findings *more)
{
    if (!findings) {
        tw_findings_free(more);
        return;
    }
    findings->out_of_memory |= more->out_of_memory;
    if (more->count > 0 && tw_grow((void **)&findings->items, &findings->capacity, findings->count + more->count,
                                   sizeof *findings->items)) {
        memcpy(findings->items + findings->count, more->items, more->count * sizeof *more->items);
        findings->count += more->count;
        more->count = 0; /* the texts have a new owner */
    } else if (more->count > 0) {
        findings->out_of_memory = true;
    }
    tw_findings_free(more);
}

void tw_findings_repeat(struct tw_findings *findings, const struct tw_findings *said)
{
    findings->out_of_memory |= said->out_of_memory;
    for (size_t i = 0; i < said->count; i++) {
        const struct tw_finding *from = &said->items[i];
        struct tw_place at = { from->file, from->line, from->key };

        keep(findings, from->status, at, tw_copy_string(from->text));
    }
}

enum tw_status tw_findings_status(const struct tw_findings *findings)
{
    if (findings->out_of_memory)
        return TW_NO_MEMORY;
    for (size_t i = 0; i < findings->count; i++)
        if (findings->items[i].status != TW_OK)
            return findings->items[i].status;
    return TW_OK;
}

size_t tw_findings_fault_count(const struct tw_findings *findings)
{
    size_t faults = 0;

    for (size_t i = 0; i < findings->count; i++)
        faults += findings->items[i].status != TW_OK;
    return faults;
}

static bool stands_after(const struct tw_finding *a, const struct tw_finding *b)
{
    int order = strcmp(a->file ? a->file : "", b->file ? b->file : "");

    return order > 0 || (order == 0 && a->line > b->line);
}

void tw_findings_sort(struct tw_findings *findings)
{
    /* Insertion sort: stable, and the lists are short. */
    for (size_t i = 1; i < findings->count; i++) {
        struct tw_finding moved = findings->items[i];
        size_t j = i;

        for (; j > 0 && stands_after(&findings->items[j - 1], &moved); j--)
            findings->items[j] = findings->items[j - 1];
        findings->items[j] = moved;
    }
}

static void release(struct tw_finding *finding)
{
    free(finding->text);
    free(finding->file);
    free(finding->key);
}

void tw_findings_shorten(struct tw_findings *findings, size_t most, const char *file)
{
    size_t more = findings->count > most ? findings->count - most : 0;

    if (more < 2)
        return;
    while (findings->count > most)
        release(&findings->items[--findings->count]);
    tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = file }, "%zu faults more like these are not listed",
            more);
}

static bool stands_before(const struct tw_findings *findings, size_t i)
{
    for (size_t k = 0; k < i; k++)
        if (strcmp(findings->items[k].text, findings->items[i].text) == 0)
            return true;
    return false;
}

void tw_findings_drop_repeated(struct tw_findings *findings)
{
    size_t kept = 0;

    for (size_t i = 0; i < findings->count; i++) {
        struct tw_finding item = findings->items[i];

        findings->items[kept] = item;
        if (stands_before(findings, kept))
            release(&item);
        else
            kept++;
    }
    findings->count = kept;
}

void tw_findings_print(const struct tw_findings *findings, FILE *stream)
{
    for (size_t i = 0; i < findings->count; i++) {
        fputs(findings->items[i].status == TW_OK ? "note: " : "", stream);
        tw_plain_print(findings->items[i].text, false, stream);
        putc('\n', stream);
    }
    if (findings->out_of_memory)
        fputs("memory ran out\n", stream);
}

void tw_findings_free(struct tw_findings *findings)
{
    for (size_t i = 0; i < findings->count; i++)
        release(&findings->items[i]);
    free(findings->items);
    *findings = (struct tw_findings){ 0 };
}
