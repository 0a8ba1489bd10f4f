/* svg_tree.c - from XML to the tree, by expat. */
#include "outline/svg_tree.h"

#include "base/memory.h"

#include <expat.h>
#include <stdlib.h>
#include <string.h>

#define NAMESPACE_MARK  '\n' /* stands between namespace and name in what expat hands over */
#define SVG_NAMESPACE   "http://www.w3.org/2000/svg"
#define XLINK_NAMESPACE "http://www.w3.org/1999/xlink"

struct builder {
    struct tw_reader *reader;
    XML_Parser parser;
    struct tw_svg_node *root, *current;
    int depth, foreign_depth; /* foreign_depth > 0: inside an element of another namespace */
    enum tw_status status;
};

static const char *local_name(const char *name, const char *wanted_namespace)
{
    const char *mark = strchr(name, NAMESPACE_MARK);
    size_t length = strlen(wanted_namespace);

    if (!mark)
        return name;
    return (size_t)(mark - name) == length && strncmp(name, wanted_namespace, length) == 0 ? mark + 1 : NULL;
}

static void stop(struct builder *builder, enum tw_status status)
{
    builder->status = status;
    XML_StopParser(builder->parser, XML_FALSE);
}

static bool copy_attributes(struct tw_svg_node *node, const XML_Char **given)
{
    size_t count = 0, kept = 0;

    while (given[count])
        count++;
    node->attributes = calloc(count + 1, sizeof *node->attributes);
    if (!node->attributes)
        return false;
    for (size_t i = 0; i < count; i += 2) {
        const char *name = strchr(given[i], NAMESPACE_MARK) ? local_name(given[i], XLINK_NAMESPACE) : given[i];

        if (!name)
            continue;
        node->attributes[kept] = tw_copy_string(name);
        node->attributes[kept + 1] = tw_copy_string(given[i + 1]);
        if (!node->attributes[kept] || !node->attributes[kept + 1]) {
            free(node->attributes[kept]);
            free(node->attributes[kept + 1]);
            node->attributes[kept] = node->attributes[kept + 1] = NULL;
            return false;
        }
        kept += 2;
    }
    return true;
}

static void hang_below(struct tw_svg_node *parent, struct tw_svg_node *node)
{
    node->parent = parent;
    if (parent->last_child)
        parent->last_child->next = node;
    else
        parent->first_child = node;
    parent->last_child = node;
}

static void add_node(struct builder *builder, const char *name, const XML_Char **attributes)
{
    struct tw_svg_node *node = calloc(1, sizeof *node);

    if (!node) {
        stop(builder, tw_no_memory(builder->reader->findings));
        return;
    }
    if (builder->current)
        hang_below(builder->current, node);
    else
        builder->root = node;
    builder->current = node;
    node->line = (int)XML_GetCurrentLineNumber(builder->parser);
    node->name = tw_copy_string(name);
    if (!node->name || !copy_attributes(node, attributes))
        stop(builder, tw_no_memory(builder->reader->findings));
}

static void on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct builder *builder = user;
    const char *local = local_name(name, SVG_NAMESPACE);
    int line = (int)XML_GetCurrentLineNumber(builder->parser);

    if (builder->status != TW_OK)
        return;
    if (++builder->depth > TW_DRAWING_DEEPEST) {
        stop(builder, tw_fail(builder->reader->findings, TW_BAD_INPUT, tw_reader_place(builder->reader, line),
                              "the drawing is nested deeper than %d levels; ungroup it", TW_DRAWING_DEEPEST));
        return;
    }
    if (!builder->root && (!local || strcmp(local, "svg") != 0)) {
        stop(builder, tw_fail(builder->reader->findings, TW_BAD_INPUT, tw_reader_place(builder->reader, line),
                              "an SVG drawing begins with <svg>, not with <%.40s>; is it another kind of file?",
                              strchr(name, NAMESPACE_MARK) ? strchr(name, NAMESPACE_MARK) + 1 : name));
        return;
    }
    if (builder->foreign_depth > 0 || !local)
        builder->foreign_depth++;
    else
        add_node(builder, local, attributes);
}

static void on_end(void *user, const XML_Char *name)
{
    struct builder *builder = user;

    (void)name;
    if (builder->status != TW_OK)
        return;
    builder->depth--;
    if (builder->foreign_depth > 0)
        builder->foreign_depth--;
    else
        builder->current = builder->current->parent;
}

static enum tw_status syntax_fault(struct builder *builder)
{
    enum XML_Error error = XML_GetErrorCode(builder->parser);

    if (error == XML_ERROR_NO_MEMORY)
        return tw_no_memory(builder->reader->findings);
    return tw_fail(builder->reader->findings, TW_BAD_INPUT,
                   tw_reader_place(builder->reader, (int)XML_GetCurrentLineNumber(builder->parser)),
                   "this is not sound XML: %s; is the file whole?", XML_ErrorString(error));
}

enum tw_status tw_svg_parse(struct tw_reader *reader, struct tw_svg_node **out)
{
    /* Our own malloc, so that a test that makes allocations fail reaches the parser's too. */
    static const XML_Memory_Handling_Suite memory = { malloc, realloc, free };
    static const XML_Char mark[] = { NAMESPACE_MARK, '\0' };
    struct builder builder = { .reader = reader };

    *out = NULL;
    builder.parser = XML_ParserCreate_MM(NULL, &memory, mark);
    if (!builder.parser)
        return tw_no_memory(reader->findings);
    XML_SetUserData(builder.parser, &builder);
    XML_SetElementHandler(builder.parser, on_start, on_end);
    if (XML_Parse(builder.parser, reader->text, (int)reader->length, XML_TRUE) != XML_STATUS_OK &&
        builder.status == TW_OK)
        builder.status = syntax_fault(&builder);
    XML_ParserFree(builder.parser);
    if (builder.status == TW_OK) {
        *out = builder.root;
        builder.root = NULL;
    }
    tw_svg_tree_free(builder.root);
    return builder.status;
}

const char *tw_svg_attribute(const struct tw_svg_node *node, const char *name)
{
    for (char **pair = node->attributes; pair && *pair; pair += 2)
        if (strcmp(pair[0], name) == 0)
            return pair[1];
    return NULL;
}

/* The node after `node` in the order of the document, within `root`; NULL after the last. */
static const struct tw_svg_node *following(const struct tw_svg_node *node, const struct tw_svg_node *root)
{
    if (node->first_child)
        return node->first_child;
    while (node != root && !node->next)
        node = node->parent;
    return node == root ? NULL : node->next;
}

const struct tw_svg_node *tw_svg_find(const struct tw_svg_node *root, const char *id)
{
    for (const struct tw_svg_node *node = root; node; node = following(node, root)) {
        const char *own = tw_svg_attribute(node, "id");

        if (own && strcmp(own, id) == 0)
            return node;
    }
    return NULL;
}

static void free_one(struct tw_svg_node *node)
{
    for (char **text = node->attributes; text && *text; text++)
        free(*text);
    free(node->attributes);
    free(node->name);
    free(node);
}

void tw_svg_tree_free(struct tw_svg_node *root)
{
    struct tw_svg_node *node = root;

    while (node) {
        struct tw_svg_node *parent = node->parent;

        if (node->first_child) {
            struct tw_svg_node *child = node->first_child;

            node->first_child = child->next;
            child->next = NULL;
            node = child;
            continue;
        }
        free_one(node);
        node = parent;
    }
}
