/* test_page.c - guards the bench page: a request that is answered though it may not be asked, a path that leads out of the
 * folder, more than may be sent, a stranger who keeps others from being served, a change that is written though it cannot be
 * read, notes that are lost, and a page that shows something else than the job file says. Requests go through the library as
 * they came, and where that matters through a socket. What a browser does with the page: tests/browser/bench.mjs. */
#define _XOPEN_SOURCE 700
#include "base/file.h"
#include "base/text.h"
#include "input/failing_memory.h"
#include "page/page.h"
#include "sanitized.h"

#include <arpa/inet.h>
#include "check/check.h"
#include <errno.h>
#include <jansson.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

TestSuite(page, .timeout = 300);

/* ---- a folder with a job, and its page ---- */

struct bench {
    char folder[64];
    struct tw_page *page;
    char host[32], origin[40], key[64]; /* key: "/0123.../" */
    int port, asked;
};

static enum tw_status begin_nothing(const char *folder, struct tw_findings *findings)
{
    return tw_fail(findings, TW_IO, (struct tw_place){ .file = folder }, "is there already");
}

/* $F is the folder. */
static void shell(const char *folder, const char *command)
{
    setenv("F", folder, 1);
    cr_assert(system(command) == 0, "%s", command);
}

static void bench_open(struct bench *bench, bool serves)
{
    struct tw_page_settings settings = { .program = "build/release/tangwright", .begin = begin_nothing };
    struct tw_findings findings = { 0 };

    strcpy(bench->folder, "/tmp/tangwright-page-XXXXXX");
    cr_assert(mkdtemp(bench->folder) != NULL);
    shell(bench->folder, "cp -r samples/starter/. profiles $F");
    settings.folder = bench->folder;
    cr_assert(eq(int, tw_page_open(&settings, &bench->page, &findings), TW_OK));
    if (serves)
        cr_assert(eq(int, tw_page_serve(bench->page, &findings), TW_OK));
    snprintf(bench->host, sizeof bench->host, "%s", bench->page->guard.host);
    snprintf(bench->origin, sizeof bench->origin, "%s", bench->page->guard.origin);
    snprintf(bench->key, sizeof bench->key, "/%s/", bench->page->guard.key);
    bench->port = atoi(strchr(bench->host, ':') + 1);
    tw_findings_free(&findings);
}

static void bench_close(struct bench *bench)
{
    tw_page_close(bench->page);
    shell(bench->folder, "rm -rf $F");
}

/* As a browser would ask from the page itself; `rest` stands behind the key. */
static struct tw_page_response asked(struct bench *bench, const char *method, const char *rest, const char *body)
{
    struct tw_page_response response;
    char path[512];
    struct tw_page_request request = { .method = method,
                                       .path = path,
                                       .host = bench->host,
                                       .origin = strcmp(method, "GET") == 0 ? NULL : bench->origin,
                                       .fetch_site = "same-origin",
                                       .body = body ? body : "",
                                       .length = body ? strlen(body) : 0 };

    snprintf(path, sizeof path, "%s%s", bench->key, rest);
    tw_page_answer(bench->page, &request, &response);
    return response;
}

static int status_of(struct bench *bench, const char *method, const char *rest, const char *body)
{
    struct tw_page_response response = asked(bench, method, rest, body);

    free(response.body);
    return response.status;
}

static char *job_text(const struct bench *bench)
{
    char path[128];
    struct tw_text text = { 0 };

    snprintf(path, sizeof path, "%s/job.cfg", bench->folder);
    cr_assert(eq(int, tw_file_read(path, &text, NULL), TW_OK));
    return tw_text_take(&text);
}

static void expect_holds(const char *text, const char *what)
{
    cr_expect(text && strstr(text, what) != NULL, "\"%s\" is not there", what);
}

/* ---- who may ask ---- */

Test(page, only_the_page_itself_is_answered)
{
    struct bench bench;
    char path[96], other[96];

    bench_open(&bench, false);
    snprintf(path, sizeof path, "%sjob", bench.key);
    snprintf(other, sizeof other, "%sjob", bench.key);
    other[5] = other[5] == '0' ? '1' : '0';

    const struct {
        const char *method, *path, *host, *origin, *site;
        int status;
    } cases[] = {
        { "GET", path, bench.host, NULL, NULL, 200 },
        { "GET", path, bench.host, bench.origin, "same-origin", 200 },
        { "GET", path, bench.host, NULL, "none", 200 },
        /* without the key, or with another */
        { "GET", "/", bench.host, NULL, NULL, 403 },
        { "GET", "/job", bench.host, NULL, NULL, 403 },
        { "GET", "", bench.host, NULL, NULL, 403 },
        { "GET", other, bench.host, NULL, NULL, 403 },
        { "GET", "/00000000000000000000000000000000/job", bench.host, NULL, NULL, 403 },
        /* by another name, as when a name of somebody else's is made to lead here */
        { "GET", path, "localhost:1", NULL, NULL, 421 },
        { "GET", path, "bench.example:80", NULL, NULL, 421 },
        { "GET", path, "127.0.0.1", NULL, NULL, 421 },
        { "GET", path, "", NULL, NULL, 421 },
        { "GET", path, NULL, NULL, NULL, 421 },
        /* from a page of somebody else */
        { "GET", path, bench.host, "http://bench.example", NULL, 403 },
        { "GET", path, bench.host, "null", NULL, 403 },
        { "GET", path, bench.host, NULL, "cross-site", 403 },
        { "GET", path, bench.host, NULL, "same-site", 403 },
        { "POST", path, bench.host, NULL, NULL, 403 },
        { "POST", path, bench.host, "http://127.0.0.1:1", NULL, 403 },
        { "POST", path, bench.host, bench.origin, "none", 403 },
        /* asked in another way */
        { "POST", path, bench.host, bench.origin, NULL, 405 },
        { "DELETE", path, bench.host, bench.origin, NULL, 405 },
        { "HEAD", path, bench.host, bench.origin, NULL, 405 },
        { "\xff\xfe", path, bench.host, bench.origin, NULL, 405 },
    };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tw_page_request request = {
            cases[i].method, cases[i].path, cases[i].host, cases[i].origin, cases[i].site, "", 0
        };
        struct tw_page_response response;

        tw_page_answer(bench.page, &request, &response);
        cr_expect(response.status == cases[i].status, "case %zu: %d instead of %d", i, response.status,
                  cases[i].status);
        cr_expect(response.status == 200 || !strstr(response.body, bench.key + 1), "the key is told");
        free(response.body);
    }
    bench_close(&bench);
}

