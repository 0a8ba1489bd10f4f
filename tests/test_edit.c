/* test_edit.c - guards changing one value in the text of a job: a comment, a line end or a neighbour's value that is lost on the
 * way, a key that lands in the wrong group, and a text that no longer reads. Expected texts are written by hand; that a change
 * reaches its key and nothing else is asked of libconfig itself, for every key of the schema in several samples. */
#include "base/file.h"
#include "base/text.h"
#include "input/edit.h"
#include "input/failing_memory.h"
#include "input/schema.h"

#include "check/check.h"
#include <libconfig.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char *edited(const char *text, const char *key, const char *value)
{
    struct tw_instead change = { key, value };
    struct tw_findings findings = { 0 };
    char *out = NULL;

    tw_edit_text("job.cfg", text, &change, 1, &out, &findings);
    tw_findings_free(&findings);
    return out;
}

static void expect_text(const char *text, const char *key, const char *value, const char *wanted)
{
    char *out = edited(text, key, value);

    cr_expect(out != NULL, "%s = %s in \"%s\" is refused", key, value, text);
    if (out)
        cr_expect(eq(str, out, (char *)(size_t)wanted));
    free(out);
}

/* ---- a key that stands there ---- */

Test(edit, a_value_is_replaced_and_all_else_stays)
{
    expect_text("a = 1;\ntaper: { b = \"2 mm\"; };\n", "taper.b", "\"3 mm\"", "a = 1;\ntaper: { b = \"3 mm\"; };\n");
    expect_text("taper = { b : \"2 mm\" }", "taper.b", "\"3 mm\"", "taper = { b : \"3 mm\" }");
    expect_text("b = 1; t: { b = 2; u: { b = 3; } }", "t.u.b", "4", "b = 1; t: { b = 2; u: { b = 4; } }");
    expect_text("a = 1e-3; b = 0x1F, c = [1, 2]; d = \"x\" \"y\"; e = 5L;", "d", "\"z\"",
                "a = 1e-3; b = 0x1F, c = [1, 2]; d = \"z\"; e = 5L;");
    expect_text("a = 1.5e+3\nb = 2\n", "a", "7", "a = 7\nb = 2\n");
    expect_text("a = [\"1 mm\",\n     \"2 mm\"]; # two\nb = 1;\n", "a", "[\"3 mm\", \"4 mm\"]",
                "a = [\"3 mm\", \"4 mm\"]; # two\nb = 1;\n");
    expect_text("a = \"} ; = # \\\" {\"; b = 1;", "b", "2", "a = \"} ; = # \\\" {\"; b = 2;");
}

Test(edit, a_comment_behind_a_value_keeps_its_column_as_far_as_there_is_room)
{
    expect_text("a = \"1 mm\";     # one\n", "a", "\"10.5 mm\"", "a = \"10.5 mm\";  # one\n");
    expect_text("a = \"10.5 mm\";  # one\n", "a", "\"1 mm\"", "a = \"1 mm\";     # one\n");
    expect_text("a = 1; // one\n", "a", "12345", "a = 12345; // one\n");
    expect_text("a = 1;   /* one */ b = 2; /* two\n */\n", "a", "10", "a = 10;  /* one */ b = 2; /* two\n */\n");
    expect_text("a = 1;\t# tab\n", "a", "10", "a = 10;\t# tab\n");
}

Test(edit, line_ends_and_marks_of_other_systems_stay)
{
    expect_text("a = 1; # x\r\nb = 2;\r\n", "b", "3", "a = 1; # x\r\nb = 3;\r\n");
    expect_text("t: {\r\n    a = 1;\r\n};\r\n", "t.b", "2", "t: {\r\n    a = 1;\r\n    b = 2;\r\n};\r\n");
    expect_text("a = 1;\r\n", "t.b", "2", "a = 1;\r\nt: {\r\n    b = 2;\r\n};\r\n");
    expect_text("\xef\xbb\xbf"
                "a = 1;\n",
                "a", "2",
                "\xef\xbb\xbf"
                "a = 2;\n");
    expect_text("\xef\xbb\xbf"
                "a = 1;\n",
                "b", "2",
                "\xef\xbb\xbf"
                "a = 1;\nb = 2;\n");
}

/* ---- a key that is there as a note ---- */

