/* sanitized.h - whether the tests run under the sanitizers, which make all five to ten times slower, and which of a program's
 * tests run in the release build. A program that stands in both builds runs each of its tests once in `make test`: under the
 * sanitizers. What only compares figures says ONLY_IN_RELEASE and is left to the release build; what does less under the
 * sanitizers says ALSO_IN_RELEASE. `make every-test` runs all tests in the release build as well: check/once.c. */
#ifndef TANGWRIGHT_TESTS_SANITIZED_H
#define TANGWRIGHT_TESTS_SANITIZED_H

#if defined(__SANITIZE_ADDRESS__) /* gcc */
#define SANITIZED 1
#elif defined(__has_feature) /* clang */
#define SANITIZED __has_feature(address_sanitizer)
#else
#define SANITIZED 0
#endif

/* Criterion keeps a test's description for whoever asks. */
#define RELEASE_WORDS   "in the release build"
#define ALSO_IN_RELEASE .description = RELEASE_WORDS
#define ONLY_IN_RELEASE .description = RELEASE_WORDS, .disabled = SANITIZED

#endif
