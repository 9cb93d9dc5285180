// SPDX-License-Identifier: GPL-3.0-or-later
// Copies standard input into a file that stays, instead of into a temporary one.
#pragma once

#include <functional>
#include <optional>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

/// Where the copy of standard input goes.
struct KeptStream {
  Descriptor file;
  std::string name;                ///< for messages
  std::function<void()> complete;  ///< called when the whole stream is in the file, and not if it breaks off or is empty
};

/// From now on, the next copy of standard input goes into this file. Requires: one thread.
void keep_standard_input(KeptStream kept);

/// Takes what keep_standard_input() has set, if anything.
std::optional<KeptStream> take_kept_stream();

/// Copies the stream into the file, calls `complete`, and returns the file for reading only, so that no decoder can change what is kept.
/// Throws: Error(kInput) if the stream cannot be read or the file cannot be written.
Descriptor copy_and_keep(int stream, KeptStream kept, const std::string& stream_name);

}  // namespace evenwall::internal::storage
