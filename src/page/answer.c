/* answer.c - what is answered to a request that may be asked. */
#include "page/page.h"

#include "page/assets.h"
#include "sheet/assets.h"

#include <nettle/base64.h>
#include <nettle/sha2.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The page's own files and questions, and nothing else: no script or style inside the markup, no other server. */
#define OWN_POLICY                                                                                                     \
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "              \
    "frame-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"

/* ---- bodies ---- */

static void give_words(struct tw_page_response *out, int status, const char *words)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s\n", words);
    out->status = status;
    out->type = "text/plain; charset=utf-8";
    out->length = text.length;
    out->body = tw_text_take(&text);
}

/* Gives up the object. */
static void give_json(struct tw_page_response *out, int status, json_t *object)
{
    out->status = object ? status : 500;
    out->type = "application/json";
    out->body = object ? json_dumps(object, JSON_COMPACT) : NULL;
    out->length = out->body ? strlen(out->body) : 0;
    json_decref(object);
}

static void give_asset(struct tw_page_response *out, const char *name, const char *type)
{
    struct tw_text text = { 0 };

    for (size_t i = 0; i < page_asset_count; i++)
        if (strcmp(page_assets[i].path, name) == 0)
            tw_text_append(&text, (const char *)page_assets[i].data, page_assets[i].length);
    out->status = 200;
    out->type = type;
    out->length = text.length;
    out->body = tw_text_take(&text);
}

/* What was done, or why not. */
static void give_outcome(struct tw_page *page, struct tw_page_response *out, int status, struct tw_findings *findings)
{
    if (status == 200)
        give_json(out, 200, page_job(page));
    else
        give_json(out, status, json_pack("{s:o}", "findings", page_findings(page, findings)));
    tw_findings_free(findings);
}

/* ---- routes ---- */

static void get_page(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                     struct tw_page_response *out)
{
    (void)page, (void)request, (void)rest;
    give_asset(out, "page.html", "text/html; charset=utf-8");
}

static void get_style(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                      struct tw_page_response *out)
{
    (void)page, (void)request, (void)rest;
    give_asset(out, "page.css", "text/css; charset=utf-8");
}

static void get_script(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                       struct tw_page_response *out)
{
    (void)page, (void)request;
    give_asset(out, rest, "text/javascript; charset=utf-8");
}

static void get_keys(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                     struct tw_page_response *out)
{
    (void)page, (void)request, (void)rest;
    give_json(out, 200, page_keys());
}

static void get_job(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                    struct tw_page_response *out)
{
    (void)request, (void)rest;
    give_json(out, 200, page_job(page));
}

static void get_state(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                      struct tw_page_response *out)
{
    (void)request, (void)rest;
    give_json(out, 200, page_state(page));
}

static void post_change(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                        struct tw_page_response *out)
{
    struct tw_findings findings = { 0 };

    (void)rest;
    give_outcome(page, out, page_change(page, request->body, request->length, &findings), &findings);
}

static void post_begin(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                       struct tw_page_response *out)
{
    struct tw_findings findings = { 0 };
    int status = page->begin(page->folder.path, &findings) == TW_OK ? 200 : 409;

    (void)request, (void)rest;
    give_outcome(page, out, status, &findings);
}

/* ---- questions that take long ---- */

static void post_ask(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                     struct tw_page_response *out)
{
    enum ask_kind kind = ask_kind_of(rest);
    struct tw_findings findings = { 0 };
    int status = 404;

    if (kind < ASK_KINDS)
        status = page_ask(page, kind, request->body, request->length, &findings);
    if (status == 200)
        give_json(out, 200, page_state(page));
    else
        give_json(out, status, json_pack("{s:o}", "findings", page_findings(page, &findings)));
    tw_findings_free(&findings);
}

static void post_stop(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                      struct tw_page_response *out)
{
    enum ask_kind kind = ask_kind_of(rest);

    (void)request;
    if (kind < ASK_KINDS)
        ask_stop(&page->asks, kind);
    give_json(out, kind < ASK_KINDS ? 200 : 404, page_state(page));
}

static void get_answer(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                       struct tw_page_response *out)
{
    enum ask_kind kind = ask_kind_of(rest);

    (void)request;
    asks_look(&page->asks);
    if (kind < ASK_KINDS)
        give_json(out, 200, ask_answer(&page->asks, kind, &page->folder));
    else
        give_words(out, 404, "There is no such answer.");
}

/* The sheet's own script, as it is built in: it stands in the page with a few marks round it. NULL where it does not. */
static const char *find_script(const char *sheet, const char **end)
{
    const char *start = strstr(sheet, "<script>");

    start = start ? start + strlen("<script>") : NULL;
    *end = start ? strstr(start, "</script>") : NULL;
    for (size_t i = 0; *end && i < sheet_asset_count; i++) {
        const struct sheet_asset *asset = &sheet_assets[i];
        size_t marks = strcspn(start, "\n") + 1; /* of CDATA, on the line before */

        if (strcmp(asset->path, "play.js") == 0 && (size_t)(*end - start) >= marks + asset->length &&
            (size_t)(*end - start) <= marks + asset->length + 16 && marks <= 32 &&
            memcmp(start + marks, asset->data, asset->length) == 0)
            return start;
    }
    return NULL;
}

