# SPDX-License-Identifier: GPL-3.0-or-later
# Defines what `cmake --install` installs. The component `program` has the command, its manual page, the completion and the documentation.
# The component `library` has the headers, the library, the CMake package and the pkg-config file.
include(CMakePackageConfigHelpers)

install(TARGETS evenwall_program RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program)

# The program finds the shared library relative to its own folder, so that the installed tree may be moved.
set(evenwall_library_component library)
if(BUILD_SHARED_LIBS)
  set(evenwall_library_component program)
  set_target_properties(evenwall PROPERTIES VERSION ${PROJECT_VERSION} SOVERSION ${PROJECT_VERSION_MAJOR})
  file(RELATIVE_PATH from_program /${CMAKE_INSTALL_BINDIR} /${CMAKE_INSTALL_LIBDIR})
  set_target_properties(evenwall_program PROPERTIES INSTALL_RPATH "$ORIGIN/${from_program}")
endif()

set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/evenwall)
install(TARGETS evenwall EXPORT evenwallTargets
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT library
  LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT ${evenwall_library_component} NAMELINK_COMPONENT library)
install(DIRECTORY include/evenwall DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT library)
install(EXPORT evenwallTargets NAMESPACE evenwall:: DESTINATION ${config_folder} COMPONENT library)

configure_package_config_file(cmake/evenwallConfig.cmake.in ${PROJECT_BINARY_DIR}/evenwallConfig.cmake INSTALL_DESTINATION ${config_folder})
# Before 1.0, a minor version may change the interface of the library.
write_basic_package_version_file(${PROJECT_BINARY_DIR}/evenwallConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/evenwallConfig.cmake ${PROJECT_BINARY_DIR}/evenwallConfigVersion.cmake cmake/Findlibcsv.cmake
  DESTINATION ${config_folder} COMPONENT library)

# The prefix is relative to the folder of the .pc file, so that the installed tree may be moved.
file(RELATIVE_PATH evenwall_prefix_from_pc /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
string(REGEX REPLACE "/$" "" evenwall_prefix_from_pc "${evenwall_prefix_from_pc}")
# A program that links libevenwall.a also links the shared libraries that it needs. They are therefore listed as public requirements.
# `pkg-config --static` does not fit, because it also requires the private libraries of these libraries: Debian's sndfile.pc names LAME,
# and no package installs the -dev package of LAME.
set(evenwall_private "")
set(evenwall_libs_static " -lcsv -pthread")
if(BUILD_SHARED_LIBS)
  set(evenwall_private ".private")
  set(evenwall_libs_static "")
endif()
configure_file(cmake/evenwall.pc.in ${PROJECT_BINARY_DIR}/evenwall.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/evenwall.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT library)

# ---------------------------------------------------------------- documentation
install(FILES docs/evenwall.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES docs/evenwall.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME evenwall COMPONENT program)
file(GLOB schemas CONFIGURE_DEPENDS docs/*.schema.json)
install(FILES docs/manual.md docs/glossary.md docs/recipes.md docs/formats.md docs/method.md docs/accuracy.md docs/checks.md docs/reliability.md docs/speed.md docs/warnings.md docs/licences.md docs/heard.svg
  ${schemas} DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(DIRECTORY docs/manual docs/pictures DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
# The example of the manual reads the scenario at this place.
install(FILES data/demo/scenario.json DESTINATION ${CMAKE_INSTALL_DOCDIR}/data/demo COMPONENT program)
set(library_docs ${CMAKE_INSTALL_DATADIR}/doc/libevenwall-dev)
install(FILES docs/library.md DESTINATION ${library_docs} COMPONENT library)
install(DIRECTORY docs/examples DESTINATION ${library_docs} COMPONENT library)
