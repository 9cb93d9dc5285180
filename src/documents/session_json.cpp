// SPDX-License-Identifier: GPL-3.0-or-later
// Reads and writes session.json, which is also part of readings, solutions and scenarios.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "base/text.hpp"
#include "documents/json_text.hpp"
#include "evenwall/files.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::documents {
namespace {

constexpr std::size_t kLargestSession = 1UL << 20U;  // bytes
constexpr std::size_t kMostBands = 1000;
constexpr std::size_t kMostStops = 1000;

template <typename Owner>
struct NumberKey {
  const char* key;
  OptionalNumber Owner::*member;
};
constexpr std::array<NumberKey<Stylus>, 3> kStylusNumbers{{{"major_radius_um", &Stylus::major_radius_um},
                                                           {"tilt_limit_deg", &Stylus::tilt_limit_deg},
                                                           {"upright_at_deg", &Stylus::upright_at_deg}}};
constexpr std::array<NumberKey<SessionFacts>, 15> kNumbers{{{"gauge_u_deg", &SessionFacts::gauge_u_deg},
                                                            {"gauge_zero_u_deg", &SessionFacts::gauge_zero_u_deg},
                                                            {"gauge_scale_u", &SessionFacts::gauge_scale_u},
                                                            {"record_u_deg", &SessionFacts::record_u_deg},
                                                            {"slope_u", &SessionFacts::slope_u},
                                                            {"cut_level_difference_db", &SessionFacts::cut_level_difference_db},
                                                            {"cut_level_u_db", &SessionFacts::cut_level_u_db},
                                                            {"electronics_crosstalk_db", &SessionFacts::electronics_crosstalk_db},
                                                            {"hole_spacing_mm", &SessionFacts::hole_spacing_mm},
                                                            {"shim_span_mm", &SessionFacts::shim_span_mm},
                                                            {"frequency_hz", &SessionFacts::frequency_hz},
                                                            {"rpm", &SessionFacts::rpm},
                                                            {"tolerance_deg", &SessionFacts::tolerance_deg},
                                                            {"vtf_mn", &SessionFacts::vtf_mn},
                                                            {"temperature_c", &SessionFacts::temperature_c}}};

struct TextKey {
  const char* key;
  std::optional<std::string> SessionFacts::*member;
};
constexpr std::array<TextKey, 12> kTexts{{{"cartridge", &SessionFacts::cartridge},
                                          {"record", &SessionFacts::record},
                                          {"record_side", &SessionFacts::record_side},
                                          {"rig", &SessionFacts::rig},
                                          {"operator", &SessionFacts::operator_name},
                                          {"date", &SessionFacts::date},
                                          {"client", &SessionFacts::client},
                                          {"workshop", &SessionFacts::workshop},
                                          {"notes", &SessionFacts::notes},
                                          {"cartridge_model", &SessionFacts::cartridge_model},
                                          {"anti_skate", &SessionFacts::anti_skate},
                                          {"gauge_certificate", &SessionFacts::gauge_certificate}}};
constexpr TextKey kCalibration{"calibration", &SessionFacts::calibration};

std::string text_of(const Json& value, const Place& place) {
  if (!value.is_string()) place.refuse_type(value, "a text");
  return value.get<std::string>();
}

/// Facts have their own ranges, which do not depend on the document around them.
double number_of(const Json& value, const Place& place, const std::string& key) {
  if (!value.is_number()) place.refuse_type(value, "a number");
  const auto number = value.get<double>();
  place.require(number, base::range_of("session", key));
  return number;
}

template <typename Owner, std::size_t kCount>
bool take_number(const std::array<NumberKey<Owner>, kCount>& keys, const std::string& key, const Json& value, const Place& place,
                 Owner& owner) {
  const auto at = std::find_if(keys.begin(), keys.end(), [&](const auto& k) { return k.key == key; });
  if (at == keys.end()) return false;
  owner.*at->member = number_of(value, place, key);
  return true;
}

/// Whether the date is YYYY, YYYY-MM or YYYY-MM-DD; T and a time may follow the last one.
bool is_iso_date(const std::string& date) {
  const std::string day = date.substr(0, date.find('T'));
  constexpr std::string_view kPattern = "0000-00-00";
  if (day.size() != 4 && day.size() != 7 && day.size() != 10) return false;
  for (std::size_t i = 0; i < day.size(); ++i) {
    if (kPattern[i] == '-' ? day[i] != '-' : std::isdigit(static_cast<unsigned char>(day[i])) == 0) return false;
  }
  const auto two_digits = [&](std::size_t at) { return day.size() < at + 2 ? 1 : (day[at] - '0') * 10 + day[at + 1] - '0'; };
  const bool on_calendar = two_digits(5) >= 1 && two_digits(5) <= 12 && two_digits(8) >= 1 && two_digits(8) <= 31;
  return on_calendar && (day.size() == date.size() || (day.size() == 10 && date.size() >= 13));
}

void warn_unknown(const Place& place, const char* what, Warnings& warnings) {
  warnings.push_back({WarningCode::kUnknownKey, fmt::format("{}: key {} {}", place.document(), base::escaped(place.pointer()), what)});
}

Stylus stylus_from_json(const Json& object, const Place& place, Warnings& warnings) {
  if (!object.is_object()) place.refuse_type(object, "an object");
  Stylus stylus;
  for (const auto& [key, value] : object.items()) {
    if (key == "profile") {
      stylus.profile = text_of(value, place / key);
    } else if (!take_number(kStylusNumbers, key, value, place / key, stylus)) {
      warn_unknown(place / key, "is unknown. It is not used. Correct its name.", warnings);
    }
  }
  return stylus;
}

std::vector<Band> bands_from_json(const Json& list, const Place& place) {
  if (!list.is_array()) place.refuse_type(list, "a list");
  if (list.size() > kMostBands) place.refuse("has more bands than any record. Correct it.");
  std::vector<Band> bands;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const auto band = enum_named<Band>(text_of(list[i], place / i));
    if (!band) (place / i).refuse(fmt::format("is not one of {}. Correct it.", enum_list<Band>()));
    bands.push_back(*band);
  }
  return bands;
}

