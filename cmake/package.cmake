# SPDX-License-Identifier: GPL-3.0-or-later
# Defines two Debian packages, which CPack makes: evenwall (the program) and libevenwall-dev (the static library). The files that Debian
# requires are in cmake/debian. `cpack --config build-release/CPackConfig.cmake` makes the packages of a finished build.
#
# lintian (2.116) reports the following tags, which are accepted for these reasons:
# - initial-upload-closes-no-bugs: they are not uploaded to Debian.
# - pkg-config-unavailable-for-cross-compilation: a multiarch folder would have to be known when CMake configures, and the same build is
#   also installed with other prefixes (tests/consumer).
# - binary-has-unneeded-section, static-library-has-unneeded-sections: the section .comment names the compiler.
# - spelling-error-in-binary: parts of the machine code look like letters.
if(BUILD_SHARED_LIBS)
  return() # a shared library would need a package of its own and a policy for its soname
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
# The files that Debian requires form separate components, so that a plain `cmake --install` does not install them. Each group becomes a package.
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
evenwall finds the azimuth at which a cartridge reads both groove walls alike.
It uses recordings of the left-only and right-only bands of a test record, made
at a few tilts. The tilt is the azimuth angle of the cartridge, seen from the
front. The program states the azimuth with its uncertainty, which way to turn
the cartridge, and how high a shim to put at which screw. It also states the
crosstalk to expect, and the crosstalk that azimuth cannot remove.

With gnuplot it draws the charts of its pages.")

# The CMake package and evenwall.pc name these libraries. A static library does not install them by itself.
set(CPACK_DEBIAN_LIBRARY_PACKAGE_NAME libevenwall-dev)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_DEPENDS "libsndfile1-dev, libflac-dev, nettle-dev, libfftw3-dev, libfmt-dev, libcsv-dev")
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SUGGESTS "cmake, pkg-config")
set(CPACK_DEBIAN_LIBRARY_DESCRIPTION
  "azimuth of phono cartridges from captures, development files
This package has the static library of evenwall, its headers, a CMake package,
a pkg-config file and examples. The library finds the azimuth at which a phono
cartridge reads both groove walls alike.")

include(CPack)
foreach(component IN ITEMS program library)
  cpack_add_component_group(${component})
  cpack_add_component(${component} GROUP ${component})
  cpack_add_component(${component}_papers GROUP ${component})
endforeach()
