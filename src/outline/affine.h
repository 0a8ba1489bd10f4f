/* affine.h - maps of the plane of the form x' = a x + c y + e, y' = b x + d y + f. */
#ifndef TANGWRIGHT_OUTLINE_AFFINE_H
#define TANGWRIGHT_OUTLINE_AFFINE_H

#include <math.h>

/* A place in a drawing, in whatever frame and unit is being read just then. */
struct tw_vec {
    double x, y;
};

struct tw_affine {
    double a, b, c, d, e, f;
};

static inline struct tw_affine tw_affine_identity(void)
{
    return (struct tw_affine){ 1.0, 0.0, 0.0, 1.0, 0.0, 0.0 };
}

static inline struct tw_affine tw_affine_scale(double x, double y)
{
    return (struct tw_affine){ x, 0.0, 0.0, y, 0.0, 0.0 };
}

static inline struct tw_affine tw_affine_move(double x, double y)
{
    return (struct tw_affine){ 1.0, 0.0, 0.0, 1.0, x, y };
}

static inline struct tw_affine tw_affine_turn(double angle_rad)
{
    double c = cos(angle_rad), s = sin(angle_rad);

    return (struct tw_affine){ c, s, -s, c, 0.0, 0.0 };
}

/* First `inner`, then `outer`. */
static inline struct tw_affine tw_affine_after(struct tw_affine outer, struct tw_affine inner)
{
    return (struct tw_affine){
        outer.a * inner.a + outer.c * inner.b,           outer.b * inner.a + outer.d * inner.b,
        outer.a * inner.c + outer.c * inner.d,           outer.b * inner.c + outer.d * inner.d,
        outer.a * inner.e + outer.c * inner.f + outer.e, outer.b * inner.e + outer.d * inner.f + outer.f,
    };
}

static inline struct tw_vec tw_affine_point(const struct tw_affine *map, struct tw_vec p)
{
    return (struct tw_vec){ map->a * p.x + map->c * p.y + map->e, map->b * p.x + map->d * p.y + map->f };
}

/* A difference of two places: the shift does not count. */
static inline struct tw_vec tw_affine_vector(const struct tw_affine *map, struct tw_vec v)
{
    return (struct tw_vec){ map->a * v.x + map->c * v.y, map->b * v.x + map->d * v.y };
}

#endif
