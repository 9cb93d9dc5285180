// SPDX-License-Identifier: GPL-3.0-or-later
// Reads only the few keys of evenwall/solution/1 that a survey uses, without building the rest: archives hold gigabytes of curves.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "base/text.hpp"
#include "documents/json_text.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::documents {
namespace {

/// A value of one of the few kinds that are used.
struct Taken {
  enum class Kind { kNull, kBool, kNumber, kText, kOther };
  Kind kind = Kind::kOther;
  double number = 0;
  std::string text;
};

const char* kind_name(Taken::Kind kind) {
  constexpr std::array<const char*, 5> kNames{"null", "true or false", "a number", "a text", "an object or a list"};
  return kNames[static_cast<std::size_t>(kind)];
}

/// Walks through a document without keeping it. It refuses what parse_json refuses, except too many values.
class SolutionWalk : public Json::json_sax_t {
 public:
  SolutionWalk(const std::string& name, const std::optional<std::string>& grouped_by) : name_(name), grouped_by_(grouped_by) {
    solution_.name = name;
  }

  bool null() override { return take({Taken::Kind::kNull, 0, {}}); }
  bool boolean(bool) override { return take({Taken::Kind::kBool, 0, {}}); }
  bool number_integer(number_integer_t value) override { return take({Taken::Kind::kNumber, static_cast<double>(value), {}}); }
  bool number_unsigned(number_unsigned_t value) override { return take({Taken::Kind::kNumber, static_cast<double>(value), {}}); }
  bool number_float(number_float_t value, const string_t&) override { return take({Taken::Kind::kNumber, value, {}}); }
  bool string(string_t& value) override {
    refuse_nul(value);
    return path_.size() > kDeepestTaken ? true : take({Taken::Kind::kText, 0, std::move(value)});
  }
  bool binary(binary_t&) override { return false; }
  bool start_object(std::size_t) override { return start(true); }
  bool start_array(std::size_t) override { return start(false); }
  bool end_object() override { return end(); }
  bool end_array() override { return end(); }
  bool key(string_t& name) override {
    refuse_nul(name);
    Level& level = path_.back();
    const std::size_t hash = std::hash<std::string>{}(name);
    if (std::find(level.seen.begin(), level.seen.end(), hash) != level.seen.end())
      storage::refuse(name_, fmt::format("key \"{}\" is repeated. Keep one of them.", base::escaped(name.substr(0, 60))));
    level.seen.push_back(hash);
    if (level.seen.size() > kMostKeys) {
      storage::refuse(
          name_, fmt::format("an object has more than {} keys, so this is not a document of this program. Check that it is the right file.",
                             kMostKeys));
    }
    if (path_.size() <= kDeepestTaken) level.key = name;
    return true;
  }
  bool parse_error(std::size_t byte, const std::string&, const nlohmann::detail::exception& fault) override {
    if (dynamic_cast<const nlohmann::detail::out_of_range*>(&fault) != nullptr)
      storage::refuse(name_, "a number is too large. Correct it.");
    storage::refuse(name_, fmt::format("there is broken JSON at byte {}. Correct it, or write it again.", byte));
  }

  /// Throws: Error(kInput) if a key that a survey needs is missing.
  ArchivedSolution finished() {
    const Place place{name_, "", "solution"};
    if (!is_object_) place.refuse("the document is not an object, so it is not a solution. Give a solution.");
    if (!schema_) place.refuse("the document has no key \"schema\", which must be \"evenwall/solution/1\". Give a solution.");
    Json document(Json::value_t::object);
    put_member(document, "schema", *schema_);
    require_schema(document, place, "solution", SchemaKey::kRequired);
    if (!has_least_) place.refuse("the document has no key \"least_crosstalk\". Solve the session again.");
    if (from_capture_) {
      (place / "recommended/from_capture")
          .refuse(
              "its azimuths count from a recording, not from the zero of a gauge, so they cannot be compared with others. Log the tilts.");
    }
    if (!least_deg_) (place / "least_crosstalk/tilt_deg").refuse("is missing. Solve the session again.");
    solution_.least_crosstalk_deg = *least_deg_ + corrected_deg_.value_or(0);
    if (solution_.equal_crosstalk_deg) *solution_.equal_crosstalk_deg += corrected_deg_.value_or(0);
    return std::move(solution_);
  }

 private:
  static constexpr std::size_t kDeepestTaken = 3;
  struct Level {
    std::string key;
    std::vector<std::size_t> seen;
    bool is_object = true;
  };