Test(page, every_start_has_a_key_of_its_own)
{
    struct bench one, two;

    bench_open(&one, false);
    bench_open(&two, false);
    cr_expect(eq(sz, strlen(one.page->guard.key), 32));
    cr_expect(ne(str, one.page->guard.key, two.page->guard.key));
    bench_close(&one);
    bench_close(&two);
}

/* W3C, Content Security Policy Level 3, section 6: sources that allow what stands in the markup or in strings. */
Test(page, nothing_inside_the_markup_may_run)
{
    static const char *const loose[] = { "unsafe", "http", "*" }, *const inner[] = { "style=", "<style", " onclick",
                                                                                     " onload", "<script>" };
    struct bench bench;
    struct tw_page_response response;

    bench_open(&bench, false);
    response = asked(&bench, "GET", "", NULL);
    expect_holds(response.policy, "default-src 'none'");
    expect_holds(response.policy, "frame-ancestors 'none'");
    for (size_t i = 0; i < sizeof loose / sizeof *loose; i++)
        cr_expect(strstr(response.policy, loose[i]) == NULL, "the policy says %s", loose[i]);
    for (size_t i = 0; i < sizeof inner / sizeof *inner; i++)
        cr_expect(strstr(response.body, inner[i]) == NULL, "the markup holds %s", inner[i]);
    free(response.body);
    bench_close(&bench);
}

/* ---- paths ---- */

Test(page, no_path_leads_out_of_the_folder)
{
    static const char *const gets[] = { "../job.cfg",  "job.cfg",      "..%2fjob.cfg", "%2e%2e/job.cfg", "keys/..",
                                        "page.css%00", "//etc/passwd", "page.css/",    "%70age.css",     "job?x=1" };
    static const char *const names[] = { "drawing/",
                                         "drawing/../x.svg",
                                         "drawing/..%2fx.svg",
                                         "drawing/%2e%2e%2fx.svg",
                                         "drawing/a%2fb.svg",
                                         "drawing/.x.svg",
                                         "drawing/x%00.svg",
                                         "drawing/x%0a.svg",
                                         "drawing/%ff.svg",
                                         "drawing/a\\b.svg",
                                         "drawing/%",
                                         "drawing/%4",
                                         "drawing/%zz.svg",
                                         "drawing/job.cfg",
                                         "drawing/x.exe",
                                         "drawing/replace/",
                                         "drawing/replace/../x.svg" };
    struct bench bench;

    bench_open(&bench, false);
    shell(bench.folder, "echo secret > $F.svg");
    for (size_t i = 0; i < sizeof gets / sizeof *gets; i++)
        cr_expect(status_of(&bench, "GET", gets[i], NULL) == 404, "%s is answered", gets[i]);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        int status = status_of(&bench, "POST", names[i], "<svg/>");

        cr_expect(status == 404 || status == 422, "%s: %d", names[i], status);
    }
    shell(bench.folder, "test $(ls -A $F | wc -l) = 3 && test \"$(cat $F.svg)\" = secret");
    shell(bench.folder, "rm $F.svg");
    bench_close(&bench);
}

static int change(struct bench *bench, const char *changes)
{
    struct tw_text body = { 0 };
    int status;

    tw_text_print(&body, "{\"changes\": {%s}}", changes);
    status = status_of(bench, "POST", "change", body.data);
    tw_text_free(&body);
    return status;
}

Test(page, no_file_elsewhere_can_be_named_and_no_link_is_followed)
{
    static const char *const files[] = { "/etc/passwd", "../x.svg",      "link.svg", "sub/outline.svg", "",
                                         ".",           "profiles/../x", "none.svg" };
    struct bench bench;
    char *before, *after;

    bench_open(&bench, false);
    before = job_text(&bench);
    shell(bench.folder, "ln -s /etc/passwd $F/link.svg && ln -s /etc $F/sub");
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        char changes[96];

        snprintf(changes, sizeof changes, "\"outline.file\": \"%s\"", files[i]);
        cr_expect(change(&bench, changes) == 422, "%s can be named as the drawing", files[i]);
        snprintf(changes, sizeof changes, "\"wheel.profile\": \"%s\"", files[i]);
        cr_expect(change(&bench, changes) == 422, "%s can be named as a profile", files[i]);
    }
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/link.svg", "<svg/>"), 500), "a link is written over");
    shell(bench.folder, "test -h $F/link.svg");
    after = job_text(&bench);
    cr_expect(eq(str, before, after));
    free(before);
    free(after);
    bench_close(&bench);
}

