// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads structs as JSON objects. One description of each struct's keys, in the order of the documentation, serves both.
//
//   template <typename Field> void describe(Field& field, Like<NextStep>) { field("tilt_deg", &NextStep::tilt_deg); … }
#pragma once

#include <optional>
#include <string>
#include <type_traits>
#include <utility>
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

Json json_of(double value);  // null unless it is finite
Json json_of(bool value);
Json json_of(int value);
Json json_of(const std::string& value);
Json json_of(const Interval& value);
Json json_of(const Complex& value);
Json json_of(const Matrix2& value);
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

/// Depends on the type of the member only, so that it is compiled once for the members of all structs.
template <typename M>
void write_member(Json& out, const char* key, const M& member) {
  put_member(out, key, json_of(member));
}

template <typename T>
struct FieldWriter {
  const T& object;
  Json& out;
  template <typename M>
  void operator()(const char* key, M T::*member) {
    write_member(out, key, object.*member);
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

void read_json(const Json& value, const Place& place, Strictness strictness, double& out);
void read_json(const Json& value, const Place& place, Strictness strictness, bool& out);
void read_json(const Json& value, const Place& place, Strictness strictness, int& out);
void read_json(const Json& value, const Place& place, Strictness strictness, std::string& out);
void read_json(const Json& value, const Place& place, Strictness strictness, Interval& out);
void read_json(const Json& value, const Place& place, Strictness strictness, Complex& out);
void read_json(const Json& value, const Place& place, Strictness strictness, Matrix2& out);
void read_json(const Json& value, const Place& place, Strictness strictness, SessionFacts& out);
template <typename T>
void read_json(const Json& value, const Place& place, Strictness strictness, std::optional<T>& out) {
  if (value.is_null()) return out.reset();
  T read{};
  read_json(value, place, strictness, read);
  out = std::move(read);
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

  /// Between these two calls, find() only notes the key as known, and returns nullptr. The second call refuses each key that is not known.
  void begin_known();
  void end_known();

 private:
  const Json& object_;
  const Place& place_;
  Strictness strictness_;
  std::size_t next_ = 0;  // keys mostly follow the order of the description
  bool is_noting_ = false;
  std::vector<std::string_view> known_;
  const Json* member(std::string_view key);
};

void read_member(MemberReader& in, const char* key, double& out);
/// Depends on the type of the member only, as write_member does.
template <typename M>
void read_member(MemberReader& in, const char* key, M& out) {
  if (const Json* const at = in.find(key, false)) read_json(*at, in.place_of(key), in.strictness(), out);
}

template <typename T>
struct FieldReader {
  T& object;
  MemberReader& in;

  template <typename M>
  void operator()(const char* key, M T::*member) {
    read_member(in, key, object.*member);
  }
};

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
    MemberReader members(value, place, strictness);
    FieldReader<T> reader{out, members};
    if (strictness == Strictness::kHandWritten) {
      members.begin_known();
      describe(reader, Like<T>{});
      members.end_known();
    }
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
