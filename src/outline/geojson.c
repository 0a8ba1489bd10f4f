/* geojson.c - GeoJSON (RFC 7946). Positions are taken as plain x and y in the job's unit, not as degrees. */
#include "base/memory.h"
#include "outline/json_line.h"
#include "outline/reader.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

/* Finding a ring's line walks the text from its start, so only the first rings are told theirs. */
#define MOST_RINGS_WITH_LINES 32

struct geojson {
    struct tw_reader *reader;
    struct tw_json_step path[TW_DRAWING_DEEPEST];
    size_t depth, rings, ignored_points;
    const char *name; /* of the feature being read */
    bool picked;
    char id[32]; /* an id that is a number, as text */
};

static int line_here(const struct geojson *g)
{
    return tw_json_line(g->reader->text, g->reader->length, g->path, g->depth);
}

static struct tw_place place_here(const struct geojson *g)
{
    return tw_reader_place(g->reader, line_here(g));
}

static enum tw_status fault_here(struct geojson *g, const char *sentence)
{
    return tw_fail(g->reader->findings, TW_BAD_INPUT, place_here(g), "%s", sentence);
}

/* Every descent passes here, so that the nesting is bounded in one place. */
static enum tw_status enter(struct geojson *g, const char *key, size_t index)
{
    if (g->depth == TW_DRAWING_DEEPEST)
        return fault_here(g, "the drawing is nested deeper than 256 levels; take its geometry out of the collections");
    g->path[g->depth++] = (struct tw_json_step){ key, index };
    return TW_OK;
}

static enum tw_status read_coordinate(struct geojson *g, const json_t *position, size_t index, double *out)
{
    const json_t *value = json_array_get(position, index);

    if (!json_is_number(value))
        return fault_here(g, "a position should be two numbers, such as [12.5, 3.0]");
    *out = json_number_value(value);
    return TW_OK;
}

static enum tw_status read_position(struct geojson *g, const json_t *position, size_t index, struct tw_vec *out)
{
    enum tw_status status = enter(g, NULL, index);

    if (status != TW_OK)
        return status;
    if (!json_is_array(position) || json_array_size(position) < 2)
        status = fault_here(g, "a position should be two numbers, such as [12.5, 3.0]");
    if (status == TW_OK)
        status = read_coordinate(g, position, 0, &out->x);
    if (status == TW_OK)
        status = read_coordinate(g, position, 1, &out->y);
    g->depth--;
    return status;
}

static enum tw_status read_line(struct geojson *g, const json_t *line, enum tw_role role)
{
    struct tw_pen *pen = &g->reader->pen;

    if (!json_is_array(line) || json_array_size(line) == 0)
        return fault_here(g, "a ring should be an array of positions, such as [[0, 0], [100, 0], [100, 25], [0, 0]]");
    pen->line = g->rings++ < MOST_RINGS_WITH_LINES ? line_here(g) : 0;
    pen->label = g->name;
    pen->picked = g->picked;
    pen->role = role;
    for (size_t i = 0; i < json_array_size(line); i++) {
        struct tw_vec at;
        enum tw_status status = read_position(g, json_array_get(line, i), i, &at);

        if (status != TW_OK)
            return status;
        if (i == 0)
            tw_pen_move(pen, at);
        else
            tw_pen_line(pen, at);
        if (pen->status != TW_OK)
            return pen->status;
    }
    tw_pen_end(pen, false); /* RFC 7946, 3.1.6: a ring repeats its first position */
    return pen->status;
}

static enum tw_status read_lines(struct geojson *g, const json_t *lines, bool polygon)
{
    enum tw_status status = TW_OK;

    if (!json_is_array(lines) || json_array_size(lines) == 0)
        return fault_here(g, polygon ? "a polygon should be an array of rings, the outer one first"
                                     : "this should be an array of lines");
    for (size_t i = 0; i < json_array_size(lines) && status == TW_OK; i++) {
        enum tw_role role = !polygon ? TW_ROLE_ANY : i == 0 ? TW_ROLE_OUTER : TW_ROLE_HOLE;

        status = enter(g, NULL, i);
        if (status == TW_OK) {
            status = read_line(g, json_array_get(lines, i), role);
            g->depth--;
        }
    }
    return status;
}

static enum tw_status read_polygons(struct geojson *g, const json_t *polygons)
{
    enum tw_status status = TW_OK;

    if (!json_is_array(polygons) || json_array_size(polygons) == 0)
        return fault_here(g, "a MultiPolygon should be an array of polygons");
    for (size_t i = 0; i < json_array_size(polygons) && status == TW_OK; i++) {
        status = enter(g, NULL, i);
        if (status == TW_OK) {
            status = read_lines(g, json_array_get(polygons, i), true);
            g->depth--;
        }
    }
    return status;
}

static enum tw_status read_coordinates(struct geojson *g, const json_t *object, const char *type)
{
    const json_t *coordinates = json_object_get(object, "coordinates");
    enum tw_status status;

    if (!coordinates)
        return fault_here(g, "this geometry has no \"coordinates\"");
    status = enter(g, "coordinates", 0);
    if (status != TW_OK)
        return status;
    if (strcmp(type, "Polygon") == 0)
        status = read_lines(g, coordinates, true);
    else if (strcmp(type, "MultiPolygon") == 0)
        status = read_polygons(g, coordinates);
    else if (strcmp(type, "LineString") == 0)
        status = read_line(g, coordinates, TW_ROLE_ANY);
    else
        status = read_lines(g, coordinates, false);
    g->depth--;
    return status;
}

