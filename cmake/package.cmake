# SPDX-License-Identifier: GPL-3.0-or-later
# Two Debian packages by CPack: evenwall (the program) and libevenwall-dev (the static library). Debian's own papers stand in cmake/debian.
# `cpack --config build-release/CPackConfig.cmake` makes them of a build that is done.
#
# What lintian (2.116) says of the two and stays as it is:
# - initial-upload-closes-no-bugs: they are not uploaded to Debian.
# - pkg-config-unavailable-for-cross-compilation: a multiarch folder would have to be known when CMake configures, and the same build is
#   also installed under other prefixes (tests/consumer).
# - binary-has-unneeded-section, static-library-has-unneeded-sections: .comment, which says by which compiler.
# - spelling-error-in-binary: pieces of machine code that happen to be letters.
if(BUILD_SHARED_LIBS)
  return() # a shared library would need a package and a soname policy of its own
endif()

foreach(package_and_component IN ITEMS evenwall=program libevenwall-dev=library)
  string(REPLACE "=" ";" pair ${package_and_component})
  list(GET pair 0 package)
  list(GET pair 1 component)
  install(FILES cmake/debian/copyright DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/${package} COMPONENT ${component}_papers EXCLUDE_FROM_ALL)
  install(FILES cmake/debian/changelog DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/${package} RENAME changelog.Debian
    COMPONENT ${component}_papers EXCLUDE_FROM_ALL)
  install(FILES docs/changelog.md DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/${package} RENAME changelog
    COMPONENT ${component}_papers EXCLUDE_FROM_ALL)
endforeach()

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_CONTACT "evenwall maintainers <maintainers@evenwall.invalid>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
# A component's Debian papers are a component of their own, so that a plain `cmake --install` leaves them out; a group is a package.
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_GROUPING ONE_PER_GROUP)
set(CPACK_COMPONENTS_ALL program program_papers library library_papers)
set(CPACK_PRE_BUILD_SCRIPTS ${CMAKE_CURRENT_LIST_DIR}/compress_papers.cmake)

set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS OFF)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)

set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME evenwall)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION sound)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_RECOMMENDS gnuplot-nox)
set(CPACK_DEBIAN_PROGRAM_DESCRIPTION
  "azimuth of phono cartridges from captures of a test record
From captures of a test record's left-only and right-only bands, made at a
few tilts of the cartridge, evenwall finds the tilt at which both groove walls
are served alike: with its uncertainty, which way to turn, how high a shim to
put at which screw, what crosstalk to expect, and what no tilt can mend.

With gnuplot it draws the charts of its pages.")

# CMake's package and evenwall.pc name these; a static library brings nothing along by itself.
set(CPACK_DEBIAN_LIBRARY_PACKAGE_NAME libevenwall-dev)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_DEPENDS "libsndfile1-dev, libflac-dev, libfftw3-dev, libfmt-dev, libcsv-dev")
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SUGGESTS "cmake, pkg-config")
set(CPACK_DEBIAN_LIBRARY_DESCRIPTION
  "azimuth of phono cartridges from captures, development files
The static library behind evenwall, which finds the tilt of a phono cartridge
at which both groove walls are served alike, its headers, a CMake package, a
pkg-config file, and examples.")

include(CPack)
foreach(component IN ITEMS program library)
  cpack_add_component_group(${component})
  cpack_add_component(${component} GROUP ${component})
  cpack_add_component(${component}_papers GROUP ${component})
endforeach()
