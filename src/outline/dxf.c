/* dxf.c - ASCII exchange drawings: sections, layers, blocks, the unit, and the walk over the entities.
 *
 * A first walk over the whole file notes where things stand; a second one draws the entities. A block is
 * drawn where it is inserted, by walking its part of the text again. */
#include "outline/dxf_entities.h"

#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEEPEST_INSERT  16
#define MOST_INSERTS    100000
#define MOST_KINDS_LEFT 64
#define MOST_GROUPS     ((size_t)50000000) /* read while drawing, those of a block at each insertion */

struct block {
    const char *name;
    size_t length;
    struct tw_vec base;
    struct tw_scan content; /* where its first entity begins */
};

struct layer {
    const char *name;
    size_t length;
};

struct left_aside {
    const char *name;
    size_t length, count;
};

struct dxf {
    struct tw_reader *reader;
    struct tw_dxf_entity entity; /* its buffer serves every entity in turn */
    struct tw_scan entities;
    bool has_entities;
    int unit_code, unit_line;
    struct block *blocks;
    size_t block_count, block_capacity;
    struct layer *hidden_layers;
    size_t hidden_layer_count, hidden_layer_capacity;
    struct left_aside left[MOST_KINDS_LEFT];
    size_t left_count, hidden_count, insert_count, groups_read;
};

/* What an insertion hands down. */
struct surroundings {
    struct tw_affine world;
    struct tw_dxf_group layer; /* of the insertion: layer 0 inside a block stands for it */
    int depth;
};

static enum tw_status dxf_fault(struct dxf *dxf, int line, const char *sentence)
{
    return tw_fail(dxf->reader->findings, TW_BAD_INPUT, tw_reader_place(dxf->reader, line), "%s", sentence);
}

static enum tw_status cut_off(struct dxf *dxf, int line)
{
    return dxf_fault(dxf, line, "the drawing ends inside a section; it is cut off, export it again");
}

static enum tw_status read_header(struct dxf *dxf, struct tw_scan *scan)
{
    struct tw_dxf_group group, name = { .value = "" };
    enum tw_status status;

    for (;;) {
        status = tw_dxf_next(dxf->reader, scan, &group);
        if (status != TW_OK)
            return status;
        if (group.code == -1)
            return cut_off(dxf, group.line);
        if (group.code == 0)
            return tw_dxf_is(&group, "ENDSEC") ? TW_OK
                                               : dxf_fault(dxf, group.line, "the header should end with ENDSEC");
        if (group.code == 9)
            name = group;
        if (group.code == 70 && tw_dxf_is(&name, "$INSUNITS")) {
            status = tw_dxf_integer(dxf->reader, &group, &dxf->unit_code);
            dxf->unit_line = group.line;
            if (status != TW_OK)
                return status;
        }
    }
}

static enum tw_status note_layer(struct dxf *dxf)
{
    const struct tw_dxf_group *name = tw_dxf_find(&dxf->entity, 2);
    int flags, colour;
    enum tw_status status = tw_dxf_get_integer(dxf->reader, &dxf->entity, 70, 0, &flags);

    if (status == TW_OK)
        status = tw_dxf_get_integer(dxf->reader, &dxf->entity, 62, 7, &colour);
    /* 1: frozen; a colour below zero: switched off */
    if (status != TW_OK || !name || (!(flags & 1) && colour >= 0))
        return status;
    if (!tw_grow((void **)&dxf->hidden_layers, &dxf->hidden_layer_capacity, dxf->hidden_layer_count + 1,
                 sizeof *dxf->hidden_layers))
        return tw_no_memory(dxf->reader->findings);
    dxf->hidden_layers[dxf->hidden_layer_count++] = (struct layer){ name->value, name->length };
    return TW_OK;
}

static enum tw_status note_block(struct dxf *dxf, const struct tw_scan *scan)
{
    const struct tw_dxf_group *name = tw_dxf_find(&dxf->entity, 2);
    struct block block = { .content = *scan };
    enum tw_status status;