Test(edit, a_note_that_holds_the_key_is_used)
{
    expect_text("t: {\n    a = 1;\n#   b = 5;        # why\n    c = 3;\n};\n", "t.b", "2",
                "t: {\n    a = 1;\n    b = 2;        # why\n    c = 3;\n};\n");
    expect_text("t: {\n  a = 1;\n  # b = [\"1 mm\", \"2 mm\"]\n};\n", "t.b", "[\"3 mm\", \"4 mm\"]",
                "t: {\n  a = 1;\n  b = [\"3 mm\", \"4 mm\"];\n};\n");
    /* of another group, in a block, in a text, or with something else before it: no note of this key */
    expect_text("# b = 1;\nt: {\n    a = 1;\n};\n", "t.b", "2", "# b = 1;\nt: {\n    a = 1;\n    b = 2;\n};\n");
    expect_text("t: {\n    /*\n# b = 1;\n*/\n    a = 1;\n};\n", "t.b", "2",
                "t: {\n    /*\n# b = 1;\n*/\n    a = 1;\n    b = 2;\n};\n");
    expect_text("t: {\n    a = \"x\"; # b = 1;\n};\n", "t.b", "2", "t: {\n    a = \"x\"; # b = 1;\n    b = 2;\n};\n");
    expect_text("t: {\n    a = 1;\n    # bb = 1; b = 3;\n};\n", "t.b", "2",
                "t: {\n    a = 1;\n    b = 2;\n    # bb = 1; b = 3;\n};\n");
}

/* ---- a key that is not there ---- */

Test(edit, a_missing_key_is_written_below_the_last_of_its_group)
{
    expect_text("t: {\n    a = 1;        # one\n                  # goes on\n};\nz = 1;\n", "t.b", "2",
                "t: {\n    a = 1;        # one\n                  # goes on\n    b = 2;\n};\nz = 1;\n");
    expect_text("t: {\n\ta = 1\n}\n", "t.b", "2", "t: {\n\ta = 1;\n\tb = 2;\n}\n");
    expect_text("t: { a = 1; };", "t.b", "2", "t: { a = 1; b = 2; };");
    expect_text("t: { a = 1 };", "t.b", "2", "t: { a = 1; b = 2; };");
    expect_text("t: { };", "t.b", "2", "t: { b = 2;  };");
    expect_text("t: {\n    a = 1; /* long\n    story */\n};\n", "t.b", "2",
                "t: {\n    a = 1; /* long\n    story */\n    b = 2;\n};\n");
    expect_text("a = 1;", "b", "2", "a = 1;\nb = 2;\n");
    expect_text("", "b", "2", "b = 2;\n");
    expect_text("a = 1;\n\n# ---- the end ----\n", "b", "2", "a = 1;\nb = 2;\n\n# ---- the end ----\n");
}

Test(edit, missing_groups_are_made)
{
    expect_text("a = 1;\n", "t.b", "2", "a = 1;\nt: {\n    b = 2;\n};\n");
    expect_text("t: { a = 1; };\n", "t.u.b", "2", "t: { a = 1; u: { b = 2; }; };\n");
    expect_text("t: {\n    a = 1;\n};\n", "t.u.v.b", "2", "t: {\n    a = 1;\n    u: { v: { b = 2; }; };\n};\n");
}

/* ---- taking out ---- */

Test(edit, a_key_that_is_taken_out_becomes_a_note)
{
    expect_text("t: {\n    a = 1;\n    b = 2;      # two\n};\n", "t.b", "none",
                "t: {\n    a = 1;\n    # b = 2;    # two\n};\n");
    expect_text("t: {\n    b = (\n        1, # one\n        2\n    );\n};\n", "t.b", "none",
                "t: {\n    # b = (\n#         1, # one\n#         2\n#     );\n};\n");
    expect_text("t: { a = 1; b = 2; c = 3; };", "t.b", "none", "t: { a = 1; c = 3; };");
    expect_text("t: { a = 1; };", "t.b", "none", "t: { a = 1; };");
    expect_text("t: { a = 1; };", "u.b", "none", "t: { a = 1; };");
}

Test(edit, out_and_in_again_gives_the_text_that_was)
{
    const char *text = "t: {\n    a = 1;\n    b = \"2 mm\";   # two\n};\n";
    char *out = edited(text, "t.b", "none"), *again = out ? edited(out, "t.b", "\"2 mm\"") : NULL;

    cr_assert(again != NULL);
    cr_expect(eq(str, again, (char *)(size_t)text));
    free(out);
    free(again);
}

/* ---- what is refused ---- */

/* ---- rows of a list ---- */

#define ROWS "k: {\n    l = ( # all\n        { a = 1; b = 2; },  # one\n        { a = 3; }  # two\n    );\n};\n"

