// SPDX-License-Identifier: GPL-3.0-or-later
// Simulates a full medium: while the object exists, no file of this process grows beyond a few bytes.
#pragma once

#include <sys/resource.h>

#include <csignal>

#include "support/catch.hpp"

class SmallMedium {
 public:
  explicit SmallMedium(rlim_t limit_bytes) {
    REQUIRE(::getrlimit(RLIMIT_FSIZE, &before_) == 0);
    rlimit small = before_;
    small.rlim_cur = limit_bytes;
    old_handler_ = std::signal(SIGXFSZ, SIG_IGN);
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &small) == 0);
  }
  SmallMedium(const SmallMedium&) = delete;
  SmallMedium& operator=(const SmallMedium&) = delete;
  ~SmallMedium() {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    std::signal(SIGXFSZ, old_handler_);
  }

 private:
  rlimit before_{};
  void (*old_handler_)(int) = SIG_DFL;
};
