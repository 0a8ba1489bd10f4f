/* dxf_entities.h - draws one entity of an exchange drawing. */
#ifndef TANGWRIGHT_OUTLINE_DXF_ENTITIES_H
#define TANGWRIGHT_OUTLINE_DXF_ENTITIES_H

#include "outline/dxf_groups.h"

/* Draws the entity at hand; for a POLYLINE also reads the vertices that follow in `scan`, into the entity.
 * `world` maps the drawing's coordinates to mm. *known is false when no such entity is drawn here. */
enum tw_status tw_dxf_draw(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_entity *entity,
                           const struct tw_affine *world, bool *known);

/* From the entity's own plane to the drawing's: the mirror when it is seen from below, group 210 = 0, 0, -1.
 * Any other slant is refused. */
enum tw_status tw_dxf_plane(struct tw_reader *reader, const struct tw_dxf_entity *entity, struct tw_affine *out);

#endif