    if (!name)
        return dxf_fault(dxf, dxf->entity.head.line, "BLOCK has no name in group 2; export the drawing again");
    block.name = name->value;
    block.length = name->length;
    status = tw_dxf_get(dxf->reader, &dxf->entity, 10, 0.0, &block.base.x);
    if (status == TW_OK)
        status = tw_dxf_get(dxf->reader, &dxf->entity, 20, 0.0, &block.base.y);
    if (status != TW_OK)
        return status;
    if (!tw_grow((void **)&dxf->blocks, &dxf->block_capacity, dxf->block_count + 1, sizeof *dxf->blocks))
        return tw_no_memory(dxf->reader->findings);
    dxf->blocks[dxf->block_count++] = block;
    return TW_OK;
}

/* Walks over a section's records to its ENDSEC and notes layers and blocks. */
static enum tw_status read_records(struct dxf *dxf, struct tw_scan *scan)
{
    for (;;) {
        struct tw_dxf_group head;
        enum tw_status status = tw_dxf_next(dxf->reader, scan, &head);

        if (status != TW_OK)
            return status;
        if (head.code == -1)
            return cut_off(dxf, head.line);
        if (head.code != 0) /* left over from the section's own head */
            continue;
        if (tw_dxf_is(&head, "ENDSEC"))
            return TW_OK;
        if (tw_dxf_is(&head, "SECTION") || tw_dxf_is(&head, "EOF"))
            return dxf_fault(dxf, head.line,
                             "a section is not ended by ENDSEC; the drawing is damaged, export it again");
        status = tw_dxf_read_entity(dxf->reader, scan, &head, &dxf->entity);
        if (status == TW_OK && tw_dxf_is(&head, "LAYER"))
            status = note_layer(dxf);
        if (status == TW_OK && tw_dxf_is(&head, "BLOCK"))
            status = note_block(dxf, scan);
        if (status != TW_OK)
            return status;
    }
}

static enum tw_status read_section(struct dxf *dxf, struct tw_scan *scan)
{
    struct tw_dxf_group name;
    enum tw_status status = tw_dxf_next(dxf->reader, scan, &name);

    if (status != TW_OK)
        return status;
    if (name.code != 2)
        return dxf_fault(dxf, name.line, "the name of a section (group 2) should stand after SECTION");
    if (tw_dxf_is(&name, "HEADER"))
        return read_header(dxf, scan);
    if (tw_dxf_is(&name, "ENTITIES")) {
        dxf->entities = *scan;
        dxf->has_entities = true;
    }
    return read_records(dxf, scan);
}

static enum tw_status note_everything(struct dxf *dxf)
{
    struct tw_scan scan = { dxf->reader->text, dxf->reader->text + dxf->reader->length, 1 };

    for (;;) {
        struct tw_dxf_group group;
        enum tw_status status = tw_dxf_next(dxf->reader, &scan, &group);

        if (status != TW_OK)
            return status;
        if (group.code == 999)
            continue;
        if (group.code == -1 && dxf->has_entities) {
            tw_remark(dxf->reader->findings, tw_reader_place(dxf->reader, group.line),
                      "the drawing does not end with EOF; see whether it is whole");
            return TW_OK;
        }
        if (group.code == 0 && tw_dxf_is(&group, "EOF"))
            return TW_OK;
        if (group.code != 0 || !tw_dxf_is(&group, "SECTION"))
            return dxf_fault(dxf, group.line,
                             "SECTION or EOF should stand here; is this an ASCII DXF drawing, and whole?");
        status = read_section(dxf, &scan);
        if (status != TW_OK)
            return status;
    }
}

static const struct {
    int code;
    double mm;
    const char *name;
} units[] = {
    { 1, 25.4, "inch" },        { 2, 304.8, "foot" },        { 4, 1.0, "millimetre" }, { 5, 10.0, "centimetre" },
    { 6, 1000.0, "metre" },     { 8, 2.54e-5, "microinch" }, { 9, 0.0254, "mil" },     { 10, 914.4, "yard" },
    { 13, 1e-3, "micrometre" }, { 14, 100.0, "decimetre" },
};

