// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/magic_bytes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cstdint>

#include "base/text.hpp"

namespace evenwall::internal::base {
namespace {

enum class Content : std::uint8_t { kAudio, kOther };

struct KnownMagic {
  std::string_view bytes;
  const char* name;
  Content content = Content::kAudio;
};
constexpr KnownMagic kRefused[] = {{"RIFX", "RIFX (big-endian WAV)"},
                                   {"BW64", "BW64"},
                                   {".snd", "AU"},
                                   {"caff", "CAF"},
                                   {"OggS", "Ogg"},
                                   {"\x89PNG", "a PNG picture", Content::kOther},
                                   {"MThd", "MIDI", Content::kOther},
                                   {"wvpk", "WavPack"},
                                   {"MAC ", "Monkey's Audio"},
                                   {"\x1a\x45\xdf\xa3", "Matroska"},
                                   {"PK\x03\x04", "a ZIP archive", Content::kOther}};

constexpr KnownMagic kRead[] = {{"RIFF", "WAV"},  {"RF64", "RF64"}, {"riff\x2e\x91\xcf\x11", "W64"},
                                {"FORM", "AIFF"}, {"fLaC", "FLAC"}, {"ID3", "audio with an ID3 tag"}};

bool is_mp4(std::string_view head) { return head.size() >= 8 && head.substr(4, 4) == "ftyp"; }

bool has_frame_sync(std::string_view head) {
  return head.size() >= 2 && head[0] == '\xff' && (static_cast<unsigned char>(head[1]) & 0xE0U) == 0xE0U;
}

}  // namespace

std::optional<std::string> audio_kind(std::string_view head) {
  for (const KnownMagic& magic : kRead) {
    if (head.starts_with(magic.bytes)) return magic.name;
  }
  for (const KnownMagic& magic : kRefused) {
    if (magic.content == Content::kAudio && head.starts_with(magic.bytes)) return magic.name;
  }
  if (is_mp4(head)) return "MP4 or ALAC";
  constexpr std::string_view kUtf16Mark = "\xff\xfe";  // begins UTF-16 text
  return has_frame_sync(head) && !head.starts_with(kUtf16Mark) ? std::optional<std::string>("MPEG audio") : std::nullopt;
}

std::string content_name(const std::string& head) {
  for (const KnownMagic& magic : kRefused) {
    if (head.starts_with(magic.bytes)) return magic.name;
  }
  if (is_mp4(head)) return "MP4 or ALAC";
  if (has_frame_sync(head)) return "MPEG audio";
  const bool text = std::all_of(head.begin(), head.end(), [](unsigned char c) { return std::isprint(c) || std::isspace(c); });
  return text ? "text" : fmt::format("unknown (it begins with \"{}\")", escaped(head.substr(0, 4)));
}

}  // namespace evenwall::internal::base
