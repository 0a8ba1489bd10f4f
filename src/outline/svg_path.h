/* svg_path.h - path data of SVG 1.1 (W3C, 2nd edition, 2011: 8.3 and appendix F.6), drawn by the pen. */
#ifndef TANGWRIGHT_OUTLINE_SVG_PATH_H
#define TANGWRIGHT_OUTLINE_SVG_PATH_H

#include "outline/svg_values.h"

/* Draws what the attribute "d" says. */
enum tw_status tw_svg_draw_path(struct tw_reader *reader, const struct tw_svg_node *node, const char *data);

#endif
