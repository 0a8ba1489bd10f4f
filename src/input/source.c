/* source.c - reading a libconfig file. */
#include "input/source.h"

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "input/syntax.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

/* A job has some dozens of settings. libconfig compares each new name with all others of its group, so their number is
 * bounded before it begins. */
#define LARGEST_BYTES ((size_t)256 << 10)
#define SETTINGS_MOST 2000
#define DEEPEST       32

/* libconfig falls over when memory runs out, or ends the process. What it may need at the most, a list of single digits, is
 * some fifty bytes for each of the text's, and its own buffers. */
#define BYTES_FOR_EACH 64
#define BYTES_BESIDES  ((size_t)1 << 20)

/* libconfig would follow @include with its own rules for folders, and end the process on a folder. */
static int line_of_include(const char *text)
{
    int line = 1;

    while (text) {
        text += strspn(text, " \t");
        if (strncmp(text, "@include", 8) == 0)
            return line;
        text = strchr(text, '\n');
        text = text ? text + 1 : NULL;
        line++;
    }
    return 0;
}

/* Some editors put a byte order mark before UTF-8. */
static const char *after_mark(const char *text)
{
    return strncmp(text, "\xef\xbb\xbf", 3) == 0 ? text + 3 : text;
}

/* Counted by their marks, wherever these stand: enough to tell a job from something else. */
static enum tw_status check_size(const char *path, const char *text, size_t length, struct tw_findings *findings)
{
    struct tw_place at = { .file = path, .line = 1 };
    size_t settings = 0, depth = 0;

    if (length > LARGEST_BYTES)
        return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = path },
                       "is larger than %zu KiB; a job or a profile is never so long: is it the right file?",
                       LARGEST_BYTES >> 10);
    for (; *text; text++) {
        at.line += *text == '\n';
        settings += *text == '=' || *text == ':';
        depth += strchr("([{", *text) ? 1 : 0;
        depth -= depth > 0 && strchr(")]}", *text);
        if (settings > SETTINGS_MOST)
            return tw_fail(
                findings, TW_BAD_INPUT, at,
                "here come more than %d settings; a job or a profile never has so many: is it the right file?",
                SETTINGS_MOST);
        if (depth > DEEPEST)
            return tw_fail(findings, TW_BAD_INPUT, at, "more than %d brackets are open here; is it the right file?",
                           DEEPEST);
    }
    return TW_OK;
}

bool tw_source_lost_text(const config_setting_t *group)
{
    for (int i = 0; i < config_setting_length(group); i++) {
        const config_setting_t *setting = config_setting_get_elem(group, (unsigned)i);

        if (config_setting_is_aggregate(setting)
                ? tw_source_lost_text(setting)
                : config_setting_type(setting) == CONFIG_TYPE_STRING && !config_setting_get_string(setting))
            return true;
    }
    return false;
}

static enum tw_status parse(struct tw_source *source, const char *text, size_t length, struct tw_findings *findings)
{
    struct tw_place at = { .file = source->path };
    const char *start = after_mark(text);

    if (strlen(text) != length)
        return tw_fail(findings, TW_BAD_INPUT, at, "holds a zero byte, so it is not a text file; is it the right one?");
    at.line = line_of_include(start);
    if (at.line > 0)
        return tw_fail(findings, TW_BAD_INPUT, at,
                       "@include is not supported; name a profile in its group, such as wheel: { profile = \"...\"; }");
    if (check_size(source->path, start, length, findings) != TW_OK)
        return TW_BAD_INPUT;
    if (!tw_memory_is_there(length * BYTES_FOR_EACH + BYTES_BESIDES))
        return tw_no_memory(findings);
    config_init(&source->config);
    source->loaded = true;
    if (config_read_string(&source->config, start))
        return tw_source_lost_text(config_root_setting(&source->config)) ? tw_no_memory(findings) : TW_OK;
    return tw_syntax_explain(source->path, start, config_error_line(&source->config),
                             config_error_text(&source->config), findings);
}

enum tw_status tw_source_parse(const char *path, const char *text, size_t length, struct tw_source *out,
                               struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_source){ .path = tw_copy_string(path) };
    if (!out->path)
        return tw_no_memory(findings);
    status = parse(out, text, length, findings);
    if (status != TW_OK && out->loaded) {
        config_destroy(&out->config);
        out->loaded = false;
    }
    return status;
}

enum tw_status tw_source_load(const char *path, struct tw_source *out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    enum tw_status status;

    *out = (struct tw_source){ 0 };
    status = tw_file_read(path, &text, findings);
    if (status == TW_OK)
        status = tw_source_parse(path, text.data, text.length, out, findings);
    tw_text_free(&text);
    return status;
}

void tw_source_free(struct tw_source *source)
{
    if (source->loaded)
        config_destroy(&source->config);
    free(source->path);
    *source = (struct tw_source){ 0 };
}
