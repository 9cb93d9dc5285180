# SPDX-License-Identifier: GPL-3.0-or-later
# CPack runs this script after staging and before packing. Debian's policy requires manual pages and changelogs to be compressed as far as
# possible. No date is stored (gzip -9n), so that the same source gives the same package.
file(GLOB_RECURSE papers ${CPACK_TEMPORARY_DIRECTORY}/*/usr/share/man/man1/*.1 ${CPACK_TEMPORARY_DIRECTORY}/*/usr/share/doc/*/changelog
  ${CPACK_TEMPORARY_DIRECTORY}/*/usr/share/doc/*/changelog.Debian)
if(NOT papers)
  message(FATAL_ERROR "No manual page and no changelog exists below ${CPACK_TEMPORARY_DIRECTORY}")
endif()
execute_process(COMMAND gzip -9n ${papers} COMMAND_ERROR_IS_FATAL ANY)
