/* card_set.c - the programs of one plan as a set: which of a folder's files belong to it, and which to an older one. */
#include "cli/card_set.h"

#include "base/aside.h"
#include "base/file.h"
#include "base/fingerprint.h"
#include "base/memory.h"
#include "base/replace.h"
#include "tangwright/program.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ROWS_MOST   32
#define NAME_ROOM   64
#define LARGEST_ONE ((off_t)16 << 20) /* of our own files; larger ones are not looked into */

/* One line of the list. */
struct row {
    char sha256[TW_FINGERPRINT_BYTES];
    char name[NAME_ROOM];
};

struct list {
    struct row rows[ROWS_MOST];
    size_t count;
};

const char *card_set_list_name(void)
{
    return "programs.sha256";
}

const char *card_set_mark_name(void)
{
    return "UNFINISHED.txt";
}

const char *card_set_mark_text(void)
{
    return "tangwright is writing the files of this folder, or was cut off while it did.\n"
           "If this file stays, do not cut: the programs here are no complete set.\n"
           "Call tangwright again as before: plan writes the set anew, run finishes it.\n";
}

struct tw_staged_mark card_set_mark(void)
{
    return (struct tw_staged_mark){ card_set_mark_name(), card_set_mark_text() };
}

/* ---- the list ---- */

char *card_set_list(const struct tw_job *job, const struct tw_card *cards, size_t count)
{
    struct tw_text text = { 0 };
    char sha256[TW_FINGERPRINT_BYTES];

    tw_text_print(&text, "# tangwright: programs of one plan, inputs %s; sha256sum -c %s checks a copy\n", job->digest,
                  card_set_list_name());
    for (size_t i = 0; i < count; i++) {
        tw_fingerprint(cards[i].text, cards[i].length, sha256);
        tw_text_print(&text, "%s  %s\n", sha256, cards[i].name);
    }
    return tw_text_take(&text);
}

static bool read_row(const char *line, size_t length, struct row *out)
{
    size_t name_length = length - TW_FINGERPRINT_DIGITS - 2;

    if (length <= TW_FINGERPRINT_DIGITS + 2 || strspn(line, "0123456789abcdef") != TW_FINGERPRINT_DIGITS ||
        memcmp(line + TW_FINGERPRINT_DIGITS, "  ", 2) != 0 || name_length >= NAME_ROOM)
        return false;
    memcpy(out->sha256, line, TW_FINGERPRINT_DIGITS);
    out->sha256[TW_FINGERPRINT_DIGITS] = '\0';
    memcpy(out->name, line + TW_FINGERPRINT_DIGITS + 2, name_length);
    out->name[name_length] = '\0';
    return !strchr(out->name, '/');
}

static char *path_in(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

/* A whole file of ours, not larger than ours are; empty where there is none. */
static enum tw_status read_own(const char *folder, const char *name, struct tw_text *text)
{
    struct tw_findings unasked = { 0 };
    char *path = path_in(folder, name);
    struct stat about;
    enum tw_status status = TW_OK;

    if (!path)
        return TW_NO_MEMORY;
    if (stat(path, &about) == 0 && S_ISREG(about.st_mode) && about.st_size <= LARGEST_ONE)
        status = tw_file_read(path, text, &unasked);
    tw_findings_free(&unasked);
    free(path);
    return status == TW_NO_MEMORY ? status : TW_OK;
}

static enum tw_status read_list(const char *folder, struct list *out)
{
    struct tw_text text = { 0 };
    enum tw_status status = read_own(folder, card_set_list_name(), &text);
    const char *line = text.data;

    *out = (struct list){ 0 };
    if (text.length == 0 || tw_own_of(text.data, text.length) != TW_OWN_LIST)
        line = NULL;
    while (line && *line && out->count < ROWS_MOST) {
        size_t length = strcspn(line, "\n");

        out->count += read_row(line, length, &out->rows[out->count]);
        line += length + (line[length] == '\n');
    }
    tw_text_free(&text);
    return status;
}

static const struct row *find_row(const struct list *list, const char *name)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->rows[i].name, name) == 0)
            return &list->rows[i];
    return NULL;
}

