#include "audio/capture_layout.hpp"
#include "audio/capture_source.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall {
namespace {

OpenedCapture open_regular(Descriptor file, const std::string& name) {
  const CaptureLayout layout = layout_of(FileBytes(file.get(), name));
  return {capture_source(std::move(file), layout, name), layout.warnings};
}

}  // namespace

OpenedCapture open_capture(const fs::path& path) {
  Descriptor file = open_input(path);
  if (!is_regular(file.get())) file = spool(file.get(), shown(path));
  return open_regular(std::move(file), shown(path));
}

OpenedCapture open_capture_stream(int descriptor) {
  const std::string name = descriptor == 0 ? "standard input" : "stream";
  return open_regular(spool(descriptor, name), name);
}

}  // namespace evenwall
