// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads structs as JSON objects. One description of each struct's keys, in the order of the documentation, serves both.
//
//   template <typename Field> void describe(Field& field, Like<NextStep>) { field("tilt_deg", &NextStep::tilt_deg); … }
#pragma once

#include <cmath>
#include <limits>
#include <optional>
#include <string>
#include <type_traits>
#include <vector>

#include "documents/json_text.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::documents {

template <typename T>
struct Like {};

/// Described here because several kinds of document hold warnings.
template <typename Field>
void describe(Field& field, Like<Warning>) {
  field("code", &Warning::code);
  field("message", &Warning::message);
}

/// How strictly a document is read. kReadBack is for output of this program: unknown keys are ignored, and a required number that is null
/// or missing becomes NaN. kHandWritten is for input of a user: unknown keys are refused, and a missing key means the struct's default.
/// kPage is for the content of a page: as kReadBack, but a required number that is null is refused.
enum class Strictness { kReadBack, kHandWritten, kPage };

Json json_of(const ComplexEstimate& estimate);
void read_json(const Json& value, const Place& place, Strictness strictness, ComplexEstimate& out);
/// An unknown code, which a later version may have, is kept in the message.
void read_json(const Json& value, const Place& place, Strictness strictness, Warning& out);

/// A code and a message as a document has them; empty if they are missing or null.
struct CodedText {
  std::string code, message;
  [[nodiscard]] std::string whole() const { return code.empty() ? message : code + ": " + message; }
};
/// Requires: the value is an object. Throws: Error(kInput) if one of them is not a text.
CodedText coded_text(const Json& value, const Place& place);
template <typename T>
Json json_of(const T& object);
template <typename T>
void read_json(const Json& value, const Place& place, Strictness strictness, T& out);

// ---------------------------------------------------------------- writing

inline Json json_of(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }
inline Json json_of(bool value) { return value; }
inline Json json_of(int value) { return value; }
inline Json json_of(const std::string& value) { return value; }
inline Json json_of(const Interval& value) { return Json::array({json_of(value[0]), json_of(value[1])}); }
inline Json json_of(const Complex& value) { return {{"re", json_of(value.real())}, {"im", json_of(value.imag())}}; }
inline Json json_of(const Matrix2& m) {
  return Json::array({Json::array({json_of(m[0]), json_of(m[1])}), Json::array({json_of(m[2]), json_of(m[3])})});
}
template <typename T>
Json json_of(const std::optional<T>& value) {
  return value ? json_of(*value) : Json(nullptr);
}
template <typename T>
Json json_of(const std::vector<T>& values) {
  Json list = Json::array();
  for (const T& value : values) list.push_back(json_of(value));
  return list;
}

/// Not a template: one function for all fields, so that less code is compiled.
void put_member(Json& object, const char* key, Json value);

template <typename T>
struct FieldWriter {
  const T& object;
  Json& out;
  template <typename M>
  void operator()(const char* key, M T::*member) {
    put_member(out, key, json_of(object.*member));
  }
};

template <typename T>
Json json_of(const T& object) {
  if constexpr (std::is_enum_v<T>) {
    return enum_name(object);
  } else {
    Json out = Json::object();
    FieldWriter<T> writer{object, out};
    describe(writer, Like<T>{});
    return out;
  }
}

// ---------------------------------------------------------------- reading

