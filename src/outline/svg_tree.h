/* svg_tree.h - an SVG document as a tree of elements with their lines, attributes as they stand.
 *
 * Elements of other namespaces are left out with all they hold. Text between the tags is not kept. */
#ifndef TANGWRIGHT_OUTLINE_SVG_TREE_H
#define TANGWRIGHT_OUTLINE_SVG_TREE_H

#include "outline/reader.h"

struct tw_svg_node {
    char *name;        /* without namespace */
    char **attributes; /* name, value, name, value, ..., NULL; xlink:href counts as href */
    int line;
    struct tw_svg_node *parent, *first_child, *last_child, *next;
};

/* On success *out is the root element and the caller's; on failure NULL. */
enum tw_status tw_svg_parse(struct tw_reader *reader, struct tw_svg_node **out);

/* Value of an attribute; NULL when it is not given. */
const char *tw_svg_attribute(const struct tw_svg_node *node, const char *name);

/* The node with this id at or below `node`; NULL when there is none. */
const struct tw_svg_node *tw_svg_find(const struct tw_svg_node *node, const char *id);

void tw_svg_tree_free(struct tw_svg_node *root);

#endif