Test(page, a_job_that_is_a_link_is_neither_read_nor_written)
{
    struct bench bench;
    struct tw_page_response response;

    bench_open(&bench, false);
    shell(bench.folder, "mv $F/job.cfg $F.cfg");
    shell(bench.folder, "ln -s $F.cfg $F/job.cfg");
    response = asked(&bench, "GET", "job", NULL);
    expect_holds(response.body, "\"job\":null");
    expect_holds(response.body, "is a link, or cannot be read");
    free(response.body);
    cr_expect(eq(int, change(&bench, "\"taper.butt_thickness\": \"1.5 mm\""), 422));
    shell(bench.folder, "grep -q '1.6 mm' $F.cfg && rm $F.cfg");
    bench_close(&bench);
}

/* ---- changes ---- */

Test(page, a_change_is_written_at_its_place)
{
    struct bench bench;
    char *text;

    bench_open(&bench, false);
    cr_expect(eq(int, change(&bench, "\"taper.butt_thickness\": \"1/16 in\", \"outline.points\": null"), 200));
    text = job_text(&bench);
    expect_holds(text,
                 "    butt_thickness = \"1/16 in\";             # as the back end shall be; about half is usual\n");
    expect_holds(text, "#   points = \"y down\";");
    free(text);
    bench_close(&bench);
}

/* In one request: one is changed, one comes behind the last, one goes. */
Test(page, pairs_are_changed_one_by_one_at_their_places)
{
    struct bench bench;
    char *text;

    bench_open(&bench, false);
    cr_expect(eq(
        int,
        change(&bench, "\"blade.distal\": [[\"10 mm\", \"1.1 mm\"], [\"60 mm\", \"2 mm\"], [\"90 mm\", \"2.4 mm\"]]"),
        200));
    text = job_text(&bench);
    expect_holds(text, "distal = ( (\"10 mm\", \"1.1 mm\"), (\"60 mm\", \"2 mm\"), (\"90 mm\", \"2.4 mm\") );");
    free(text);
    cr_expect(
        eq(int,
           change(&bench, "\"blade.distal[2]\": [\"65 mm\", \"2.1 mm\"], \"blade.distal[4]\": [\"95 mm\", \"2.5 mm\"], "
                          "\"blade.distal[3]\": null"),
           200));
    text = job_text(&bench);
    expect_holds(text, "distal = ( (\"10 mm\", \"1.1 mm\"), (\"65 mm\", \"2.1 mm\"), (\"95 mm\", \"2.5 mm\") );");
    free(text);
    bench_close(&bench);
}

Test(page, a_change_that_cannot_be_read_is_not_written)
{
    static const char *const changes[] = {
        "\"fixture.keep_outs[99]\": null",
        "\"fixture.keep_outs[1]\": {\"name\": \"x\"}",
        "\"fixture.keep_outs[8]\": {\"no_such\": \"1 mm\"}",
        "\"fixture.keep_outs[8]\": {}",
        "\"fixture.keep_outs[8]\": \"{ name = 1; }\"",
        "\"fixture.keep_outs[8]\": {\"name\": \"x\", \"kind\": \"pin\", \"top\": \"2 mm\"}",
        "\"fixture.keep_outs[2].box\": [\"1 mm\", \"2 mm\", \"3 mm\"]",
        "\"fixture.keep_outs[2].top\": \"2\"",
        "\"fixture.keep_outs[2].no_such\": \"2 mm\"",
        "\"fixture.keep_outs[2]x\": null",
        "\"fixture.keep_outs[].top\": \"2 mm\"",
        "\"fixture.keep_outs[99999999999999999999].top\": \"2 mm\"",
        "\"blanks[1]\": {\"thickness\": \"3 mm\", \"survey\": \"../../etc/passwd\"}",
        "\"blade.distal\": [[\"10 mm\", \"1 mm\"], [\"5 mm\", \"1 mm\"]]", /* does not rise */
        "\"blade.distal\": [[\"10 mm\", \"1\"]]",                          /* no unit */
        "\"blade.distal\": [[\"10 mm\"]]",
        "\"blade.distal[1]\": [\"10 mm\", \"1 mm\", \"2 mm\"]",
        "\"blade.distal[3]\": [\"10 mm\", \"1 mm\"]", /* of none */
        "\"blade.distal[1]\": \"10 mm\"",
        "\"handle.scale_outline[1]\": [\"0 mm\", \"1 mm\"]", /* one corner encloses nothing */
        "\"taper.butt_thickness\": \"1.5\"",                 /* no unit */
        "\"taper.butt_thickness\": \"1.5 degC\"",            /* no length */
        "\"taper.butt_thickness\": \"900 mm\"",              /* out of its range */
        "\"taper.butt_thickness\": null",                    /* must be given */
        "\"taper.butt_thickness\": 1.5",                     /* no words */
        "\"taper.butt_thickness\": \"\\u0007\"",             /* would ring a terminal's bell */
        "\"taper.butt_thickness\": \"a\\u0000b\"",           /* ends before its end */
        "\"taper.butt_thickness\": \"1 mm\\\"; x = \\\"\"",  /* would be two settings */
        "\"finish.layers\": \"2; x = 1\"",
        "\"finish.layers\": \"two\"",
        "\"finish.layers\": \"2.5\"",
        "\"mount\": \"upside down\"",
        "\"outline.taper_start\": [\"1 mm\"]",
        "\"outline.taper_start\": \"1 mm\"",
        "\"outline.mirrored\": \"yes\"",
        "\"fixture.keep_outs\": \"( )\"", /* a list: row by row */
        "\"fixture.keep_outs[].name\": \"x\"",
        "\"no.such.key\": \"1\"",
        "\"machine.profile\": null",
        "",
    };
    static const char *const bodies[] = { "",
                                          "{",
                                          "[]",
                                          "{}",
                                          "{\"changes\": 1}",
                                          "\xff\xfe",
                                          "{\"changes\": {\"a\": \"\xc3\x28\"}}",
                                          "{\"changes\": {\"mount\": \"level\", \"mount\": \"tilted\"}}" };
    struct bench bench;
    char *before, *after;

    bench_open(&bench, false);
    before = job_text(&bench);
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        int status = change(&bench, changes[i]);

        cr_expect(status == 422 || status == 400, "%s: %d", changes[i], status);
    }
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++) {
        int status = status_of(&bench, "POST", "change", bodies[i]);

        cr_expect(status == 400 || status == 422, "%s: %d", bodies[i], status);
    }
    after = job_text(&bench);
    cr_expect(eq(str, before, after));
    free(before);
    free(after);
    bench_close(&bench);
}

