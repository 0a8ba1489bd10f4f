/* check.h - what every test program is written in: Criterion, with the words of its newer assertions and tests with rows. */
#ifndef TANGWRIGHT_TESTS_CHECK_H
#define TANGWRIGHT_TESTS_CHECK_H

#include <criterion/criterion.h>
#include <criterion/new/assert.h>
#include <criterion/parameterized.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#endif
