// SPDX-License-Identifier: GPL-3.0-or-later
// Opens a capture from a file or a stream.
#include "audio/capture_layout.hpp"
#include "audio/capture_source.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

OpenedCapture open_regular(storage::Descriptor file, const std::string& name) {
  const CaptureLayout layout = layout_of(storage::FileBytes(file.get(), name));
  return {capture_source(std::move(file), layout, name), layout.warnings};
}

}  // namespace
}  // namespace evenwall::internal::audio

namespace evenwall {

OpenedCapture open_capture(const fs::path& path) {
  internal::storage::Descriptor file = internal::storage::open_input(path);
  if (!internal::storage::is_regular(file.get())) file = internal::storage::spool(file.get(), internal::storage::shown(path));
  return internal::audio::open_regular(std::move(file), internal::storage::shown(path));
}

OpenedCapture open_capture_stream(int descriptor) {
  const std::string name = descriptor == 0 ? "standard input" : "stream";
  return internal::audio::open_regular(internal::storage::spool(descriptor, name), name);
}

}  // namespace evenwall