Test(page, why_not_stands_with_the_key)
{
    struct bench bench;
    struct tw_page_response response;

    bench_open(&bench, false);
    response = asked(&bench, "POST", "change", "{\"changes\": {\"taper.butt_thickness\": \"1.5\"}}");
    cr_expect(eq(int, response.status, 422));
    expect_holds(response.body, "\"key\":\"taper.butt_thickness\"");
    expect_holds(response.body, "write \\\"1.5 mm\\\"");
    free(response.body);
    bench_close(&bench);
}

/* What keys say against each other is written, for a person mends one after another, and shown. */
Test(page, keys_at_odds_are_written_and_told)
{
    struct bench bench;
    struct tw_page_response response;

    bench_open(&bench, false);
    cr_expect(eq(int, change(&bench, "\"taper.butt_thickness\": \"9 mm\""), 200));
    response = asked(&bench, "GET", "job", NULL);
    expect_holds(response.body, "\"sound\":false");
    expect_holds(response.body, "\"fault\":true");
    free(response.body);
    bench_close(&bench);
}

Test(page, changes_are_taken_back_one_by_one_as_long_as_nobody_wrote_after_them)
{
    struct bench bench;
    char *first, *second, *now;

    bench_open(&bench, false);
    first = job_text(&bench);
    cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 409), "there is nothing to take back");
    cr_expect(eq(int, change(&bench, "\"mount\": \"level\""), 200));
    second = job_text(&bench);
    cr_expect(eq(int, change(&bench, "\"taper.butt_thickness\": \"1.5 mm\""), 200));
    cr_expect(eq(int, change(&bench, "\"taper.butt_thickness\": \"1.5 mm\""), 200), "the same again is no change");
    cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 200));
    now = job_text(&bench);
    cr_expect(eq(str, now, second));
    free(now);
    cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 200));
    now = job_text(&bench);
    cr_expect(eq(str, now, first));
    free(now);
    cr_expect(eq(int, change(&bench, "\"mount\": \"level\""), 200));
    shell(bench.folder, "echo '# by hand' >> $F/job.cfg");
    cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 409), "what an editor wrote is lost");
    for (int i = 0; i < PAGE_UNDO_MOST + 3; i++) /* more than are kept */
        cr_expect(eq(int, change(&bench, i % 2 ? "\"mount\": \"level\"" : "\"mount\": \"tilted\""), 200));
    for (int i = 0; i < PAGE_UNDO_MOST; i++)
        cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 200));
    cr_expect(eq(int, status_of(&bench, "POST", "undo", NULL), 409));
    free(first);
    free(second);
    bench_close(&bench);
}

/* ---- what is shown ---- */

static json_t *shown(struct bench *bench, const char *rest)
{
    struct tw_page_response response = asked(bench, "GET", rest, NULL);
    json_t *object = json_loads(response.body, 0, NULL);

    cr_assert(object != NULL);
    free(response.body);
    return object;
}

static void expect_value(json_t *job, const char *key, const char *text, const char *from)
{
    json_t *value = json_object_get(json_object_get(json_object_get(job, "job"), "values"), key);
    const char *said = json_string_value(json_object_get(value, "text")),
               *where = json_string_value(json_object_get(value, "from"));

    cr_expect(text ? said && strcmp(said, text) == 0 : !said, "%s is shown as %s", key, said ? said : "nothing");
    cr_expect(where && strcmp(where, from) == 0, "%s is said to come from %s", key, where ? where : "nowhere");
}