Test(edit, a_key_of_a_row_is_changed_in_that_row_alone)
{
    expect_text(ROWS, "k.l[1].a", "7",
                "k: {\n    l = ( # all\n        { a = 7; b = 2; },  # one\n        { a = 3; }  # two\n    );\n};\n");
    expect_text(
        ROWS, "k.l[2].b", "7",
        "k: {\n    l = ( # all\n        { a = 1; b = 2; },  # one\n        { a = 3; b = 7; }  # two\n    );\n};\n");
    expect_text("l = ({ a = [1, 2]; }, { a = [3, 4]; });", "l[2].a", "[5, 6]",
                "l = ({ a = [1, 2]; }, { a = [5, 6]; });");
    expect_text("l = ({ a = 1; b = 2; });", "l[1].a", "none", "l = ({ b = 2; });");
}

Test(edit, a_row_is_added_below_the_last)
{
    expect_text(ROWS, "k.l[3]", "{ a = 5; }",
                "k: {\n    l = ( # all\n        { a = 1; b = 2; },  # one\n        { a = 3; },  # two\n        { a = "
                "5; }\n    );\n};\n");
    expect_text("l = ({ a = 1; });", "l[2]", "{ a = 2; }", "l = ({ a = 1; }, { a = 2; });");
    expect_text("l = ();", "l[1]", "{ a = 2; }", "l = ( { a = 2; } );");
    expect_text("b = 1;\n", "k.l[1]", "{ a = 2; }", "b = 1;\nk: {\n    l = ( { a = 2; } );\n};\n");
    expect_text("l = (\r\n  { a = 1; }\r\n);\r\n", "l[2]", "{ a = 2; }",
                "l = (\r\n  { a = 1; },\r\n  { a = 2; }\r\n);\r\n");
}

Test(edit, a_row_that_is_taken_out_becomes_a_note_and_leaves_no_comma_before_nothing)
{
    expect_text(ROWS, "k.l[1]", "none",
                "k: {\n    l = ( # all\n        # { a = 1; b = 2; }, # one\n        { a = 3; }  # two\n    );\n};\n");
    expect_text(ROWS, "k.l[2]", "none",
                "k: {\n    l = ( # all\n        { a = 1; b = 2; }  # one\n        # { a = 3; } # two\n    );\n};\n");
    expect_text("l = ({ a = 1; }, { a = 2; }, { a = 3; });", "l[2]", "none", "l = ({ a = 1; }, { a = 3; });");
    expect_text("l = ({ a = 1; }, { a = 2; });", "l[2]", "none", "l = ({ a = 1; } );");
    expect_text("l = (\n  { a = 1;\n    b = 2; }\n);\n", "l[1]", "none", "l = (\n  # { a = 1;\n#     b = 2; }\n);\n");
}

#define PAIRS                                                                                                          \
    "b: {\n    d = (\n        (\"10 mm\", \"1 mm\"), # by the tip\n        (\"60 mm\", \"2 mm\")\n    );\n};\n"

/* A row that is no group has no keys by which it could be changed. */
Test(edit, a_pair_is_changed_as_a_whole)
{
    expect_text(
        PAIRS, "b.d[1]", "(\"12 mm\", \"1.1 mm\")",
        "b: {\n    d = (\n        (\"12 mm\", \"1.1 mm\"), # by the tip\n        (\"60 mm\", \"2 mm\")\n    );\n};\n");
    expect_text(PAIRS, "b.d[3]", "(\"90 mm\", \"3 mm\")",
                "b: {\n    d = (\n        (\"10 mm\", \"1 mm\"), # by the tip\n        (\"60 mm\", \"2 mm\"),\n        "
                "(\"90 mm\", "
                "\"3 mm\")\n    );\n};\n");
    expect_text(
        PAIRS, "b.d[2]", "none",
        "b: {\n    d = (\n        (\"10 mm\", \"1 mm\") # by the tip\n        # (\"60 mm\", \"2 mm\")\n    );\n};\n");
    expect_text("d = ((1, 2), [3, 4], (5, 6));", "d[2]", "(7, 8)", "d = ((1, 2), (7, 8), (5, 6));");
    expect_text("d = ((1, 2), (3, 4), (5, 6));", "d[1]", "none", "d = ((3, 4), (5, 6));");
}