/* It may run, by its SHA-256, and no other; in a box of its own, from which nothing of this page can be asked. */
static void allow_script(const char *sheet, const char *framed_by, struct tw_page_response *out)
{
    struct sha256_ctx hash;
    uint8_t digest[SHA256_DIGEST_SIZE];
    char encoded[BASE64_ENCODE_RAW_LENGTH(SHA256_DIGEST_SIZE) + 1] = "";
    const char *end, *start = find_script(sheet, &end);

    if (start) {
        sha256_init(&hash);
        sha256_update(&hash, (size_t)(end - start), (const uint8_t *)start);
        sha256_digest(&hash, sizeof digest, digest);
        base64_encode_raw(encoded, sizeof digest, digest);
    }
    snprintf(out->policy, sizeof out->policy,
             "sandbox allow-scripts allow-modals; default-src 'none'; style-src 'unsafe-inline'; script-src %s%s%s; "
             "base-uri 'none'; form-action 'none'; frame-ancestors %s",
             start ? "'sha256-" : "'none'", encoded, start ? "'" : "", framed_by);
}

/* What of a sheet the page shows inside itself: the sheet's style leaves out the rest where its body has that class. */
static const struct part {
    const char *ending, *class;
} parts[] = { { "/play", "only-play" }, { "/heat", "only-heat" }, { "/maps", "only-maps" } };

#define PART_COUNT (sizeof parts / sizeof *parts)

/* `part` is NULL for the whole of it. */
static void give_sheet(struct tw_page_response *out, const char *sheet, size_t length, const struct part *part)
{
    static const char body[] = "<body>";
    const char *at = part ? strstr(sheet, body) : NULL;
    size_t before = at ? (size_t)(at - sheet) : 0;
    struct tw_text text = { 0 };

    if (at) {
        tw_text_append(&text, sheet, before);
        tw_text_print(&text, "<body class=\"%s\">", part->class);
        before += sizeof body - 1;
    }
    tw_text_append(&text, sheet + before, length - before);
    out->status = 200;
    out->type = "text/html; charset=utf-8";
    out->length = text.length;
    out->body = tw_text_take(&text);
    if (out->body)
        allow_script(out->body, part ? "'self'" : "'none'", out);
}

/* A page that a command wrote into the folder. */
static bool read_page(const struct tw_page *page, const char *name, struct tw_text *out)
{
    static const char *const pages[][2] = { { ASK_PROGRAMS, ASK_PROGRAMS "/setup.html" },
                                            { ASK_FIXTURES, ASK_FIXTURES "/fixture.html" } };

    for (size_t i = 0; i < sizeof pages / sizeof *pages; i++)
        if (strcmp(pages[i][0], name) == 0)
            return folder_read(&page->folder, pages[i][1], 4 * PAGE_DRAWING_BYTES, out) == TW_OK;
    return false;
}

/* The part that the name asks for; its ending is taken off. */
static const struct part *take_part(char *name)
{
    size_t length = strlen(name);

    for (size_t i = 0; i < PART_COUNT; i++) {
        size_t ending = strlen(parts[i].ending);

        if (length > ending && strcmp(name + length - ending, parts[i].ending) == 0) {
            name[length - ending] = '\0';
            return &parts[i];
        }
    }
    return NULL;
}

static void get_sheet(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                      struct tw_page_response *out)
{
    static const char answer[] = "answer-";
    enum ask_kind kind = ASK_KINDS;
    struct tw_text text = { 0 };
    const struct part *part;
    char name[48];

    (void)request;
    snprintf(name, sizeof name, "%s", rest);
    part = take_part(name);
    if (strncmp(name, answer, sizeof answer - 1) == 0)
        kind = ask_kind_of(name + sizeof answer - 1);
    asks_look(&page->asks);
    if (kind < ASK_KINDS && page->asks.each[kind].answer.sheet.length > 0)
        give_sheet(out, page->asks.each[kind].answer.sheet.data, page->asks.each[kind].answer.sheet.length, part);
    else if (read_page(page, name, &text))
        give_sheet(out, text.data, text.length, part);
    else
        give_words(out, 404, "There is no such sheet yet.");
    tw_text_free(&text);
}

/* What was written last is taken back, as long as nobody wrote after it. */
static void post_undo(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                      struct tw_page_response *out)
{
    struct tw_findings findings = { 0 };

    (void)request, (void)rest;
    give_outcome(page, out, page_undo(page, &findings), &findings);
}

/* A drawing that is there already is only replaced where the page says that its owner wants that. */
static int store_drawing(struct tw_page *page, const char *name, const struct tw_page_request *request, bool replaces,
                         struct tw_findings *findings)
{
    struct tw_place at = { .file = name };
    struct tw_text there = { 0 };
    int status = 200;

