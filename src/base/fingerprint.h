/* fingerprint.h - what tells one text from another: its SHA-256 (FIPS 180-4), as hexadecimal digits. */
#ifndef TANGWRIGHT_BASE_FINGERPRINT_H
#define TANGWRIGHT_BASE_FINGERPRINT_H

#include <stddef.h>

#define TW_FINGERPRINT_DIGITS 64
#define TW_FINGERPRINT_BYTES  (TW_FINGERPRINT_DIGITS + 1)

/* `data` may be NULL when length is 0. */
void tw_fingerprint(const char *data, size_t length, char out[TW_FINGERPRINT_BYTES]);

#endif