bool take_text(const std::string& key, const Json& value, const Place& place, SessionFacts& facts) {
  const auto at = std::find_if(kTexts.begin(), kTexts.end(), [&](const TextKey& k) { return k.key == key; });
  const TextKey* known = at != kTexts.end() ? &*at : key == kCalibration.key ? &kCalibration : nullptr;
  if (known == nullptr) return false;
  // Many scales for anti-skating have plain numbers, so a number is accepted there and kept as it was written.
  const std::string text = key == "anti_skate" && value.is_number() ? value.dump() : text_of(value, place);
  if (text.empty()) return true;  // a form whose line was not filled in; absent keys change no result
  facts.*known->member = text;
  if (key == "date" && !is_iso_date(*facts.date)) place.refuse("is not a date such as 2026-05-14 (ISO 8601). Correct it.");
  return true;
}

Json json_of(const std::vector<Band>& bands) {
  Json list = Json::array();
  for (const Band band : bands) list.push_back(enum_name(band));
  return list;
}

Json json_of(const Stylus& stylus) {
  Json object = Json::object();
  if (stylus.profile) put_member(object, "profile", *stylus.profile);
  for (const auto& [key, member] : kStylusNumbers) {
    if (stylus.*member) put_member(object, key, *(stylus.*member));
  }
  return object;
}

/// An empty text counts as an absent key.
std::optional<Aim> aim_from_json(const Json& value, const Place& place) {
  const std::string word = text_of(value, place);
  std::string plain;
  for (const char c : word) {
    if (c != ' ' && c != '\t') plain += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  const auto aim = enum_named<Aim>(plain);
  if (!aim && !plain.empty()) place.refuse("is " + base::escaped(word) + ". Write equal, least, phase or band.");
  return aim;
}

/// A step, or a list of stops.
Adjuster adjuster_from_json(const Json& value, const Place& place) {
  Adjuster adjuster;
  if (value.is_number()) {
    adjuster.step = number_of(value, place, "settings");
    if (!(*adjuster.step > 0)) place.refuse("is a step that is not greater than zero. Correct it, or list the stops.");
    return adjuster;
  }
  if (!value.is_array()) place.refuse_type(value, "a number (the step) or a list of numbers (the stops)");
  if (value.empty() || value.size() > kMostStops) place.refuse(fmt::format("has {} stops. State 1 to {}.", value.size(), kMostStops));
  for (std::size_t i = 0; i < value.size(); ++i) adjuster.stops.push_back(number_of(value[i], place / i, "settings"));
  return adjuster;
}

Json json_of(const Adjuster& adjuster) {
  if (adjuster.step) return Json(*adjuster.step);
  Json list = Json::array();
  for (const double stop : adjuster.stops) list.push_back(stop);
  return list;
}

}  // namespace

SessionFacts facts_from_json(const Json& object, const Place& place, Warnings& warnings) {
  if (!object.is_object()) place.refuse_type(object, "an object");
  SessionFacts facts;
  for (const auto& [key, value] : object.items()) {
    const Place at = place / key;
    if (key == "stylus") {
      facts.stylus = stylus_from_json(value, at, warnings);
    } else if (key == "bands") {
      facts.bands = bands_from_json(value, at);
    } else if (key == "aim") {
      facts.aim = aim_from_json(value, at);
    } else if (key == "settings") {
      facts.settings = adjuster_from_json(value, at);
    } else if (!take_text(key, value, at, facts) && !take_number(kNumbers, key, value, at, facts)) {
      if (value.is_string()) facts.other_texts[key] = value.get<std::string>();
      warn_unknown(at,
                   value.is_string()
                       ? "is unknown. It is kept for survey --by, but solve does not use it. If that is not intended, correct its name."
                       : "is unknown. It is not used. Correct its name.",
                   warnings);
    }
  }
  return facts;
}

Json json_of(const SessionFacts& facts) {
  Json object = Json::object();
  for (const auto& [key, member] : kTexts) {
    if (facts.*member) put_member(object, key, *(facts.*member));
  }
  if (facts.stylus) put_member(object, "stylus", json_of(*facts.stylus));
  if (!facts.bands.empty()) put_member(object, "bands", json_of(facts.bands));
  if (facts.aim) put_member(object, "aim", enum_name(*facts.aim));
  if (facts.settings) put_member(object, "settings", json_of(*facts.settings));
  for (const auto& [key, member] : kNumbers) {
    if (facts.*member) put_member(object, key, *(facts.*member));
  }
  if (facts.calibration) put_member(object, "calibration", *facts.calibration);
  for (const auto& [key, text] : facts.other_texts) put_member(object, key.c_str(), text);
  return object;
}

}  // namespace evenwall::internal::documents

namespace evenwall {

std::string session_text(const SessionFacts& facts) {
  return internal::documents::json_of(facts).dump(2, ' ', false, internal::documents::Json::error_handler_t::replace) + "\n";
}

SessionFile read_session_file(const fs::path& path) {
  const std::string name = internal::storage::shown(path);
  SessionFile file;
  file.facts = internal::documents::facts_from_json(
      internal::documents::parse_json(read_text(path, internal::documents::kLargestSession), name), {name, "", "session"}, file.warnings);
  return file;
}

}  // namespace evenwall