static enum tw_status find_unit(struct dxf *dxf)
{
    char how[64];

    if (dxf->unit_code == 0)
        return tw_reader_unit_from_job(dxf->reader, "a DXF drawing without $INSUNITS");
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].code == dxf->unit_code) {
            snprintf(how, sizeof how, "$INSUNITS %d, %s", dxf->unit_code, units[i].name);
            return tw_reader_unit_from_drawing(dxf->reader, dxf->unit_line, units[i].mm, how);
        }
    return tw_fail(dxf->reader->findings, TW_BAD_INPUT, tw_reader_place(dxf->reader, dxf->unit_line),
                   "$INSUNITS is %d, which no knife is drawn in; 1 is inch, 4 is millimetre, 0 leaves it to the job",
                   dxf->unit_code);
}

/* Entities that draw no outline. */
static bool draws_nothing(const struct tw_dxf_group *name)
{
    static const char *const names[] = {
        "TEXT",   "MTEXT",   "ATTRIB",      "ATTDEF",      "DIMENSION",   "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION",
        "LEADER", "MLEADER", "MULTILEADER", "TOLERANCE",   "POINT",       "HATCH",         "VIEWPORT",
        "IMAGE",  "WIPEOUT", "RAY",         "XLINE",       "ACAD_TABLE",  "OLEFRAME",      "OLE2FRAME",
        "LIGHT",  "SUN",     "PDFUNDERLAY", "DWFUNDERLAY", "DGNUNDERLAY",
    };

    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (tw_dxf_is(name, names[i]))
            return true;
    return false;
}

static void leave_aside(struct dxf *dxf, const struct tw_dxf_group *name)
{
    size_t i = 0;

    while (i < dxf->left_count &&
           (dxf->left[i].length != name->length || strncmp(dxf->left[i].name, name->value, name->length) != 0))
        i++;
    if (i == MOST_KINDS_LEFT)
        return;
    if (i == dxf->left_count)
        dxf->left[dxf->left_count++] = (struct left_aside){ name->value, name->length, 0 };
    dxf->left[i].count++;
}

static bool is_hidden(const struct dxf *dxf, const struct tw_dxf_group *layer)
{
    const struct tw_dxf_group *space = tw_dxf_find(&dxf->entity, 67), *visible = tw_dxf_find(&dxf->entity, 60);

    if ((space && tw_dxf_is(space, "1")) || (visible && tw_dxf_is(visible, "1")))
        return true; /* on the paper around the drawing, or switched off */
    for (size_t i = 0; i < dxf->hidden_layer_count; i++)
        if (dxf->hidden_layers[i].length == layer->length &&
            strncmp(dxf->hidden_layers[i].name, layer->value, layer->length) == 0)
            return true;
    return false;
}

static enum tw_status walk(struct dxf *dxf, struct tw_scan scan, const struct surroundings *around);

struct insertion {
    const struct block *block;
    struct tw_affine plane;
    struct tw_vec at;
    double scale_x, scale_y, turn_deg, step_x, step_y;
    int columns, rows;
};

static const struct block *find_block(const struct dxf *dxf, const struct tw_dxf_group *name)
{
    for (size_t i = 0; i < dxf->block_count && name; i++)
        if (dxf->blocks[i].length == name->length && strncmp(dxf->blocks[i].name, name->value, name->length) == 0)
            return &dxf->blocks[i];
    return NULL;
}

static enum tw_status read_insertion(struct dxf *dxf, struct insertion *out)
{
    struct tw_reader *reader = dxf->reader;
    const struct tw_dxf_entity *entity = &dxf->entity;
    const struct tw_dxf_group *name = tw_dxf_find(entity, 2);
    const struct {
        int code;
        double missing, *out;
    } numbers[] = { { 41, 1.0, &out->scale_x },
                    { 42, 1.0, &out->scale_y },
                    { 50, 0.0, &out->turn_deg },
                    { 44, 0.0, &out->step_x },
                    { 45, 0.0, &out->step_y } };
    enum tw_status status = tw_dxf_plane(reader, entity, &out->plane);