    if (folder_read(&page->folder, name, PAGE_DRAWING_BYTES, &there) == TW_OK && there.length == request->length &&
        memcmp(there.data, request->body, there.length) == 0) {
        tw_text_free(&there);
        return 200;
    }
    tw_text_free(&there);
    if (!replaces && folder_holds(&page->folder, name)) {
        tw_fail(findings, TW_IO, at, "another drawing of that name is in the folder already");
        status = 409;
    } else if (folder_write(&page->folder, name, request->body, request->length, findings) != TW_OK) {
        status = 500;
    }
    return status;
}

static void post_drawing(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                         struct tw_page_response *out)
{
    struct tw_findings findings = { 0 };
    bool replaces = strncmp(rest, "replace/", 8) == 0;
    char name[256];
    int status = 422;

    if (!guard_decode(rest + (replaces ? 8 : 0), name, sizeof name) || !folder_is_name(name))
        tw_fail(&findings, TW_BAD_INPUT, (struct tw_place){ 0 },
                "the drawing's name is none that the page can give a file: use letters, digits, - and _");
    else if (!tw_outline_is_drawing_name(name))
        tw_fail(&findings, TW_BAD_INPUT, (struct tw_place){ .file = name },
                "is no drawing by its ending; .svg, .dxf, .wkt, .geojson, .json, .csv, .txt and .xy are read");
    else if (request->length == 0)
        tw_fail(&findings, TW_BAD_INPUT, (struct tw_place){ .file = name }, "is empty; export the drawing again");
    else
        status = store_drawing(page, name, request, replaces, &findings);
    give_outcome(page, out, status, &findings);
}

static const struct route {
    const char *method, *path; /* a path that ends in a slash takes whatever follows */
    void (*answer)(struct tw_page *page, const struct tw_page_request *request, const char *rest,
                   struct tw_page_response *out);
    size_t body_most;
} routes[] = {
    { "GET", "", get_page, 0 },
    { "GET", "page.css", get_style, 0 },
    { "GET", "page.js", get_script, 0 },
    { "GET", "draw.js", get_script, 0 },
    { "GET", "form.js", get_script, 0 },
    { "GET", "ask.js", get_script, 0 },
    { "GET", "keys", get_keys, 0 },
    { "GET", "job", get_job, 0 },
    { "GET", "state", get_state, 0 },
    { "POST", "begin", post_begin, 0 },
    { "POST", "change", post_change, PAGE_CHANGES_BYTES },
    { "GET", "answer/", get_answer, 0 },
    { "GET", "sheet/", get_sheet, 0 },
    { "POST", "ask/", post_ask, PAGE_CHANGES_BYTES },
    { "POST", "stop/", post_stop, 0 },
    { "POST", "undo", post_undo, 0 },
    { "POST", "drawing/", post_drawing, PAGE_DRAWING_BYTES },
};

#define ROUTE_COUNT (sizeof routes / sizeof *routes)

/* *rest: what follows the route's path, or the path itself where it takes nothing more. */
static bool fits(const struct route *route, const char *path, const char **rest)
{
    size_t length = strlen(route->path);

    *rest = path;
    if (length == 0 || route->path[length - 1] != '/')
        return strcmp(path, route->path) == 0;
    *rest = path + length;
    return strncmp(path, route->path, length) == 0 && **rest;
}

static const struct route *find_route(const char *method, const char *path, const char **rest, const char **allow)
{
    *allow = NULL;
    for (size_t i = 0; i < ROUTE_COUNT; i++) {
        if (!fits(&routes[i], path, rest))
            continue;
        if (strcmp(routes[i].method, method) == 0)
            return &routes[i];
        *allow = routes[i].method;
    }
    return NULL;
}

size_t tw_page_body_most(const struct tw_page *page, const struct tw_page_request *request)
{
    const char *path, *rest, *allow;
    const struct route *route =
        guard_check(&page->guard, request, &path) == 200 ? find_route(request->method, path, &rest, &allow) : NULL;

    return route ? route->body_most : 0;
}

void tw_page_answer(struct tw_page *page, const struct tw_page_request *request, struct tw_page_response *out)
{
    const char *path, *rest, *allow = NULL;
    const struct route *route;
    int status = guard_check(&page->guard, request, &path);

    *out = (struct tw_page_response){ .policy = OWN_POLICY };
    if (status != 200) {
        give_words(out, status,
                   "Refused. The whole address, with its key, is the line that tangwright bench printed at its start; "
                   "it holds for this start alone.");
        return;
    }
    route = find_route(request->method, path, &rest, &allow);
    if (route && request->length > route->body_most) {
        give_words(out, 413, "Refused: more than may be sent here.");
    } else if (route) {
        route->answer(page, request, rest, out);
    } else if (allow) {
        give_words(out, 405, "Refused: this is not asked so.");
        out->allow = allow;
    } else {
        give_words(out, 404, "There is nothing of that name.");
    }
}