Test(page, the_page_tells_what_the_file_says_and_where_from)
{
    struct bench bench;
    json_t *job;

    bench_open(&bench, false);
    job = shown(&bench, "job");
    expect_value(job, "taper.butt_thickness", "1.6 mm", "job");
    expect_value(job, "wheel.diameter", "75 mm", "profile");
    expect_value(job, "taper.length", NULL, "default");
    json_decref(job);
    bench_close(&bench);
}

Test(page, what_an_editor_writes_changes_the_version)
{
    struct bench bench;
    json_t *job, *state;

    bench_open(&bench, false);
    job = shown(&bench, "job");
    state = shown(&bench, "state");
    cr_expect(json_equal(json_object_get(job, "version"), json_object_get(state, "version")));
    json_decref(state);
    shell(bench.folder, "sed -i 's/1.6 mm/1.55 mm/' $F/job.cfg");
    state = shown(&bench, "state");
    cr_expect(json_equal(json_object_get(job, "version"), json_object_get(state, "version")) == 0,
              "an editor's change is missed");
    json_decref(state);
    json_decref(job);
    bench_close(&bench);
}

/* A job of any bytes is shown as far as it goes, and the page goes on. */
Test(page, a_broken_job_is_told_and_no_more)
{
    static const char *const texts[] = { "",
                                         "\xff\xfe\x00",
                                         "taper: {",
                                         "outline: { file = \"\xff.svg\"; };",
                                         "name = \"\x1b[31m\";",
                                         "outline: 5; taper: ( ); wheel: [1];",
                                         "@include \"/etc/passwd\"\n",
                                         "outline: { file = \"/etc/passwd\"; format = \"csv\"; };" };
    struct bench bench;

    bench_open(&bench, false);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char path[128];
        FILE *file;
        json_t *job;

        snprintf(path, sizeof path, "%s/job.cfg", bench.folder);
        file = fopen(path, "w");
        cr_assert(file != NULL);
        fputs(texts[i], file);
        fclose(file);
        job = shown(&bench, "job");
        cr_expect(json_array_size(json_object_get(job, "findings")) > 0, "case %zu: nothing is told", i);
        json_decref(job);
    }
    bench_close(&bench);
}

Test(page, a_drawing_is_stored_once_and_replaced_only_when_asked)
{
    struct bench bench;

    bench_open(&bench, false);
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/kn%C3%ACfe%201.svg", "<svg/>"), 200));
    shell(bench.folder, "test \"$(cat \"$F/kn\xc3\xac"
                        "fe 1.svg\")\" = '<svg/>'");
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/kn%C3%ACfe%201.svg", "<svg/>"), 200),
              "the same again is no fault");
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/kn%C3%ACfe%201.svg", "<svg></svg>"), 409));
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/replace/kn%C3%ACfe%201.svg", "<svg></svg>"), 200));
    cr_expect(eq(int, status_of(&bench, "POST", "drawing/x.svg", ""), 422), "an empty drawing is stored");
    bench_close(&bench);
}

/* ---- questions that take long ---- */

/* A page whose questions are answered by a script in its folder. */
static void bench_open_with(struct bench *bench, const char *script)
{
    char path[128];

    bench_open(bench, false);
    snprintf(path, sizeof path, "%s/answer.sh", bench->folder);
    free(bench->page->asks.program);
    bench->page->asks.program = strdup(path);
    setenv("S", script, 1);
    shell(bench->folder, "printf '#!/bin/sh\\n%s\\n' \"$S\" > $F/answer.sh && chmod +x $F/answer.sh");
}

static int ask_about(struct bench *bench, const char *rest, const char *job, const char *words)
{
    char body[1024];

    snprintf(body, sizeof body, "{\"for\": \"%s\", \"words\": %s}", job, words);
    return status_of(bench, "POST", rest, body);
}

static int ask_of(struct bench *bench, const char *rest, const char *words)
{
    return ask_about(bench, rest, "0123456789abcdef", words);
}

Test(page, only_keys_of_the_job_and_files_of_the_folder_are_compared)
{
    static const char *const refused[] = {
        "[]",
        "{}",
        "[1]",
        "[\"--sheet=/tmp/x\"]",
        "[\"--json=x\"]",
        "[\"=1 mm\"]",
        "[\"taper.butt_thickness\"]",
        "[\"outline.file=/etc/passwd\"]",
        "[\"survey.file=job.cfg\"]",
        "[\"wheel.profile=/etc/passwd\"]",
        "[\"wheel.profile=profiles/wheels/cup-cbn-75.cfg,../x.cfg\"]",
        "[\"wheel.profile=\\\"/etc/passwd\\\"\"]",
        "[\"wheel.profile=\"]",
        "[\"relief=5\"]",
        "[\"no.such=1\"]",
        "[\"taper.butt_thickness=1 mm\\n2\"]",
        "[\"mount=level\",\"mount=level\",\"mount=level\",\"mount=level\",\"mount=level\"]",
    };
    struct bench bench;

    bench_open_with(&bench, "exit 0");
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        int status = ask_of(&bench, "ask/compare", refused[i]);

        cr_expect(status == 422 || status == 400, "%s: %d", refused[i], status);
    }
    cr_expect(eq(int, ask_of(&bench, "ask/compare", "[\"taper.butt_thickness=1.5 mm,1.7 mm\",\"relief=none\"]"), 200));
    cr_expect(eq(int, ask_of(&bench, "ask/compare", "[\"wheel.profile=profiles/wheels/cup-alumina-100.cfg\"]"), 200));
    cr_expect(eq(int, ask_of(&bench, "ask/nothing", "[]"), 404));
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{}"), 400));
    cr_expect(eq(int, status_of(&bench, "POST", "stop/nothing", NULL), 404));
    cr_expect(eq(int, status_of(&bench, "GET", "answer/nothing", NULL), 404));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/nothing", NULL), 404));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/answer-preview", NULL), 404), "there is none yet");
    bench_close(&bench);
}

