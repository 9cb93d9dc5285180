# SPDX-License-Identifier: GPL-3.0-or-later
# What `cmake --install` puts where: component `program` (the command, its page and completion, docs) and `library` (headers, library,
# CMake package, pkg-config file).
include(CMakePackageConfigHelpers)

install(TARGETS evenwall_program RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program)

# A program that links the shared library takes it along, wherever the tree is put.
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
# Before 1.0 a minor version may change the library's face.
write_basic_package_version_file(${PROJECT_BINARY_DIR}/evenwallConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/evenwallConfig.cmake ${PROJECT_BINARY_DIR}/evenwallConfigVersion.cmake cmake/Findlibcsv.cmake
  DESTINATION ${config_folder} COMPONENT library)

# Relative to where the file lies, so that an installed tree may be moved.
file(RELATIVE_PATH evenwall_prefix_from_pc /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
string(REGEX REPLACE "/$" "" evenwall_prefix_from_pc "${evenwall_prefix_from_pc}")
# libevenwall.a is linked with its libraries as Debian ships them, shared: they are everyone's business then, not the private matter that
# `pkg-config --static` is for. (That also asks for what these libraries keep private, and Debian's sndfile.pc names a library, LAME,
# whose -dev package nothing pulls in.)
set(evenwall_private "")
set(evenwall_libs_static " -lcsv -pthread")
if(BUILD_SHARED_LIBS)
  set(evenwall_private ".private")
  set(evenwall_libs_static "")
endif()
configure_file(cmake/evenwall.pc.in ${PROJECT_BINARY_DIR}/evenwall.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/evenwall.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT library)

# ---------------------------------------------------------------- what people read
install(FILES docs/evenwall.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES docs/evenwall.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME evenwall COMPONENT program)
file(GLOB schemas CONFIGURE_DEPENDS docs/*.schema.json)
install(FILES docs/manual.md docs/recipes.md docs/formats.md docs/method.md docs/accuracy.md docs/checks.md docs/reliability.md docs/speed.md docs/warnings.md docs/licences.md docs/heard.svg
  ${schemas} DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(DIRECTORY docs/manual docs/pictures DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
# Where the manual's example looks for it.
install(FILES data/demo/scenario.json DESTINATION ${CMAKE_INSTALL_DOCDIR}/data/demo COMPONENT program)
set(library_docs ${CMAKE_INSTALL_DATADIR}/doc/libevenwall-dev)
install(FILES docs/library.md DESTINATION ${library_docs} COMPONENT library)
install(DIRECTORY docs/examples DESTINATION ${library_docs} COMPONENT library)