/* Whether the file beside the list is what the row says. */
static enum tw_status agrees(const char *folder, const struct row *row, bool *out)
{
    struct tw_text text = { 0 };
    char sha256[TW_FINGERPRINT_BYTES];
    enum tw_status status = read_own(folder, row->name, &text);

    tw_fingerprint(text.data, text.length, sha256);
    *out = status == TW_OK && text.length > 0 && strcmp(sha256, row->sha256) == 0;
    tw_text_free(&text);
    return status;
}

bool card_set_knows(const char *folder, const char *name)
{
    struct list list;
    bool known = false;

    if (read_list(folder, &list) == TW_OK && find_row(&list, name) &&
        agrees(folder, find_row(&list, name), &known) != TW_OK)
        return false;
    return known;
}

/* ---- what older plans left ---- */

static bool is_one_of(const char *name, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(name, names[i]) == 0)
            return true;
    return false;
}

static bool is_aside_of_one(const char *name, size_t length, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strlen(names[i]) == length && strncmp(name, names[i], length) == 0)
            return true;
    return false;
}

/* What a killed run left of a program or of another file of the set, whole or not: side-a.nc.tangwright-new-12. */
static bool is_left_over(const char *name, const char *const *names, size_t count)
{
    const char *aside = strstr(name, TW_FILE_ASIDE);
    size_t length = aside ? (size_t)(aside - name) : 0;

    return aside && (tw_is_program_file_name(name, length) || is_aside_of_one(name, length, names, count));
}

/* Somebody else plans into the folder at this moment: what that process puts aside, and holds, is neither left over nor anybody's
 * to read. */
static bool is_being_written(int folder, const char *name)
{
    int descriptor =
        strstr(name, TW_FILE_ASIDE "new-") ? openat(folder, name, O_RDWR | O_NONBLOCK | O_NOFOLLOW | O_CLOEXEC) : -1;
    bool taken = descriptor >= 0 && aside_is_taken(descriptor);

    if (descriptor >= 0)
        close(descriptor);
    return taken;
}

static enum tw_status note_path(struct card_set_outdated *out, char *path, struct tw_findings *findings)
{
    if (!path || !tw_grow((void **)&out->paths, &out->capacity, out->count + 1, sizeof *out->paths)) {
        free(path);
        return tw_no_memory(findings);
    }
    out->paths[out->count++] = path;
    return TW_OK;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* All files of the folder but those of the new set, in the order of their names. */
static enum tw_status list_folder(const char *folder, const char *const *names, size_t name_count,
                                  struct card_set_outdated *out, struct tw_findings *findings)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry;
    enum tw_status status = TW_OK;

    while (status == TW_OK && entries && (entry = readdir(entries)))
        if (!is_one_of(entry->d_name, names, name_count) && !is_being_written(dirfd(entries), entry->d_name))
            status = note_path(out, tw_copy_string(entry->d_name), findings);
    if (entries)
        closedir(entries);
    if (out->count > 0)
        qsort(out->paths, out->count, sizeof *out->paths, by_name);
    return status;
}

/* A photo or a drawing may be called as a program is. */
static bool is_binary(const struct tw_text *text)
{
    return text->length > 0 && memchr(text->data, '\0', text->length);
}

static bool holds_inputs(enum tw_own own)
{
    return own == TW_OWN_PROGRAM || own == TW_OWN_SHEET || own == TW_OWN_DRY_RUN;
}

static enum tw_status look_at(const char *folder, const char *name, const char *digest, struct card_set_outdated *out,
                              struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    char *path = path_in(folder, name);
    enum tw_own own = path ? tw_file_own(path) : TW_OWN_NONE;
    struct tw_place at = { .file = path };
    bool named = tw_is_program_file_name(name, strlen(name));
    enum tw_status status = path ? TW_OK : tw_no_memory(findings);

    if (status == TW_OK && named && (own == TW_OWN_PROGRAM || card_set_knows(folder, name))) {
        tw_remark(findings, at, "is a program of an older plan, and is removed");
        return note_path(out, path, findings);
    }
    if (status == TW_OK && (named || holds_inputs(own)))
        status = read_own(folder, name, &text);
    if (status == TW_OK && holds_inputs(own) && text.length > 0 && !strstr(text.data, digest))
        tw_remark(findings, at,
                  "is a %s of other inputs than this plan's; move it away, so that nobody takes it for this one's",
                  tw_own_name(own));
    else if (status == TW_OK && named && own == TW_OWN_NONE && !is_binary(&text))
        tw_remark(
            findings, at,
            "has the name of a plan's program, but this plan has none of that name, and nothing tells that tangwright "
            "wrote it, so it stays; move it away, so that nobody loads it");
    tw_text_free(&text);
    free(path);
    return status;
}

