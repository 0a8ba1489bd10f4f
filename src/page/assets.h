/* assets.h - markup, style sheet and scripts of the page, built into the library from src/page. */
#ifndef TANGWRIGHT_PAGE_ASSETS_H
#define TANGWRIGHT_PAGE_ASSETS_H

#include <stddef.h>

struct page_asset {
    const char *path;
    const unsigned char *data;
    size_t length;
};

extern const struct page_asset page_assets[];
extern const size_t page_asset_count;

#endif