static enum tw_status read_object(struct geojson *g, const json_t *object);

static enum tw_status read_members(struct geojson *g, const json_t *object, const char *key)
{
    const json_t *members = json_object_get(object, key);
    enum tw_status status;

    if (!json_is_array(members))
        return tw_fail(g->reader->findings, TW_BAD_INPUT, place_here(g), "this collection needs an array \"%s\"", key);
    status = enter(g, key, 0);
    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < json_array_size(members) && status == TW_OK; i++) {
        status = enter(g, NULL, i);
        if (status == TW_OK) {
            status = read_object(g, json_array_get(members, i));
            g->depth--;
        }
    }
    g->depth--;
    return status;
}

static const char *id_of(struct geojson *g, const json_t *feature)
{
    const json_t *id = json_object_get(feature, "id");

    if (json_is_integer(id)) {
        snprintf(g->id, sizeof g->id, "%" JSON_INTEGER_FORMAT, json_integer_value(id));
        return g->id;
    }
    return json_string_value(id);
}

/* A feature answers to its id and to the property "name". */
static enum tw_status read_feature(struct geojson *g, const json_t *feature)
{
    const char *id = id_of(g, feature);
    const char *name = json_string_value(json_object_get(json_object_get(feature, "properties"), "name"));
    const json_t *geometry = json_object_get(feature, "geometry");
    enum tw_status status;

    if (!geometry || json_is_null(geometry))
        return TW_OK; /* RFC 7946, 3.2: an unlocated feature */
    status = enter(g, "geometry", 0);
    if (status != TW_OK)
        return status;
    g->picked = tw_reader_picks(g->reader, name) || tw_reader_picks(g->reader, id);
    g->name = name ? name : id;
    status = read_object(g, geometry);
    g->name = NULL;
    g->picked = g->reader->drawing->pick == NULL;
    g->depth--;
    return status;
}

static bool one_of(const char *word, const char *const *words)
{
    for (; *words; words++)
        if (strcmp(word, *words) == 0)
            return true;
    return false;
}

static enum tw_status read_object(struct geojson *g, const json_t *object)
{
    static const char *const drawn[] = { "Polygon", "MultiPolygon", "LineString", "MultiLineString", NULL };
    const char *type = json_string_value(json_object_get(object, "type"));

    if (!type)
        return fault_here(g, "a GeoJSON object with a \"type\" should stand here, such as "
                             "{\"type\": \"Polygon\", \"coordinates\": [...]}");
    if (one_of(type, drawn))
        return read_coordinates(g, object, type);
    if (strcmp(type, "Feature") == 0)
        return read_feature(g, object);
    if (strcmp(type, "FeatureCollection") == 0)
        return read_members(g, object, "features");
    if (strcmp(type, "GeometryCollection") == 0)
        return read_members(g, object, "geometries");
    if (strcmp(type, "Point") == 0 || strcmp(type, "MultiPoint") == 0) {
        g->ignored_points++;
        return TW_OK;
    }
    return tw_fail(g->reader->findings, TW_BAD_INPUT, place_here(g),
                   "\"%.40s\" is no GeoJSON type; Polygon, MultiPolygon, LineString, Feature, FeatureCollection and "
                   "GeometryCollection are read",
                   type);
}

static enum tw_status syntax_fault(struct tw_reader *reader, const json_error_t *error)
{
    if (json_error_code(error) == json_error_out_of_memory)
        return tw_no_memory(reader->findings);
    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, error->line > 0 ? error->line : 0),
                   "this is not sound JSON: %s; is the file whole?", error->text);
}

/* jansson does not always tell a faulty text from memory that ran out. A list of empty lists needs most: some fifty bytes for
 * each of the text's, up to the place where it stopped. */
#define BYTES_FOR_EACH 64

static enum tw_status load(struct tw_reader *reader, json_t **out)
{
    json_error_t error;

    *out = json_loadb(reader->text, reader->length, 0, &error);
    if (*out)
        return TW_OK;
    if (json_error_code(&error) == json_error_out_of_memory ||
        !tw_memory_is_there(((size_t)error.position + 64) * BYTES_FOR_EACH))
        return tw_no_memory(reader->findings);
    *out = json_loadb(reader->text, reader->length, 0, &error); /* a fault of the text shows again */
    return *out ? TW_OK : syntax_fault(reader, &error);
}

enum tw_status tw_read_geojson(struct tw_reader *reader)
{
    struct geojson g = { .reader = reader, .picked = reader->drawing->pick == NULL };
    enum tw_status status = tw_reader_unit_from_job(reader, "a GeoJSON drawing");
    json_t *root;

    if (status == TW_OK)
        status = load(reader, &root);
    if (status != TW_OK)
        return status;
    status = read_object(&g, root);
    json_decref(root);
    if (status == TW_OK && g.ignored_points > 0)
        tw_remark(reader->findings, tw_reader_place(reader, 0), "%zu points are left aside: they draw no outline",
                  g.ignored_points);
    return status;
}