    if (status == TW_OK)
        status = tw_dxf_place(reader, entity, 10, &out->at);
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers && status == TW_OK; i++)
        status = tw_dxf_get(reader, entity, numbers[i].code, numbers[i].missing, numbers[i].out);
    if (status == TW_OK)
        status = tw_dxf_get_integer(reader, entity, 70, 1, &out->columns);
    if (status == TW_OK)
        status = tw_dxf_get_integer(reader, entity, 71, 1, &out->rows);
    if (status != TW_OK)
        return status;
    out->block = find_block(dxf, name);
    if (out->block)
        return TW_OK;
    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line),
                   "INSERT asks for the block \"%.*s\", which the drawing does not hold; bind or explode it",
                   name ? (int)(name->length < 60 ? name->length : 60) : 0, name ? name->value : "");
}

static struct tw_affine insertion_map(const struct insertion *in, const struct tw_affine *world, int column, int row)
{
    struct tw_affine map = tw_affine_after(tw_affine_scale(in->scale_x, in->scale_y),
                                           tw_affine_move(-in->block->base.x, -in->block->base.y));

    map = tw_affine_after(tw_affine_move(column * in->step_x, row * in->step_y), map);
    map = tw_affine_after(tw_affine_turn(in->turn_deg * 3.14159265358979323846 / 180.0), map);
    map = tw_affine_after(tw_affine_move(in->at.x, in->at.y), map);
    return tw_affine_after(*world, tw_affine_after(in->plane, map));
}

static enum tw_status draw_insertion(struct dxf *dxf, const struct surroundings *around,
                                     const struct tw_dxf_group *layer)
{
    struct surroundings inside = { .layer = *layer, .depth = around->depth + 1 };
    struct insertion in;
    int line = dxf->entity.head.line;
    enum tw_status status = read_insertion(dxf, &in);

    if (status != TW_OK)
        return status;
    /* The format lets a count of 0 stand for one. */
    in.columns = in.columns < 1 ? 1 : in.columns;
    in.rows = in.rows < 1 ? 1 : in.rows;
    if (inside.depth > DEEPEST_INSERT)
        return dxf_fault(dxf, line, "INSERT stands more than 16 blocks deep; does a block hold itself?");
    for (int row = 0; row < in.rows && status == TW_OK; row++)
        for (int column = 0; column < in.columns && status == TW_OK; column++) {
            if (++dxf->insert_count > MOST_INSERTS)
                return dxf_fault(dxf, line, "INSERT draws more than 100000 blocks; explode the drawing");
            inside.world = insertion_map(&in, &around->world, column, row);
            status = walk(dxf, in.block->content, &inside);
        }
    return status;
}

static void name_layer(struct dxf *dxf, const struct tw_dxf_group *layer, char *out, size_t room)
{
    snprintf(out, room, "%.*s", (int)(layer->length < room ? layer->length : room - 1), layer->value);
    dxf->reader->pen.label = out;
    dxf->reader->pen.picked = tw_reader_picks(dxf->reader, out);
}

/* The entity whose head and groups were just read. */
static enum tw_status draw_entity(struct dxf *dxf, struct tw_scan *scan, const struct surroundings *around)
{
    static const struct tw_dxf_group zero = { .code = 8, .value = "0", .length = 1 };
    const struct tw_dxf_group *found = tw_dxf_find(&dxf->entity, 8);
    struct tw_dxf_group layer = found ? *found : zero, head = dxf->entity.head;
    char label[256];
    bool known;
    enum tw_status status;

