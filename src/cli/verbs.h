/* verbs.h - what the program can be asked to do. */
#ifndef TANGWRIGHT_CLI_VERBS_H
#define TANGWRIGHT_CLI_VERBS_H

#include "cli/options.h"
#include "tangwright/gauge.h"
#include "tangwright/proven.h"
#include "tangwright/sheet.h"

enum tw_status verb_new(const struct options *options, struct tw_findings *findings);
enum tw_status verb_check(const struct options *options, struct tw_findings *findings);
enum tw_status verb_preview(const struct options *options, struct tw_findings *findings);
enum tw_status verb_plan(const struct options *options, struct tw_findings *findings);
enum tw_status verb_dry_run(const struct options *options, struct tw_findings *findings);
enum tw_status verb_profiles(const struct options *options, struct tw_findings *findings);
enum tw_status verb_calibrate(const struct options *options, struct tw_findings *findings);
enum tw_status verb_straighten(const struct options *options, struct tw_findings *findings);
/* gauge of a run; 0 where the command line does not tell. With --roughed, of the parts of its next load. */
enum tw_status verb_gauge_roughed(const struct options *options, double gauge_mm, struct tw_findings *findings);
enum tw_status verb_gauge_run(const struct options *options, double gauge_mm, double tolerance_mm,
                              struct tw_findings *findings);
/* The readings that the run's record holds, weighed anew; nothing is read or shown. */
struct tw_run_request;
enum tw_status verb_gauge_anew(const struct options *options, const struct tw_run_request *request,
                               struct tw_findings *findings);
/* The job of a run whose record is asked for or added to. What there is to remark of the job was said when the run was planned. */
enum tw_status verb_read_run_job(const struct tw_run_request *request, struct tw_job *out,
                                 struct tw_findings *findings);
/* Whether a line before reading `i` names the same part at the same station. */
bool verb_is_part_again(const struct tw_gaugings *readings, size_t i);
/* The newest gauged load, where its parts are farther off than any machine, or, unexplained, most of their readings miss
 * the tolerance by what no correction takes away; 0: neither, or none is gauged. */
struct run_record;
enum tw_status verb_gauge_far_off(const struct tw_run_request *request, const struct run_record *record, int *load,
                                  bool *unexplained, struct tw_findings *findings);
/* TW_DO_NOT_CUT with a sentence on such a load. */
enum tw_status verb_fail_far_off(const struct tw_run_request *request, int load, bool unexplained,
                                 struct tw_findings *findings);
enum tw_status verb_run(const struct options *options, struct tw_findings *findings);
enum tw_status verb_fixture(const struct options *options, struct tw_findings *findings);
enum tw_status verb_balance(const struct options *options, struct tw_findings *findings);
enum tw_status verb_gauge(const struct options *options, struct tw_findings *findings);
enum tw_status verb_bench(const struct options *options, struct tw_findings *findings);
enum tw_status verb_compare(const struct options *options, struct tw_findings *findings);

/* What `new` writes, into a folder that is there or not; it never overwrites. */
enum tw_status verb_write_starter(const char *folder, struct tw_findings *findings);

/* tw_proven_make() and tw_verdict_make(), with a line of progress on a terminal. */
enum tw_status verb_plan_job(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings);
enum tw_status verb_prove(const struct tw_job *job, const struct tw_card *cards, size_t count,
                          struct tw_verdict_settings settings, struct tw_verdict *out, struct tw_findings *findings);

/* Before anything is worked out: the files that options name may be written, and none of them is read by the same command or
 * written twice. */
enum tw_status verb_check_outputs(const struct verb *verb, const struct options *options, struct tw_findings *findings);

/* Whether the FILE of an option means standard output: - or /dev/stdout. */
bool verb_is_output(const char *path);

/* To standard output, what could steer a terminal made visible (base/plain.h). Lines stay lines. */
void verb_print(const char *text);

/* To the FILE of an option, or - for standard output. */
enum tw_status verb_write_text(const char *path, const char *text, struct tw_findings *findings);

/* --sheet FILE, or - for standard output. */
enum tw_status verb_write_sheet(const char *path, const struct tw_sheet *sheet, struct tw_findings *findings);

/* A length given as an option's value, above 0 and at most `most_mm`. */
enum tw_status verb_read_length(const char *option, const char *text, double most_mm, double *out_mm,
                                struct tw_findings *findings);

/* Ends a verb that has made its answer, if `status` is TW_OK: json, where one was asked for, to its file, and the table to
 * standard output unless the json goes there. Takes both over. */
enum tw_status verb_show(const struct options *options, enum tw_status status, char *table, char *json,
                         struct tw_findings *findings);

#endif
