/* profiles.c - lists the profiles that come with the program, and shows one as it is, with the source of each value. */
#include "cli/verbs.h"

#include "base/nearest.h"
#include "cli/starter.h"

#include <stdio.h>
#include <string.h>

static const char below[] = "profiles/";

/* "wheels/cup-cbn-75" of "profiles/wheels/cup-cbn-75.cfg"; false for what is no profile. */
static bool name_of(const struct starter_file *file, char *out, size_t size)
{
    size_t length = strlen(file->path), head = sizeof below - 1, tail = sizeof ".cfg" - 1;

    if (length <= head + tail || strncmp(file->path, below, head) != 0 || length - head - tail >= size)
        return false;
    snprintf(out, size, "%.*s", (int)(length - head - tail), file->path + head);
    return true;
}

/* The profile's own name, from its line `name = "...";`. */
static void print_title(const struct starter_file *file)
{
    static const char start[] = "\nname = \"";
    const char *data = (const char *)file->data;

    for (size_t i = 0; i + sizeof start < file->length; i++) {
        const char *from = data + i + sizeof start - 1, *end;

        if (memcmp(data + i, start, sizeof start - 1) != 0)
            continue;
        end = memchr(from, '"', file->length - (size_t)(from - data));
        if (end)
            printf("%.*s", (int)(end - from), from);
        return;
    }
}

static void list_profiles(void)
{
    char name[128];

    for (size_t i = 0; i < starter_file_count; i++) {
        if (!name_of(&starter_files[i], name, sizeof name))
            continue;
        printf("  %-34s ", name);
        print_title(&starter_files[i]);
        putchar('\n');
    }
    puts("\ntangwright profiles NAME shows one, with the source of its values. `tangwright new DIR` copies them all to "
         "DIR.");
}

/* With or without its folder and its ending. */
static bool is_meant(const char *name, const char *wanted)
{
    const char *slash = strrchr(name, '/');
    size_t length = strlen(wanted), ending = sizeof ".cfg" - 1;

    if (length > ending && strcmp(wanted + length - ending, ".cfg") == 0)
        length -= ending;
    if (length > sizeof below - 1 && strncmp(wanted, below, sizeof below - 1) == 0) {
        wanted += sizeof below - 1;
        length -= sizeof below - 1;
    }
    return (strlen(name) == length && strncmp(name, wanted, length) == 0) ||
           (slash && strlen(slash + 1) == length && strncmp(slash + 1, wanted, length) == 0);
}

static const char *without_folder(const char *name)
{
    const char *slash = strrchr(name, '/');

    return slash ? slash + 1 : name;
}

static enum tw_status unknown_profile(const char *wanted, struct tw_findings *findings)
{
    const char *meant = without_folder(wanted);
    char name[128], best[128] = "";
    size_t distance = 0;

    for (size_t i = 0; i < starter_file_count; i++) {
        struct tw_nearest nearest = tw_nearest_to(meant);

        if (!name_of(&starter_files[i], name, sizeof name))
            continue;
        tw_nearest_offer(&nearest, without_folder(name));
        if (!nearest.name || (*best && nearest.distance >= distance))
            continue;
        snprintf(best, sizeof best, "%s", name);
        distance = nearest.distance;
    }
    return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ 0 },
                   "no profile is called %s; %s%s%ssee tangwright profiles", wanted, *best ? "did you mean " : "", best,
                   *best ? "? Or " : "");
}

static enum tw_status show_profile(const char *wanted, struct tw_findings *findings)
{
    char name[128];

    for (size_t i = 0; i < starter_file_count; i++) {
        if (!name_of(&starter_files[i], name, sizeof name) || !is_meant(name, wanted))
            continue;
        fwrite(starter_files[i].data, 1, starter_files[i].length, stdout);
        return TW_OK;
    }
    return unknown_profile(wanted, findings);
}

enum tw_status verb_profiles(const struct options *options, struct tw_findings *findings)
{
    if (options->operand_count > 0)
        return show_profile(options->operands[0], findings);
    list_profiles();
    return TW_OK;
}
