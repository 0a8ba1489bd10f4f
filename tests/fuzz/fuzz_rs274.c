/* fuzz_rs274.c - throws bytes at the interpreter; its properties stand in tests/rs274/properties.h.
 *
 *   clang -g -O1 -fsanitize=fuzzer,address,undefined -std=c17 -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc
 * -Itests \ tests/fuzz/fuzz_rs274.c src/rs274/[a-z]*.c src/base/[a-z]*.c -lm -o build/fuzz_rs274
 *   build/fuzz_rs274 -max_len=512 -max_total_time=60 CORPUS */
#include "../rs274/properties.h"

#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    watch_run((const char *)data, size);
    return 0;
}
