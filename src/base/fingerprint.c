/* fingerprint.c - see fingerprint.h. */
#include "base/fingerprint.h"

#include <assert.h>
#include <nettle/sha2.h>

static_assert(TW_FINGERPRINT_DIGITS == 2 * SHA256_DIGEST_SIZE, "two digits a byte");

void tw_fingerprint(const char *data, size_t length, char out[TW_FINGERPRINT_BYTES])
{
    static const char digits[] = "0123456789abcdef";
    struct sha256_ctx context;
    uint8_t sum[SHA256_DIGEST_SIZE];

    sha256_init(&context);
    sha256_update(&context, length, (const uint8_t *)(data ? data : ""));
    sha256_digest(&context, sizeof sum, sum);
    for (size_t i = 0; i < sizeof sum; i++) {
        out[2 * i] = digits[sum[i] >> 4];
        out[2 * i + 1] = digits[sum[i] & 15];
    }
    out[TW_FINGERPRINT_DIGITS] = '\0';
}