static int ask_stations(struct bench *bench, const char *count)
{
    char body[96];

    /* The same question is not asked twice at a time, and would not be looked at. */
    snprintf(body, sizeof body, "{\"for\": \"%d\", \"stations\": %s}", ++bench->asked, count);
    return status_of(bench, "POST", "ask/fixture", body);
}

Test(page, programs_are_neither_written_nor_run_through_a_link)
{
    static const char *const none[] = { "0", "10", "-1", "2.5", "\"2\"", "99999999999" };
    struct bench bench;

    bench_open_with(&bench, "exit 0");
    cr_expect(eq(int, ask_of(&bench, "ask/prove", "[]"), 422), "there is nothing to run");
    shell(bench.folder, "mkdir $F/programs && touch $F/programs/side-a.nc && echo '{\"setups\": [{\"program\": "
                        "\"../job.cfg\"}]}' > $F/programs/summary.json");
    cr_expect(eq(int, ask_of(&bench, "ask/prove", "[]"), 422), "a program outside of the folder is run");
    shell(bench.folder, "echo '{\"setups\": [{\"program\": \"side-a.nc\"}]}' > $F/programs/summary.json");
    cr_expect(eq(int, ask_of(&bench, "ask/prove", "[]"), 200));
    shell(bench.folder, "mv $F/programs $F/elsewhere && ln -s $F/elsewhere $F/programs");
    cr_expect(eq(int, ask_of(&bench, "ask/write", "[]"), 422));
    /* Of another job: the same question would be that of before, if it still ran. */
    cr_expect(eq(int, ask_about(&bench, "ask/prove", "fedcba9876543210", "[]"), 422));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/programs", NULL), 404));
    cr_expect(eq(int, ask_of(&bench, "ask/fixture", "[]"), 200));
    cr_expect(eq(int, ask_stations(&bench, "2"), 200));
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        cr_expect(eq(int, ask_stations(&bench, none[i]), 422), "%s stations", none[i]);
    shell(bench.folder, "ln -s $F/elsewhere $F/fixture && touch $F/elsewhere/fixture.html");
    cr_expect(eq(int, ask_about(&bench, "ask/fixture", "fedcba9876543210", "[]"), 422));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/fixture", NULL), 404));
    bench_close(&bench);
}

static bool is_gone(pid_t process)
{
    return kill(process, 0) != 0 && errno == ESRCH;
}

Test(page, a_newer_question_ends_an_older_one_and_closing_ends_all)
{
    struct bench bench;
    char *scratch;
    pid_t first, second;

    bench_open_with(&bench, "exec sleep 60");
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{\"for\": \"one\"}"), 200));
    first = bench.page->asks.each[ASK_PREVIEW].child;
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{\"for\": \"one\"}"), 200));
    cr_expect(eq(int, bench.page->asks.each[ASK_PREVIEW].child, first), "the same question is asked twice");
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{\"for\": \"two\"}"), 200));
    second = bench.page->asks.each[ASK_PREVIEW].child;
    cr_expect(first > 0 && second > 0 && first != second);
    cr_expect(is_gone(first), "the older one still runs");
    scratch = strdup(bench.page->asks.scratch);
    bench_close(&bench);
    cr_expect(is_gone(second), "it outlives the page");
    cr_expect(access(scratch, F_OK) != 0, "its files are left behind");
    free(scratch);
}

static void expect_string(const json_t *string, const char *wanted)
{
    const char *text = json_string_value(string);

    cr_expect(text && strcmp(text, wanted) == 0, "\"%s\" instead of \"%s\"", text ? text : "nothing", wanted);
}

/* The words behind the verb are those of the command line; the answer is what it wrote. */
Test(page, the_last_answer_stays_until_the_next_is_there)
{
    struct bench bench;
    json_t *answer;

    bench_open_with(
        &bench,
        "test -e $2.slow && exec sleep 60; echo \"{\\\"words\\\": \\\"$1 $3 $5\\\"}\" > $4; echo a >&2; exit 4");
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{\"for\": \"one\"}"), 200));
    for (int i = 0; i < 200 && bench.page->asks.each[ASK_PREVIEW].answer.number == 0; i++) {
        nanosleep(&(struct timespec){ .tv_nsec = 20000000 }, NULL);
        asks_look(&bench.page->asks);
    }
    shell(bench.folder, "touch $F/job.cfg.slow");
    cr_expect(eq(int, status_of(&bench, "POST", "ask/preview", "{\"for\": \"two\"}"), 200));
    answer = shown(&bench, "answer/preview");
    expect_string(json_object_get(answer, "for"), "one");
    cr_expect(eq(int, (int)json_integer_value(json_object_get(answer, "status")), 4));
    expect_string(json_array_get(json_object_get(answer, "said"), 0), "a");
    expect_string(json_object_get(json_object_get(answer, "figures"), "words"), "preview --json --sheet");
    json_decref(answer);
    bench_close(&bench);
}