  void refuse_nul(const std::string& text) const {
    if (text.find('\0') != std::string::npos) storage::refuse(name_, "a text holds the character U+0000. Remove it.");
  }
  bool start(bool object) {
    if (path_.empty()) is_object_ = object;
    if (path_.size() <= kDeepestTaken && !path_.empty()) take({});
    if (path_.size() >= kDeepest) {
      storage::refuse(
          name_,
          fmt::format(
              "there are more than {} levels of brackets, so this is not a document of this program. Check that it is the right file.",
              kDeepest));
    }
    path_.push_back({{}, {}, object});
    return true;
  }
  bool end() {
    path_.pop_back();
    return true;
  }

  [[nodiscard]] bool at(std::size_t depth, std::string_view first, std::string_view second = {}) const {
    return path_.size() == depth && path_[0].key == first && (depth < 2 || second.empty() || path_[1].key == second);
  }
  [[nodiscard]] Place place() const {
    std::string pointer;
    for (const Level& level : path_) pointer += "/" + level.key;
    return {name_, pointer, "solution"};
  }
  [[noreturn]] void refuse_kind(Taken::Kind found, const char* expected) const {
    place().refuse(fmt::format("is {}, not {}. Correct it.", kind_name(found), expected));
  }

  bool take(Taken value) {
    if (path_.size() > kDeepestTaken || path_.empty()) return true;
    for (const Level& level : path_) {
      if (!level.is_object) return true;
    }
    if (at(1, "schema")) {
      take_text(std::move(value), schema_);
    } else if (at(1, "least_crosstalk")) {
      has_least_ = true;
      if (value.kind != Taken::Kind::kOther) refuse_kind(value.kind, "an object");
    } else if (at(1, "session")) {
      if (value.kind != Taken::Kind::kOther) refuse_kind(value.kind, "an object");
    } else if (at(2, "session")) {
      take_fact(std::move(value));
    } else {
      take_number(value);
    }
    return true;
  }

  void take_number(const Taken& value) {
    if (at(2, "least_crosstalk", "tilt_deg")) {
      if (value.kind != Taken::Kind::kNumber) refuse_kind(value.kind, "a number");
      least_deg_ = in_its_range(value.number);
    } else if (at(2, "least_crosstalk", "u_deg")) {
      solution_.u_least_crosstalk_deg = number_or_null(value);
    } else if (at(2, "equal_crosstalk", "tilt_deg")) {
      solution_.equal_crosstalk_deg = number_or_null(value);
    } else if (at(2, "recommended", "from_capture")) {
      from_capture_ = value.kind != Taken::Kind::kNull;
    } else if (at(3, "options", "record_correction") && path_[2].key == "cut_error_deg") {
      corrected_deg_ = number_or_null(value);
    }
  }
  [[nodiscard]] OptionalNumber number_or_null(const Taken& value) const {
    if (value.kind == Taken::Kind::kNull) return std::nullopt;
    if (value.kind != Taken::Kind::kNumber) refuse_kind(value.kind, "a number");
    return in_its_range(value.number);
  }
  /// Throws: OutOfRange.
  [[nodiscard]] double in_its_range(double number) const {
    const std::size_t depth = path_.size();
    place().require(number, base::range_of("solution", path_[depth - 2].key, path_[depth - 1].key));
    return number;
  }
  void take_text(Taken value, std::optional<std::string>& out) const {
    if (value.kind != Taken::Kind::kText) refuse_kind(value.kind, "a text");
    out = std::move(value.text);
  }
  void take_fact(Taken value) {
    const std::string& key = path_[1].key;
    if (grouped_by_ && key == *grouped_by_ && value.kind == Taken::Kind::kText) solution_.group = value.text;
    std::optional<std::string>* fact = key == "cartridge"     ? &solution_.cartridge
                                       : key == "record"      ? &solution_.record
                                       : key == "record_side" ? &solution_.record_side
                                       : key == "date"        ? &solution_.date
                                                              : nullptr;
    if (fact != nullptr) take_text(std::move(value), *fact);
  }

  const std::string& name_;
  const std::optional<std::string>& grouped_by_;
  ArchivedSolution solution_;
  std::vector<Level> path_;
  std::optional<std::string> schema_;
  OptionalNumber least_deg_, corrected_deg_;
  bool has_least_ = false;
  bool from_capture_ = false;
  bool is_object_ = false;
};

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

ArchivedSolution archived_solution_from_json(std::string_view text, const std::string& name, const std::optional<std::string>& grouped_by) {
  internal::documents::SolutionWalk walk(name, grouped_by);
  internal::documents::walk_json(text, walk);
  return walk.finished();
}

}  // namespace evenwall
