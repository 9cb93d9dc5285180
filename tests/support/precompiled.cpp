// SPDX-License-Identifier: GPL-3.0-or-later
// Lets the build precompile the headers that the test files share (tests/CMakeLists.txt).