/* Content Security Policy Level 3: `sandbox` without allow-same-origin gives an origin of its own. */
Test(page, a_sheet_that_was_tampered_with_runs_nothing)
{
    struct bench bench;
    struct tw_page_response response;

    bench_open(&bench, false);
    shell(bench.folder, "mkdir $F/programs && echo '<html><script>alert(1)</script></html>' > $F/programs/setup.html");
    response = asked(&bench, "GET", "sheet/programs", NULL);
    cr_expect(eq(int, response.status, 200));
    expect_holds(response.policy, "sandbox allow-scripts allow-modals;");
    expect_holds(response.policy, "script-src 'none'");
    free(response.body);
    bench_close(&bench);
}

/* Content Security Policy Level 3, section 6.4.2: whom frame-ancestors lets show a page inside itself. */
Test(page, only_a_part_of_a_sheet_may_be_shown_inside_and_by_this_page_alone)
{
    struct bench bench;
    struct tw_page_response whole, part;

    bench_open(&bench, false);
    shell(bench.folder,
          "mkdir $F/programs && echo '<html><body><main>x</main></body></html>' > $F/programs/setup.html");
    whole = asked(&bench, "GET", "sheet/programs", NULL);
    part = asked(&bench, "GET", "sheet/programs/maps", NULL);
    expect_holds(whole.policy, "frame-ancestors 'none'");
    expect_holds(part.policy, "frame-ancestors 'self'");
    expect_holds(part.policy, "sandbox allow-scripts allow-modals;");
    cr_expect(strcmp(part.body, "<html><body class=\"only-maps\"><main>x</main></body></html>\n") == 0, "%s",
              part.body);
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/programs/else", NULL), 404));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet/programs/maps/maps", NULL), 404));
    cr_expect(eq(int, status_of(&bench, "GET", "sheet//maps", NULL), 404));
    free(whole.body);
    free(part.body);
    bench_close(&bench);
}

/* A list stands with the line of each member, so that it is found in a text editor. */
Test(page, members_of_a_list_are_told_with_their_lines)
{
    struct bench bench;
    json_t *job, *members;

    bench_open(&bench, false);
    job = shown(&bench, "job");
    members = json_object_get(
        json_object_get(json_object_get(json_object_get(job, "job"), "values"), "fixture.keep_outs"), "members");
    cr_expect(eq(sz, json_array_size(members), 8));
    expect_string(json_object_get(json_array_get(members, 1), "words"),
                  "name rear spine stop, A up; kind pin; sides a; circle -50 mm, 14 mm, 6 mm; top 2 mm");
    {
        char command[128];

        snprintf(command, sizeof command, "sed -n %dp $F/job.cfg | grep -q 'rear spine stop, A up'",
                 (int)json_integer_value(json_object_get(json_array_get(members, 1), "line")));
        shell(bench.folder, command);
    }
    json_decref(job);
    bench_close(&bench);
}

/* ---- when memory runs out ---- */

/* Every so many allocations one fails: the page answers with a fault or ends the request, and the job file is whole. */
static void try_without_memory(struct bench *bench, const char *method, const char *rest, const char *body)
{
    char *before = job_text(bench);
    bool done = false;

    for (long n = 0; !done && n < 200000; n += 1 + n / 6) {
        struct tw_page_response response;
        char *after;

        allocations_until_failure = n;
        response = asked(bench, method, rest, body);
        done = allocations_until_failure >= 0;
        allocations_until_failure = -1;
        cr_expect(response.status != 200 || response.body || !done, "%s: an answer without a body", rest);
        free(response.body);
        after = job_text(bench);
        cr_expect(strstr(after, "name = \"petty-160\"") && strlen(after) + 40 > strlen(before), "%s: the job is harmed",
                  rest);
        free(after);
    }
    cr_expect(done, "%s never gets all the memory that it wants", rest);
    free(before);
}

Test(page, no_allocation_that_fails_does_harm)
{
    struct bench bench;

    bench_open(&bench, false);
    try_without_memory(&bench, "GET", "keys", NULL);
    try_without_memory(&bench, "GET", "state", NULL);
    try_without_memory(&bench, "GET", "job", NULL);
    try_without_memory(&bench, "POST", "change",
                       "{\"changes\": {\"taper.butt_thickness\": \"1.5 mm\", \"outline.taper_start\": "
                       "[\"1 mm\", \"0 mm\"], \"outline.butt\": null}}");
    try_without_memory(&bench, "POST", "undo", NULL);
    try_without_memory(&bench, "POST", "drawing/x.svg", "<svg/>");
    bench_close(&bench);
}

/* ---- through a socket ---- */

static int connect_to(const struct bench *bench)
{
    struct sockaddr_in address = { .sin_family = AF_INET, .sin_port = htons((uint16_t)bench->port) };
    int line = socket(AF_INET, SOCK_STREAM, 0);
    struct timeval patience = { .tv_sec = 20 };

    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    setsockopt(line, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    cr_assert(line >= 0 && connect(line, (struct sockaddr *)&address, sizeof address) == 0);
    return line;
}

static void send_text(int line, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t sent = send(line, text, length, MSG_NOSIGNAL);

        if (sent <= 0)
            return; /* the other side has had enough */
        text += sent;
        length -= (size_t)sent;
    }
}