Test(edit, a_row_that_is_not_there_is_refused)
{
    static const struct {
        const char *text, *key, *value;
    } rows[] = { { ROWS, "k.l[4]", "{ a = 5; }" }, { ROWS, "k.l[0]", "{ a = 5; }" },
                 { ROWS, "k.l[3].a", "1" },        { ROWS, "k.l[1]", "{ a = 5; }" },
                 { ROWS, "k.l[3]", "5" },          { "l = [1, 2];", "l[3]", "{ a = 1; }" },
                 { "l = 1;", "l[1].a", "2" },      { ROWS, "k.l[3]", "{ a = 5; }, {" },
                 { ROWS, "k.l[x]", "{ a = 5; }" }, { ROWS, "k.l[9999999999999999]", "{ a = 5; }" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *out = edited(rows[i].text, rows[i].key, rows[i].value);

        cr_expect(out == NULL, "%s = %s: %s", rows[i].key, rows[i].value, out);
        free(out);
    }
}

Test(edit, what_would_not_read_or_would_reach_farther_is_refused)
{
    static const char *const cases[][3] = {
        { "a = ;\n", "a", "1" },                                      /* the text does not read as it is */
        { "a = 1;\n", "a", "\"x" },                                   /* the value does not */
        { "a = 1;\n", "a", "1; b = 2" },                              /* the value brings a setting of its own */
        { "a = 1;\n", "a.b", "2" },                                   /* no group */
        { "a = 1;\n", "b c", "2" },                                   /* no name */
        { "a = 1;\nb = 2; /* from here\nto here */\n", "b", "none" }, /* half a comment would be left */
    };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *out = edited(cases[i][0], cases[i][1], cases[i][2]);

        cr_expect(out == NULL, "%s = %s becomes %s", cases[i][1], cases[i][2], out ? out : "");
        free(out);
    }
}

/* ---- every key, in every sample ---- */

static const char *value_for(const struct tw_key *key)
{
    static char text[80];

    if (key->example)
        return key->example;
    if (key->words)
        snprintf(text, sizeof text, "\"%s\"", key->words[0].word);
    else if (key->kind == TW_KIND_FLAG)
        snprintf(text, sizeof text, "true");
    else if (key->kind == TW_KIND_COUNT || key->kind == TW_KIND_RATIO)
        snprintf(text, sizeof text, "%g", key->least);
    else
        snprintf(text, sizeof text, "\"%g %s\"", key->most, key->unit ? key->unit : "x");
    return text;
}

/* How many settings of any kind a text holds. */
static int count_settings(const config_setting_t *setting)
{
    int count = 1;

    for (int i = 0; config_setting_is_aggregate(setting) && i < config_setting_length(setting); i++)
        count += count_settings(config_setting_get_elem(setting, (unsigned)i));
    return count;
}

static void try_key(const char *path, const char *text, const char *key, const char *value, int before)
{
    char *in = edited(text, key, value), *out = in ? edited(in, key, "none") : NULL;
    config_t config;

    config_init(&config);
    cr_expect(in && config_read_string(&config, in) == CONFIG_TRUE && config_lookup(&config, key),
              "%s: %s = %s is not there afterwards", path, key, value);
    config_destroy(&config);
    config_init(&config);
    cr_expect(out && config_read_string(&config, out) == CONFIG_TRUE && !config_lookup(&config, key) &&
                  count_settings(config_root_setting(&config)) <= before + 3,
              "%s: %s is still there", path, key);
    config_destroy(&config);
    free(in);
    free(out);
}

static void try_sample(const char *path)
{
    struct tw_text text = { 0 };
    config_t config;
    int before;

    cr_assert(eq(int, tw_file_read(path, &text, NULL), TW_OK));
    config_init(&config);
    cr_assert(config_read_string(&config, text.data) == CONFIG_TRUE);
    before = count_settings(config_root_setting(&config));
    config_destroy(&config);
    for (size_t i = 0; i < tw_group_count; i++)
        for (size_t k = 0; !tw_group_is_member(&tw_groups[i]) && k < tw_groups[i].key_count; k++) {
            char key[96];

            snprintf(key, sizeof key, "%s%s%s", tw_groups[i].path, *tw_groups[i].path ? "." : "",
                     tw_groups[i].keys[k].name);
            try_key(path, text.data, key, value_for(&tw_groups[i].keys[k]), before);
        }
    tw_text_free(&text);
}

/* One with many notes, one without, one with a survey, one with lists and several parts. */
Test(edit, every_key_goes_into_a_sample_and_out_again)
{
    try_sample("samples/starter/job.cfg");
    try_sample("samples/santoku-170/job.cfg");
    try_sample("samples/gyuto-240-bowed/job.cfg");
    try_sample("samples/utility-four/job.cfg");
}

Test(edit, no_allocation_that_fails_does_harm)
{
    const char *text = "t: {\n    a = 1;\n#   b = 5;        # why\n};\n";
    long before = blocks_in_use;
    bool done = false;

    for (long n = 0; !done && n < 400; n++) {
        char *out;

        allocations_until_failure = n;
        out = edited(text, "t.b", "2");
        done = allocations_until_failure >= 0;
        allocations_until_failure = -1;
        cr_expect(out != NULL || !done, "the last try has all memory that it wants");
        free(out);
    }
    cr_expect(done);
    cr_expect(eq(long, blocks_in_use, before), "blocks are lost");
}
