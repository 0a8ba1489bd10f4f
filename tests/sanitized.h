/* sanitized.h - whether the tests run under the sanitizers, which make all five to ten times slower. What only compares figures is
 * left to the release build there: .disabled = SANITIZED. */
#ifndef TANGWRIGHT_TESTS_SANITIZED_H
#define TANGWRIGHT_TESTS_SANITIZED_H

#if defined(__SANITIZE_ADDRESS__) /* gcc */
#define SANITIZED 1
#elif defined(__has_feature) /* clang */
#define SANITIZED __has_feature(address_sanitizer)
#else
#define SANITIZED 0
#endif

#endif