enum tw_status card_set_find_outdated(const char *folder, const char *digest, const char *const *names,
                                      size_t name_count, struct card_set_outdated *out, struct tw_findings *findings)
{
    struct card_set_outdated others = { 0 };
    enum tw_status status = list_folder(folder, names, name_count, &others, findings);

    for (size_t i = 0; status == TW_OK && i < others.count; i++)
        status = is_left_over(others.paths[i], names, name_count)
                     ? note_path(out, path_in(folder, others.paths[i]), findings)
                     : look_at(folder, others.paths[i], digest, out, findings);
    card_set_outdated_free(&others);
    return status;
}

void card_set_outdated_free(struct card_set_outdated *outdated)
{
    for (size_t i = 0; i < outdated->count; i++)
        free(outdated->paths[i]);
    free(outdated->paths);
    *outdated = (struct card_set_outdated){ 0 };
}

/* ---- what a dry-run is given ---- */

static char *folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    struct tw_text folder = { 0 };

    tw_text_append(&folder, slash ? path : ".", slash ? (size_t)(slash - path) + (slash == path) : 1);
    return tw_text_take(&folder);
}

static bool is_marked(const char *mark)
{
    struct tw_text text = { 0 };
    struct tw_findings unasked = { 0 };
    size_t length = strlen(card_set_mark_text());
    bool marked = tw_file_read(mark, &text, &unasked) == TW_OK && text.length <= length &&
                  memcmp(text.data, card_set_mark_text(), text.length) == 0;

    tw_text_free(&text);
    tw_findings_free(&unasked);
    return marked;
}

/* A list that names no program any more, which plan never writes. */
static enum tw_status remark_spoilt_list(const char *folder, const struct list *list, struct tw_findings *findings)
{
    char *path = path_in(folder, card_set_list_name());
    struct stat about;

    if (path && list->count == 0 && stat(path, &about) == 0)
        tw_remark(findings, (struct tw_place){ .file = path },
                  "is no list of programs as plan writes it, so nothing tells whether the programs beside it are as "
                  "they were written; copy the whole folder anew, or plan again");
    free(path);
    return path ? TW_OK : TW_NO_MEMORY;
}

static enum tw_status compare_with_list(const char *folder, struct tw_findings *findings)
{
    struct list list;
    enum tw_status status = read_list(folder, &list);

    if (status == TW_OK)
        status = remark_spoilt_list(folder, &list, findings);
    for (size_t i = 0; status == TW_OK && i < list.count; i++) {
        char *path = path_in(folder, list.rows[i].name);
        bool same = false;

        status = path ? agrees(folder, &list.rows[i], &same) : TW_NO_MEMORY;
        if (status == TW_OK && !same)
            tw_remark(
                findings, (struct tw_place){ .file = path },
                "is not what plan wrote with the other programs here (%s): edited, copied from elsewhere, or missing",
                card_set_list_name());
        free(path);
    }
    return status == TW_NO_MEMORY ? tw_no_memory(findings) : TW_OK;
}

static enum tw_status check_folder(const char *folder, struct tw_findings *findings)
{
    char *mark = path_in(folder, card_set_mark_name());
    enum tw_status status;

    if (!mark)
        return tw_no_memory(findings);
    if (is_marked(mark))
        status =
            tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = mark },
                    "plan was cut off while it wrote this folder, so its programs are no complete set; run plan again");
    else
        status = compare_with_list(folder, findings);
    free(mark);
    return status;
}

enum tw_status card_set_check(const char *const *paths, size_t count, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;
    char *last = NULL;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        char *folder = folder_of(paths[i]);

        if (!folder)
            status = tw_no_memory(findings);
        else if (!last || strcmp(folder, last) != 0) /* programs of one folder stand together */
            status = check_folder(folder, findings);
        free(last);
        last = folder;
    }
    free(last);
    return status;
}