inline void read_json(const Json& value, const Place& place, Strictness strictness, double& out) {
  if (value.is_null() && strictness != Strictness::kHandWritten) {
    out = std::numeric_limits<double>::quiet_NaN();
    return;
  }
  out = number_at(value, place);
}
inline void read_json(const Json& value, const Place& place, Strictness, bool& out) {
  if (!value.is_boolean()) place.refuse_type(value, "true or false");
  out = value.get<bool>();
}
inline void read_json(const Json& value, const Place& place, Strictness, int& out) {
  // get<int> must never be called for a number that may be out of range. 2.0 is not accepted as a whole number.
  const double number = number_at(value, place);
  if (!value.is_number_integer()) place.refuse_type(value, "a whole number");
  out = static_cast<int>(number);
}
inline void read_json(const Json& value, const Place& place, Strictness, std::string& out) {
  if (!value.is_string()) place.refuse_type(value, "a text");
  out = value.get<std::string>();
}
inline void read_json(const Json& value, const Place& place, Strictness strictness, Interval& out) {
  if (!value.is_array() || value.size() != 2) place.refuse("is not a list of two numbers. Correct it.");
  for (std::size_t i = 0; i < 2; ++i) read_json(value[i], place / i, strictness, out[i]);
}
inline void read_json(const Json& value, const Place& place, Strictness, Complex& out) {
  const bool complete = value.is_object() && value.size() == 2 && value.contains("re") && value.contains("im");
  if (!complete || !value["re"].is_number() || !value["im"].is_number())
    place.refuse("is not a complex number such as {\"re\": 1, \"im\": 0}. Correct it.");
  const base::Range& range = place.range();  // of the pair, which represents one number
  out = {value["re"].get<double>(), value["im"].get<double>()};
  (place / "re").require(out.real(), range);
  (place / "im").require(out.imag(), range);
}
inline void read_json(const Json& value, const Place& place, Strictness strictness, Matrix2& out) {
  if (!value.is_array() || value.size() != 2) place.refuse("is not a matrix of two rows. Correct it.");
  for (std::size_t row = 0; row < 2; ++row) {
    if (!value[row].is_array() || value[row].size() != 2) (place / row).refuse("is not a row of two complex numbers. Correct it.");
    for (std::size_t column = 0; column < 2; ++column)
      read_json(value[row][column], place / row / column, strictness, out[2 * row + column]);
  }
}
inline void read_json(const Json& value, const Place& place, Strictness, SessionFacts& out) {
  Warnings ignored;  // unknown keys were reported when the session file was read
  out = facts_from_json(value, place, ignored);
}
template <typename T>
void read_json(const Json& value, const Place& place, Strictness strictness, std::optional<T>& out) {
  out.reset();
  if (value.is_null()) return;
  read_json(value, place, strictness, out.emplace());
}
template <typename T>
void read_json(const Json& value, const Place& place, Strictness strictness, std::vector<T>& out) {
  if (!value.is_array()) place.refuse_type(value, "a list");
  out.clear();
  for (std::size_t i = 0; i < value.size(); ++i) read_json(value[i], place / i, strictness, out.emplace_back());
}

/// Reads the members of an object one after the other.
class MemberReader {
 public:
  MemberReader(const Json& object, const Place& place, Strictness strictness) : object_(object), place_(place), strictness_(strictness) {}

  [[nodiscard]] Strictness strictness() const { return strictness_; }
  [[nodiscard]] Place place_of(const char* key) const { return place_ / std::string_view(key); }
  /// The value of a key that must be read; nullptr if it is missing, or null and may be null. Refuses a null number that may not be null.
  const Json* find(const char* key, bool is_number);

 private:
  const Json& object_;
  const Place& place_;
  Strictness strictness_;
  std::size_t next_ = 0;  // keys mostly follow the order of the description
  const Json* member(std::string_view key);
};

template <typename T>
struct FieldReader {
  T& object;
  MemberReader& in;

  template <typename M>
  void operator()(const char* key, M T::*member) {
    if (const Json* const at = in.find(key, std::is_same_v<M, double>)) {
      read_json(*at, in.place_of(key), in.strictness(), object.*member);
    } else if constexpr (std::is_same_v<M, double>) {
      if (in.strictness() != Strictness::kHandWritten) object.*member = std::numeric_limits<double>::quiet_NaN();
    }
  }
};

/// Collects the keys that a description names, to find a key that it does not name.
template <typename T>
struct FieldNames {
  std::vector<std::string> names;
  template <typename M>
  void operator()(const char* key, M T::*) {
    names.emplace_back(key);
  }
};

template <typename T>
void refuse_unknown(const Json& object, const Place& place) {
  FieldNames<T> known;
  describe(known, Like<T>{});
  for (const auto& [key, value] : object.items()) {
    bool is_known = place.is_root() && (key == "schema" || key == "made_by");
    for (const std::string& name : known.names) is_known |= name == key;
    if (!is_known) (place / key).refuse("is unknown. Remove it, or correct its name.");
  }
}

template <typename T>
void read_json(const Json& value, const Place& place, Strictness strictness, T& out) {
  if constexpr (std::is_enum_v<T>) {
    std::string name;
    read_json(value, place, strictness, name);
    const auto named = enum_named<T>(name);
    if (!named) place.refuse("is not one of " + enum_list<T>() + ". Correct it.");
    out = *named;
  } else {
    if (!value.is_object()) place.refuse_type(value, "an object");
    if (strictness == Strictness::kHandWritten) refuse_unknown<T>(value, place);
    MemberReader members(value, place, strictness);
    FieldReader<T> reader{out, members};
    describe(reader, Like<T>{});
  }
}

template <typename Field>
void describe(Field& field, Like<MadeBy>) {
  field("program", &MadeBy::program);
  field("version", &MadeBy::version);
  field("method_version", &MadeBy::method_version);
}

}  // namespace evenwall::internal::documents
