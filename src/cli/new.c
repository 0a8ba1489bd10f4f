/* new.c - a folder with a commented job to start from. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"
#include "base/text.h"
#include "cli/starter.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char *path_below(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

/* `new` never overwrites: one file in the way and nothing is written. */
static enum tw_status check_free(const char *path, struct tw_findings *findings)
{
    struct tw_place at = { .file = path };

    if (access(path, F_OK) != 0 && (errno == ENOENT || errno == ENOTDIR))
        return TW_OK;
    if (access(path, F_OK) != 0)
        return tw_fail(findings, TW_IO, at, "cannot be made: %s; give a folder that you may write to", strerror(errno));
    return tw_fail(findings, TW_IO, at, "is there already, and new never overwrites; give the name of a new folder");
}

static enum tw_status make_folder_of(const char *path, struct tw_findings *findings)
{
    struct tw_text folder = { 0 };
    enum tw_status status;

    tw_text_append(&folder, path, (size_t)(strrchr(path, '/') - path));
    if (folder.failed)
        return tw_no_memory(findings);
    status = tw_folder_make(folder.data, findings);
    tw_text_free(&folder);
    return status;
}

static enum tw_status make_paths(const char *folder, struct tw_new_file *files, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < starter_file_count; i++) {
        const struct starter_file *starter = &starter_files[i];
        char *path = path_below(folder, starter->path);

        if (!path)
            return tw_no_memory(findings);
        files[i] = (struct tw_new_file){ path, (const char *)starter->data, starter->length, false };
        status = check_free(path, findings);
    }
    return status;
}

static void print_next(const char *folder)
{
    const char *quote = strpbrk(folder, " '()&;") ? "\"" : "";
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s: %zu files written; edit %s/job.cfg, then run\n  tangwright preview %s%s/job.cfg%s\n",
                  folder, starter_file_count, folder, quote, folder, quote);
    verb_print(text.failed ? "" : text.data);
    tw_text_free(&text);
}

enum tw_status verb_write_starter(const char *folder, struct tw_findings *findings)
{
    struct tw_new_file *files = calloc(starter_file_count, sizeof *files);
    enum tw_status status;

    if (!files)
        return tw_no_memory(findings);
    status = make_paths(folder, files, findings);
    for (size_t i = 0; status == TW_OK && i < starter_file_count; i++)
        status = make_folder_of(files[i].path, findings);
    if (status == TW_OK)
        status = tw_files_replace(files, starter_file_count, findings);
    for (size_t i = 0; i < starter_file_count; i++)
        free((void *)(size_t)files[i].path); /* ours, though the struct borrows it */
    free(files);
    return status;
}

enum tw_status verb_new(const struct options *options, struct tw_findings *findings)
{
    enum tw_status status = verb_write_starter(options->operands[0], findings);

    if (status == TW_OK)
        print_next(options->operands[0]);
    return status;
}
