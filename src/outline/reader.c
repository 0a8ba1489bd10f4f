/* reader.c - units, numbers and labels, as all readers treat them. */
#include "outline/reader.h"

#include <stdio.h>
#include <string.h>

struct tw_place tw_reader_place(const struct tw_reader *reader, int line)
{
    return (struct tw_place){ .file = reader->drawing->path, .line = line };
}

enum tw_status tw_reader_unit_from_job(struct tw_reader *reader, const char *format_name)
{
    double unit_mm = reader->drawing->unit_mm;

    if (!(unit_mm > 0.0))
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, 0),
                       "%s does not say how long its unit is; add outline.unit to the job, "
                       "for example unit = \"1 mm\"; or unit = \"1 in\";",
                       format_name);
    reader->sketch->x_mm_per_unit = reader->sketch->y_mm_per_unit = unit_mm;
    reader->pen.to_mm = tw_affine_scale(unit_mm, unit_mm);
    return TW_OK;
}

enum tw_status tw_reader_unit_from_drawing(struct tw_reader *reader, int line, double mm_per_unit, const char *how)
{
    double wanted_mm = reader->drawing->unit_mm;

    /* A thousandth lets a rounded factor pass, such as 0.2646 mm for a ninety-sixth of an inch. */
    if (wanted_mm > 0.0 && fabs(wanted_mm / mm_per_unit - 1.0) > 1e-3)
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, line),
                       "the drawing says that its unit is %.6g mm (%s), but outline.unit in the job says %.6g mm; "
                       "take outline.unit out of the job, or correct the drawing",
                       mm_per_unit, how, wanted_mm);
    reader->sketch->x_mm_per_unit = reader->sketch->y_mm_per_unit = mm_per_unit;
    snprintf(reader->sketch->unit_name, sizeof reader->sketch->unit_name, "%s", how);
    reader->pen.to_mm = tw_affine_scale(mm_per_unit, mm_per_unit);
    return TW_OK;
}

enum tw_status tw_reader_number_fault(struct tw_reader *reader, const struct tw_scan *scan, enum tw_scanned scanned,
                                      const char *what)
{
    struct tw_place at = tw_reader_place(reader, scan->line);
    char seen[40];

    if (scanned == TW_SCAN_LONG_NUMBER)
        return tw_fail(reader->findings, TW_BAD_INPUT, at, "%s has more than %d characters, beginning %s; round it",
                       what, TW_SCAN_LONGEST_NUMBER, tw_scan_seen(scan, seen));
    if (scanned == TW_SCAN_LARGE_NUMBER)
        return tw_fail(reader->findings, TW_BAD_INPUT, at, "%s is too large to be a length: %s", what,
                       tw_scan_seen(scan, seen));
    return tw_fail(reader->findings, TW_BAD_INPUT, at, "%s should be a number such as 12.5, but here stands %s", what,
                   tw_scan_seen(scan, seen));
}

static bool listed(const char *list, const char *label)
{
    size_t length = strlen(label);

    while (*list) {
        size_t item = strcspn(list, ","), blank = strspn(list, " ");

        if (blank > item)
            blank = item;
        while (item > blank && list[item - 1] == ' ')
            item--;
        if (item - blank == length && strncmp(list + blank, label, length) == 0)
            return true;
        list += strcspn(list, ",");
        list += *list == ',';
    }
    return false;
}

bool tw_reader_picks(struct tw_reader *reader, const char *label)
{
    const char *pick = reader->drawing->pick;

    if (!pick)
        return true;
    if (!label || (strcmp(pick, label) != 0 && !listed(pick, label)))
        return false;
    reader->pick_seen = true;
    return true;
}

void tw_reader_pick_nothing(struct tw_reader *reader, const char *format_name)
{
    reader->pen.picked = true;
    if (reader->drawing->pick)
        tw_remark(
            reader->findings, tw_reader_place(reader, 0),
            "outline.pick asks for \"%.60s\", but nothing in %s has a name: all of it counts; take outline.pick out "
            "of the job",
            reader->drawing->pick, format_name);
}
