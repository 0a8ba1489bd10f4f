/* dxf_groups.h - the lowest level of an ASCII exchange drawing: pairs of lines, a code and its value.
 *
 * Text stays where it was read; a group points into it. An entity's groups live in a buffer that the next
 * entity reuses. */
#ifndef TANGWRIGHT_OUTLINE_DXF_GROUPS_H
#define TANGWRIGHT_OUTLINE_DXF_GROUPS_H

#include "outline/reader.h"

struct tw_dxf_group {
    int code;
    const char *value; /* blanks at both ends cut off; not terminated */
    size_t length;
    int line; /* of the value */
};

struct tw_dxf_entity {
    struct tw_dxf_group head; /* code 0 and the entity's name */
    struct tw_dxf_group *groups;
    size_t count, capacity;
};

/* The next group. At the end of the file *out has the code -1, and that is no fault here. */
enum tw_status tw_dxf_next(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_group *out);

/* Reads the groups up to the next code 0, which stays unread. `head` must be the code 0 just read. */
enum tw_status tw_dxf_read_entity(struct tw_reader *reader, struct tw_scan *scan, const struct tw_dxf_group *head,
                                  struct tw_dxf_entity *out);

bool tw_dxf_is(const struct tw_dxf_group *group, const char *value);

/* The value as a number or a whole number. */
enum tw_status tw_dxf_number(struct tw_reader *reader, const struct tw_dxf_group *group, double *out);
enum tw_status tw_dxf_integer(struct tw_reader *reader, const struct tw_dxf_group *group, int *out);

/* First group of the entity with this code; NULL when there is none. */
const struct tw_dxf_group *tw_dxf_find(const struct tw_dxf_entity *entity, int code);

/* The number with this code; `missing` when it is not given. */
enum tw_status tw_dxf_get(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, double missing,
                          double *out);
enum tw_status tw_dxf_get_integer(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, int missing,
                                  int *out);

/* The place with x in `code` and y in code + 10; both must be given. */
enum tw_status tw_dxf_place(struct tw_reader *reader, const struct tw_dxf_entity *entity, int code, struct tw_vec *out);

#endif
