/* svg_values.h - lengths, transforms and viewports of SVG 1.1 (W3C, 2nd edition, 2011: 4.2, 7.6 to 7.8). */
#ifndef TANGWRIGHT_OUTLINE_SVG_VALUES_H
#define TANGWRIGHT_OUTLINE_SVG_VALUES_H

#include "outline/svg_tree.h"

#define TW_SVG_MM_PER_PX (25.4 / 96.0) /* CSS: 96 px are one inch */

struct tw_svg_length {
    double value; /* px where it is absolute, else percent or as it stands */
    enum { TW_SVG_ABSENT, TW_SVG_BARE, TW_SVG_PHYSICAL, TW_SVG_PERCENT } kind;
};

struct tw_svg_view_box {
    bool given;
    double x, y, width, height;
};

/* Reads the attribute of this name; kind TW_SVG_ABSENT when it is not given. */
enum tw_status tw_svg_read_length(struct tw_reader *reader, const struct tw_svg_node *node, const char *name,
                                  struct tw_svg_length *out);

/* A length in user units; `missing` when it is not given. Percentages are refused. */
enum tw_status tw_svg_read_size(struct tw_reader *reader, const struct tw_svg_node *node, const char *name,
                                double missing, double *out);

enum tw_status tw_svg_read_view_box(struct tw_reader *reader, const struct tw_svg_node *node,
                                    struct tw_svg_view_box *out);

/* The node's "transform"; the identity when it has none. */
enum tw_status tw_svg_read_transform(struct tw_reader *reader, const struct tw_svg_node *node, struct tw_affine *out);

/* From view box units to a viewport of this size at the origin, after preserveAspectRatio. */
enum tw_status tw_svg_fit(struct tw_reader *reader, const struct tw_svg_node *node, const struct tw_svg_view_box *box,
                          double width, double height, struct tw_affine *out);

/* Does a style property, given in "style" or as an attribute, have this value? */
bool tw_svg_property_is(const struct tw_svg_node *node, const char *property, const char *value);

/* Is it given at all? */
bool tw_svg_has_property(const struct tw_svg_node *node, const char *property);

/* Past blanks and at most one comma between them. */
void tw_svg_skip_comma(struct tw_scan *scan);

/* A scan over an attribute's value; its line stays the element's. */
struct tw_scan tw_svg_scan(const struct tw_svg_node *node, const char *value);

#endif