    if (tw_dxf_is(&layer, "0") && around->depth > 0)
        layer = around->layer;
    if (tw_dxf_is(&head, "VERTEX") || tw_dxf_is(&head, "SEQEND")) /* of something left aside */
        return TW_OK;
    if (is_hidden(dxf, &layer)) {
        dxf->hidden_count++;
        return TW_OK;
    }
    if (draws_nothing(&head)) {
        leave_aside(dxf, &head);
        return TW_OK;
    }
    if (tw_dxf_is(&head, "INSERT"))
        return draw_insertion(dxf, around, &layer);
    name_layer(dxf, &layer, label, sizeof label);
    status = tw_dxf_draw(dxf->reader, scan, &dxf->entity, &around->world, &known);
    dxf->reader->pen.label = NULL;
    if (status != TW_OK || known)
        return status;
    return tw_fail(dxf->reader->findings, TW_BAD_INPUT, tw_reader_place(dxf->reader, head.line),
                   "%.*s is not read; explode it to LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE or POLYLINE",
                   (int)(head.length < 60 ? head.length : 60), head.value);
}

/* Draws what stands from `scan` to the end of its section or block. */
static enum tw_status walk(struct dxf *dxf, struct tw_scan scan, const struct surroundings *around)
{
    for (;;) {
        struct tw_dxf_group head;
        enum tw_status status = tw_dxf_next(dxf->reader, &scan, &head);

        if (status != TW_OK)
            return status;
        if (head.code != 0)
            continue;
        if (tw_dxf_is(&head, "ENDSEC") || tw_dxf_is(&head, "ENDBLK"))
            return TW_OK;
        status = tw_dxf_read_entity(dxf->reader, &scan, &head, &dxf->entity);
        dxf->groups_read += dxf->entity.count + 1;
        if (status == TW_OK && dxf->groups_read > MOST_GROUPS)
            status = dxf_fault(dxf, head.line, "the drawing with all its blocks is too large; explode and simplify it");
        if (status == TW_OK)
            status = draw_entity(dxf, &scan, around);
        if (status != TW_OK)
            return status;
    }
}

static void say_what_was_left(struct dxf *dxf)
{
    struct tw_place at = tw_reader_place(dxf->reader, 0);

    for (size_t i = 0; i < dxf->left_count; i++)
        tw_remark(dxf->reader->findings, at, "%zu %.*s left aside: it draws no outline", dxf->left[i].count,
                  (int)dxf->left[i].length, dxf->left[i].name);
    if (dxf->hidden_count > 0)
        tw_remark(dxf->reader->findings, at,
                  "%zu entities left aside: they are frozen, switched off or on the paper around the drawing",
                  dxf->hidden_count);
}

static enum tw_status draw_everything(struct dxf *dxf)
{
    struct surroundings around = { .depth = 0 };
    enum tw_status status = note_everything(dxf);

    if (status == TW_OK)
        status = find_unit(dxf);
    if (status != TW_OK)
        return status;
    if (!dxf->has_entities)
        return dxf_fault(dxf, 0, "the drawing has no ENTITIES section; export it again");
    around.world = dxf->reader->pen.to_mm;
    status = walk(dxf, dxf->entities, &around);
    if (status == TW_OK)
        say_what_was_left(dxf);
    return status;
}

enum tw_status tw_read_dxf(struct tw_reader *reader)
{
    static const char binary[] = "AutoCAD Binary DXF", packed[] = "AC10";
    struct dxf dxf = { .reader = reader };
    enum tw_status status;

    if (strncmp(reader->text, binary, sizeof binary - 1) == 0)
        return dxf_fault(&dxf, 0, "this is a binary DXF drawing; export it as ASCII DXF");
    if (strncmp(reader->text, packed, sizeof packed - 1) == 0)
        return dxf_fault(&dxf, 0, "this is a DWG drawing; export it as ASCII DXF");
    reader->sketch->by_layer = true;
    status = draw_everything(&dxf);
    free(dxf.entity.groups);
    free(dxf.blocks);
    free(dxf.hidden_layers);
    return status;
}
