/* assets.h - the style sheet and the script of the page, built into the library from src/sheet. */
#ifndef TANGWRIGHT_SHEET_ASSETS_H
#define TANGWRIGHT_SHEET_ASSETS_H

#include <stddef.h>

struct sheet_asset {
    const char *path;
    const unsigned char *data;
    size_t length;
};

extern const struct sheet_asset sheet_assets[];
extern const size_t sheet_asset_count;

#endif
