/* tree.h - folders for tests: copied and removed here, where a command of the shell would start three processes. */
#ifndef TANGWRIGHT_TESTS_CHECK_TREE_H
#define TANGWRIGHT_TESTS_CHECK_TREE_H

/* Copies a file, or a folder with all in it, to `to`, which is made, or added to where it is a folder already. The test ends
 * where that fails. */
void check_copy(const char *from, const char *to);

/* Removes a file, or a folder with all in it; the test ends where that fails. */
void check_remove(const char *path);

#endif
