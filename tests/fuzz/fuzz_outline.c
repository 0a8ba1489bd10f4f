/* fuzz_outline.c - throws bytes at every reader; the first byte chooses the format.
 *
 *   clang -g -O1 -fsanitize=fuzzer,address,undefined -std=c17 -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc -Itests \
 *       tests/fuzz/fuzz_outline.c src/outline/[a-z]*.c src/geometry/geos.c src/geometry/ring.c src/base/[a-z]*.c \
 *       $(pkg-config --cflags --libs geos jansson expat) -lm -o build/fuzz_outline
 *   build/fuzz_outline -max_len=4096 -timeout=10 -max_total_time=60 CORPUS */
#include "outline/fuzz.h"

#include <stdint.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char path[] = "/tmp/tangwright-fuzz-XXXXXX";
    static int made;
    FILE *file;

    if (size < 2)
        return 0;
    if (!made) {
        int descriptor = mkstemp(path);

        must(descriptor >= 0 && close(descriptor) == 0, "a file to work with");
        made = 1;
    }
    file = fopen(path, "wb");
    must(file != NULL && fwrite(data + 1, 1, size - 1, file) == size - 1, "the file can be written");
    fclose(file);
    watch_file(path, (enum tw_drawing_format)(TW_DRAWING_WKT + data[0] % 5), data[0] & 64 ? 1.0 : 0.0);
    return 0;
}