/* The status of what comes back; 0 where the line ends without. */
static int received(int line)
{
    char answer[4096] = "";
    int status = 0;

    if (recv(line, answer, sizeof answer - 1, MSG_WAITALL) > 0)
        sscanf(answer, "HTTP/1.1 %d", &status);
    close(line);
    return status;
}

static int raw(const struct bench *bench, const char *head, const char *body, size_t length)
{
    char text[1024];
    int line = connect_to(bench);

    snprintf(text, sizeof text, "%s\r\nConnection: close\r\n\r\n", head);
    send_text(line, text, strlen(text));
    send_text(line, body, length);
    return received(line);
}

static int plain_get(const struct bench *bench)
{
    char head[256];

    snprintf(head, sizeof head, "GET %sstate HTTP/1.1\r\nHost: %s", bench->key, bench->host);
    return raw(bench, head, "", 0);
}

Test(page, it_listens_on_the_loop_back_address_alone)
{
    struct bench bench;
    struct sockaddr_in address = { 0 };
    socklen_t size = sizeof address;
    int line;

    bench_open(&bench, true);
    line = connect_to(&bench);
    cr_assert(getpeername(line, (struct sockaddr *)&address, &size) == 0);
    cr_expect(eq(uint, ntohl(address.sin_addr.s_addr), INADDR_LOOPBACK));
    close(line);
    cr_expect(eq(int, plain_get(&bench), 200));
    shell(bench.host, "! grep -q \" 00000000:$(printf %04X ${F#*:}) .* 0A \" /proc/net/tcp");
    bench_close(&bench);
}

Test(page, strange_requests_are_refused_and_others_still_served)
{
    struct bench bench;
    char head[1024], *large = malloc(20u << 20);

    cr_assert(large != NULL);
    memset(large, 'x', 20u << 20);
    bench_open(&bench, true);
    /* two hosts, and a second that is ours: RFC 9112 section 3.2 */
    snprintf(head, sizeof head, "GET %sjob HTTP/1.1\r\nHost: a.example\r\nHost: %s", bench.key, bench.host);
    cr_expect(raw(&bench, head, "", 0) >= 400, "two hosts");
    /* more than a drawing may have: said, and not said */
    snprintf(head, sizeof head, "POST %sdrawing/x.svg HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nContent-Length: %u",
             bench.key, bench.host, bench.origin, 20u << 20);
    cr_expect(eq(int, raw(&bench, head, "", 0), 413));
    snprintf(head, sizeof head, "POST %schange HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nTransfer-Encoding: chunked",
             bench.key, bench.host, bench.origin);
    memcpy(large, "1000000\r\n", 9);
    cr_expect(raw(&bench, head, large, 20u << 20) != 200, "a body without end");
    /* a body from somebody without the key */
    snprintf(head, sizeof head,
             "POST /00000000000000000000000000000000/drawing/x.svg HTTP/1.1\r\nHost: %s\r\nContent-Length: 90000",
             bench.host);
    cr_expect(eq(int, raw(&bench, head, "", 0), 403));
    /* a head without end, and one that is no HTTP */
    snprintf(head, sizeof head, "GET %sjob HTTP/1.1\r\nHost: %s\r\nX-Long: ", bench.key, bench.host);
    large[100000] = '\0';
    {
        int line = connect_to(&bench), status;

        send_text(line, head, strlen(head));
        send_text(line, large, 100000);
        send_text(line, "\r\n\r\n", 4);
        status = received(line);
        cr_expect(status == 0 || status >= 400, "a head of 100 kB: %d", status);
    }
    cr_expect(raw(&bench, "\x16\x03\x01 nonsense", "", 0) != 200);
    snprintf(head, sizeof head, "GET %s\xff\xfe HTTP/1.1\r\nHost: %s", bench.key, bench.host);
    cr_expect(raw(&bench, head, "", 0) >= 400);
    cr_expect(eq(int, plain_get(&bench), 200));
    free(large);
    bench_close(&bench);
}

/* More lines than are served at once, each with half a request; when they are gone, or were dropped, others are served. */
Test(page, half_requests_do_not_keep_others_out_for_good)
{
    enum { LINES = 60 };
    struct bench bench;
    int lines[LINES], status = 0;

    bench_open(&bench, true);
    for (int i = 0; i < LINES; i++) {
        lines[i] = connect_to(&bench);
        send_text(lines[i], "GET /", 5);
    }
    for (int i = 0; i < LINES; i++)
        close(lines[i]);
    for (int i = 0; i < 100 && status != 200; i++) { /* it sees one after another go */
        nanosleep(&(struct timespec){ .tv_nsec = 50000000 }, NULL);
        status = plain_get(&bench);
    }
    cr_expect(eq(int, status, 200));
    bench_close(&bench);
}

/* ---- in a browser ---- */

/* The program that is built beside this test is started; a browser runs none of our C code, so not under sanitizers. */
Test(page, a_browser_works_on_a_job_by_pointer_and_by_keyboard, ONLY_IN_RELEASE, .timeout = 600)
{
    char folder[] = "/tmp/tangwright-bench-XXXXXX";

    cr_assert(mkdtemp(folder) != NULL);
    shell(folder, "node tests/browser/bench.mjs build/release/tangwright $F");
    shell(folder, "rm -rf $F");
}
