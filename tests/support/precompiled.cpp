// SPDX-License-Identifier: GPL-3.0-or-later
// Has the header that the tests' files share compiled (tests/CMakeLists.txt).
