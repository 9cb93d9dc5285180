# SPDX-License-Identifier: GPL-3.0-or-later
# Finds libcsv, which has neither a CMake configuration nor a .pc file, and defines the target libcsv::libcsv. The file is installed beside
# evenwallConfig.cmake, which needs it too.
find_path(LIBCSV_INCLUDE_DIR csv.h)
find_library(LIBCSV_LIBRARY csv)
mark_as_advanced(LIBCSV_INCLUDE_DIR LIBCSV_LIBRARY)
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(libcsv REQUIRED_VARS LIBCSV_LIBRARY LIBCSV_INCLUDE_DIR)
if(libcsv_FOUND AND NOT TARGET libcsv::libcsv)
  add_library(libcsv::libcsv UNKNOWN IMPORTED)
  set_target_properties(libcsv::libcsv PROPERTIES IMPORTED_LOCATION ${LIBCSV_LIBRARY} INTERFACE_INCLUDE_DIRECTORIES ${LIBCSV_INCLUDE_DIR})
endif()
