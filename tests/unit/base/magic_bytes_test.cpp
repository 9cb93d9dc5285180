// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/magic_bytes.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::base;

TEST_CASE("Audio is recognised by its first bytes, also if its kind cannot be read") {
  CHECK(audio_kind("RIFF\x10") == "WAV");
  CHECK(audio_kind("fLaC") == "FLAC");
  CHECK(audio_kind("FORM") == "AIFF");
  CHECK(audio_kind("OggS") == "Ogg");
  CHECK(audio_kind(std::string("\0\0\0\x20"
                               "ftypM4A ",
                               12)) == "MP4 or ALAC");
  CHECK(audio_kind("\xff\xfb") == "MPEG audio");
}

TEST_CASE("Pictures, archives, texts and UTF-16 are not taken for audio") {
  for (const char* head : {"\x89PNG", "MThd", "PK\x03\x04", "capture,tilt_deg", "\xff\xfe", ""}) CHECK_FALSE(audio_kind(head));
}

TEST_CASE("The kind of a file that cannot be read is named for a message") {
  CHECK(content_name("MThd") == "MIDI");
  CHECK(content_name("OggS") == "Ogg");
  CHECK(content_name("\xff\xfb\x90") == "MPEG audio");
  CHECK(content_name("capture,tilt_deg\n") == "text");
  CHECK(content_name("\x01\x02\x03\x04") == "unknown (it begins with \"\\x01\\x02\\x03\\x04\")");
}
