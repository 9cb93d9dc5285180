# SPDX-License-Identifier: GPL-3.0-or-later
# What a Release build of the program and the library has against memory faults in the decoders and in its own code: Debian's hardening
# flags, each where the compiler and the linker support it. tests/hygiene/hardening_test.py reads the result from the program itself.
# Sanitizers check the same and more, and builds without optimisation cannot have _FORTIFY_SOURCE.
include(CheckCXXCompilerFlag)
include(CheckLinkerFlag)
include(CheckPIESupported)

add_library(evenwall_hardening INTERFACE)
# The program is a position-independent executable (its target says so), so that its addresses differ from run to run.
check_pie_supported(LANGUAGES CXX)

function(evenwall_harden_compiler flag)
  string(MAKE_C_IDENTIFIER "compiler_has${flag}" has)
  check_cxx_compiler_flag(${flag} ${has})
  if(${has})
    target_compile_options(evenwall_hardening INTERFACE $<$<CONFIG:Release>:${flag}>)
  endif()
endfunction()

function(evenwall_harden_linker flag)
  string(MAKE_C_IDENTIFIER "linker_has${flag}" has)
  check_linker_flag(CXX ${flag} ${has})
  if(${has})
    target_link_options(evenwall_hardening INTERFACE $<$<CONFIG:Release>:${flag}>)
  endif()
endfunction()

if(NOT sanitizers AND NOT EVENWALL_COVERAGE)
  # -fPIC, which CMake would take for the modules' object libraries, keeps the compiler from inlining across functions.
  if(NOT BUILD_SHARED_LIBS)
    evenwall_harden_compiler(-fPIE)
  endif()
  evenwall_harden_compiler(-fstack-protector-strong)
  evenwall_harden_compiler(-fstack-clash-protection)
  if(CMAKE_SYSTEM_PROCESSOR MATCHES "^(x86_64|AMD64)$")
    evenwall_harden_compiler(-fcf-protection)
  elseif(CMAKE_SYSTEM_PROCESSOR MATCHES "^(aarch64|arm64)$")
    evenwall_harden_compiler(-mbranch-protection=standard)
  endif()
  evenwall_harden_linker(-Wl,-z,relro,-z,now)
  evenwall_harden_linker(-Wl,-z,noexecstack)

  # The third level also checks buffers of a size that is known at run time only.
  set(fortify 2)
  if((CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_GREATER_EQUAL 12)
     OR (CMAKE_CXX_COMPILER_ID STREQUAL "Clang" AND CMAKE_CXX_COMPILER_VERSION VERSION_GREATER_EQUAL 15))
    set(fortify 3)
  endif()
  # Options, in this order: some compilers have a level of their own, and a definition would come before it is undone.
  target_compile_options(evenwall_hardening INTERFACE "$<$<CONFIG:Release>:-U_FORTIFY_SOURCE;-D_FORTIFY_SOURCE=${fortify}>")
  target_compile_definitions(evenwall_hardening INTERFACE $<$<CONFIG:Release>:_GLIBCXX_ASSERTIONS>)
  # Loops over spectra and samples whose lengths are fixed before: a check at each element keeps the compiler from using vector
  # instructions. With them checked, `measure` of a WAV takes 22 % more instructions; without these four, 1.8 % (callgrind, measure_pass).
  # (Having options of their own, they are compiled by themselves also in a unity build.)
  set_source_files_properties(src/measure/hum.cpp src/measure/scan.cpp src/numeric/fft.cpp src/numeric/lanes.cpp
    PROPERTIES COMPILE_OPTIONS "-U_GLIBCXX_ASSERTIONS;$<$<CONFIG:Release>:-O3>" SKIP_PRECOMPILE_HEADERS ON)
endif()
