# SPDX-License-Identifier: GPL-3.0-or-later
# The target `site` makes web pages of the documentation in BUILD/site/html. MkDocs makes the pages, and Doxygen makes the reference of the public
# headers. The links of the pages are then checked.
# Debian's interpreter has the Debian packages that the tests use; another one in front of it need not have them.
if(NOT Python3_EXECUTABLE AND EXISTS /usr/bin/python3)
  set(Python3_EXECUTABLE /usr/bin/python3)
endif()
find_package(Python3 COMPONENTS Interpreter)
find_program(EVENWALL_MKDOCS mkdocs)
find_program(EVENWALL_DOXYGEN doxygen)
if(NOT (Python3_FOUND AND EVENWALL_MKDOCS AND EVENWALL_DOXYGEN))
  add_custom_target(site COMMAND ${CMAKE_COMMAND} -E echo "site: mkdocs or doxygen is missing. Install both (Debian packages), then configure again." COMMAND ${CMAKE_COMMAND} -E false)
  return()
endif()
set(site ${PROJECT_BINARY_DIR}/site)
file(READ ${PROJECT_SOURCE_DIR}/docs/site/Doxyfile doxyfile)
string(APPEND doxyfile "INPUT = \"${PROJECT_SOURCE_DIR}/include\"\nOUTPUT_DIRECTORY = \"${site}/pages\"\nSTRIP_FROM_PATH = \"${PROJECT_SOURCE_DIR}/include\"\n"
  "PROJECT_NUMBER = ${PROJECT_VERSION}\n")
file(WRITE ${site}/Doxyfile "${doxyfile}")
add_custom_target(site
  COMMAND ${Python3_EXECUTABLE} ${PROJECT_SOURCE_DIR}/docs/site/stage.py ${PROJECT_SOURCE_DIR} ${site}/pages
  COMMAND ${CMAKE_COMMAND} -E copy ${PROJECT_SOURCE_DIR}/docs/site/mkdocs.yml ${site}/mkdocs.yml
  COMMAND ${EVENWALL_DOXYGEN} ${site}/Doxyfile
  COMMAND ${EVENWALL_MKDOCS} build --clean --strict --quiet --config-file ${site}/mkdocs.yml
  COMMAND ${Python3_EXECUTABLE} ${PROJECT_SOURCE_DIR}/tests/site/check_site.py ${site}/html
  USES_TERMINAL VERBATIM)
