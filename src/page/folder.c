/* folder.c - see folder.h. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "page/folder.h"

#include "base/memory.h"
#include "base/plain.h"
#include "base/replace.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define LONGEST_NAME 120
#define DEEPEST      6
#define LISTED_MOST  500

enum tw_status folder_open(const char *path, struct folder *out, struct tw_findings *findings)
{
    struct tw_place at = { .file = path };

    *out = (struct folder){ .descriptor = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC) };
    if (out->descriptor < 0)
        return tw_fail(findings, TW_IO, at, "the folder cannot be opened: %s%s", strerror(errno),
                       errno == ENOENT ? "; make it first, or let tangwright new make it with a job in it" : "");
    out->path = realpath(path, NULL);
    return out->path ? TW_OK : tw_fail(findings, TW_IO, at, "the folder cannot be found: %s", strerror(errno));
}

void folder_close(struct folder *folder)
{
    if (folder->descriptor >= 0)
        close(folder->descriptor);
    free(folder->path);
    *folder = (struct folder){ .descriptor = -1 };
}

/* ---- names ---- */

static bool is_part(const char *part, size_t length)
{
    return length > 0 && length <= LONGEST_NAME && *part != '.' && !memchr(part, '\\', length);
}

bool folder_is_name(const char *name)
{
    return !strchr(name, '/') && is_part(name, strlen(name)) && tw_is_plain(name);
}

/* Opens the file, going down folder by folder, so that no link is followed on the way; -1 where it cannot be. */
static int open_inside(const struct folder *folder, const char *path, int flags)
{
    int at = dup(folder->descriptor), next;

    if (!tw_is_plain(path)) {
        close(at);
        return -1;
    }
    for (int depth = 0; at >= 0 && depth < DEEPEST; depth++) {
        size_t length = strcspn(path, "/");
        char part[LONGEST_NAME + 1];
        bool last = path[length] == '\0';

        next = -1;
        if (is_part(path, length)) {
            snprintf(part, sizeof part, "%.*s", (int)length, path);
            next = openat(at, part, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC | (last ? flags : O_DIRECTORY));
        }
        close(at);
        at = next;
        if (last)
            return at;
        path += length + 1;
    }
    if (at >= 0)
        close(at);
    return -1;
}

static int open_file(const struct folder *folder, const char *path)
{
    int descriptor = open_inside(folder, path, 0);
    struct stat about;

    if (descriptor >= 0 && (fstat(descriptor, &about) != 0 || !S_ISREG(about.st_mode))) {
        close(descriptor);
        return -1;
    }
    return descriptor;
}

bool folder_holds(const struct folder *folder, const char *path)
{
    int descriptor = open_file(folder, path);

    if (descriptor >= 0)
        close(descriptor);
    return descriptor >= 0;
}

bool folder_has_no(const struct folder *folder, const char *name)
{
    struct stat about;

    return fstatat(folder->descriptor, name, &about, AT_SYMLINK_NOFOLLOW) != 0 && errno == ENOENT;
}

bool folder_has_folder(const struct folder *folder, const char *name)
{
    struct stat about;

    return fstatat(folder->descriptor, name, &about, AT_SYMLINK_NOFOLLOW) == 0 && S_ISDIR(about.st_mode);
}

/* ---- reading and writing ---- */

enum tw_status folder_read(const struct folder *folder, const char *path, size_t most_bytes, struct tw_text *text)
{
    int descriptor = open_file(folder, path);
    char block[16384];
    ssize_t got = 1;

    if (descriptor < 0)
        return TW_IO;
    while (got > 0 && text->length <= most_bytes) {
        got = read(descriptor, block, sizeof block);
        if (got > 0)
            tw_text_append(text, block, (size_t)got);
        if (got < 0 && errno == EINTR)
            got = 1;
    }
    close(descriptor);
    tw_text_append(text, "", 0);
    if (text->failed)
        return TW_NO_MEMORY;
    return got < 0 || text->length > most_bytes ? TW_IO : TW_OK;
}

char *folder_path(const struct folder *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder->path, name);
    return tw_text_take(&path);
}

/* A link in its place would be followed. */
static bool is_link(const struct folder *folder, const char *name)
{
    struct stat about;

    return fstatat(folder->descriptor, name, &about, AT_SYMLINK_NOFOLLOW) == 0 && !S_ISREG(about.st_mode);
}

enum tw_status folder_write(const struct folder *folder, const char *name, const char *data, size_t length,
                            struct tw_findings *findings)
{
    struct tw_new_file file = { .data = data, .length = length, .known = true };
    enum tw_status status;
    char *path;

    if (!folder_is_name(name) || is_link(folder, name))
        return tw_fail(findings, TW_IO, (struct tw_place){ .file = name },
                       "is no plain file of this folder, so it is not written");
    path = folder_path(folder, name);
    if (!path)
        return tw_no_memory(findings);
    file.path = path;
    status = tw_files_replace(&file, 1, findings);
    free(path);
    return status;
}

/* ---- listing ---- */

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Takes the names over. */
static json_t *sorted(char **names, size_t count)
{
    json_t *list = json_array();

    if (count > 0)
        qsort(names, count, sizeof *names, by_name);
    for (size_t i = 0; i < count; i++) {
        if (list && json_array_append_new(list, json_string(names[i])) != 0) {
            json_decref(list);
            list = NULL;
        }
        free(names[i]);
    }
    free(names);
    return list;
}

json_t *folder_list(const struct folder *folder, const char *inner, bool (*wanted)(const char *name))
{
    int descriptor = *inner ? open_inside(folder, inner, O_DIRECTORY)
                            : openat(folder->descriptor, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *listing = descriptor >= 0 ? fdopendir(descriptor) : NULL;
    char **names = NULL;
    size_t count = 0, room = 0;
    bool failed = false;
    struct dirent *entry;

    if (!listing && descriptor >= 0)
        close(descriptor);
    while (listing && !failed && count < LISTED_MOST && (entry = readdir(listing))) {
        struct stat about;

        if (!folder_is_name(entry->d_name) || !wanted(entry->d_name) ||
            fstatat(dirfd(listing), entry->d_name, &about, AT_SYMLINK_NOFOLLOW) != 0 || !S_ISREG(about.st_mode))
            continue;
        failed = !tw_grow((void **)&names, &room, count + 1, sizeof *names);
        if (!failed && (names[count] = tw_copy_string(entry->d_name)))
            count++;
    }
    if (listing)
        closedir(listing);
    return sorted(names, count);
}

char *folder_words(const struct folder *folder, const char *words)
{
    size_t length = strlen(folder->path);
    struct tw_text text = { 0 };

    for (const char *at; (at = strstr(words, folder->path)) && at[length] == '/'; words = at + length + 1)
        tw_text_append(&text, words, (size_t)(at - words));
    tw_text_print(&text, "%s", words);
    return tw_text_take(&text);
}
