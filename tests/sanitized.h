/* sanitized.h - whether the tests run under the sanitizers, which make all five to ten times slower. What only compares figures is
 * left to the release build there: .disabled = SANITIZED. */
#ifndef TANGWRIGHT_TESTS_SANITIZED_H
#define TANGWRIGHT_TESTS_SANITIZED_H

#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED 1
#else
#define SANITIZED 0
#endif

#endif
