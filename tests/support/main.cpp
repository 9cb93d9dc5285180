// SPDX-License-Identifier: GPL-3.0-or-later
// Runs the tests with Catch2 3 or 2.
#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_session.hpp>
int main(int argc, char* argv[]) { return Catch::Session().run(argc, argv); }
#else
#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
#endif
