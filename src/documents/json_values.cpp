// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/json_values.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace evenwall::internal::documents {

Json json_of(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json json_of(bool value) { return value; }

Json json_of(int value) { return value; }

Json json_of(const std::string& value) { return value; }

Json json_of(const Interval& value) {
  Json list = Json::array();
  for (const double limit : value) list.push_back(json_of(limit));
  return list;
}

Json json_of(const Complex& value) {
  Json object = Json::object();
  put_member(object, "re", json_of(value.real()));
  put_member(object, "im", json_of(value.imag()));
  return object;
}

Json json_of(const Matrix2& value) {
  Json rows = Json::array();
  for (std::size_t row = 0; row < 2; ++row) {
    Json elements = Json::array();
    for (std::size_t column = 0; column < 2; ++column) elements.push_back(json_of(value[2 * row + column]));
    rows.push_back(std::move(elements));
  }
  return rows;
}

void read_json(const Json& value, const Place& place, Strictness strictness, double& out) {
  if (value.is_null() && strictness != Strictness::kHandWritten) {
    out = std::numeric_limits<double>::quiet_NaN();
    return;
  }
  out = number_at(value, place);
}

void read_json(const Json& value, const Place& place, Strictness, bool& out) {
  if (!value.is_boolean()) place.refuse_type(value, "true or false");
  out = value.get<bool>();
}

void read_json(const Json& value, const Place& place, Strictness, int& out) {
  // get<int> must never be called for a number that may be out of range. 2.0 is not accepted as a whole number.
  const double number = number_at(value, place);
  if (!value.is_number_integer()) place.refuse_type(value, "a whole number");
  out = static_cast<int>(number);
}

void read_json(const Json& value, const Place& place, Strictness, std::string& out) {
  if (!value.is_string()) place.refuse_type(value, "a text");
  out = value.get<std::string>();
}

void read_json(const Json& value, const Place& place, Strictness strictness, Interval& out) {
  if (!value.is_array() || value.size() != 2) place.refuse("is not a list of two numbers. Correct it.");
  for (std::size_t i = 0; i < 2; ++i) read_json(value[i], place / i, strictness, out[i]);
}

void read_json(const Json& value, const Place& place, Strictness, Complex& out) {
  const Json* const re = find_member(value, "re");
  const Json* const im = find_member(value, "im");
  if (value.size() != 2 || re == nullptr || im == nullptr || !re->is_number() || !im->is_number())
    place.refuse("is not a complex number such as {\"re\": 1, \"im\": 0}. Correct it.");
  const base::Range& range = place.range();  // of the pair, which represents one number
  out = {re->get<double>(), im->get<double>()};
  (place / "re").require(out.real(), range);
  (place / "im").require(out.imag(), range);
}

void read_json(const Json& value, const Place& place, Strictness strictness, Matrix2& out) {
  if (!value.is_array() || value.size() != 2) place.refuse("is not a matrix of two rows. Correct it.");
  for (std::size_t row = 0; row < 2; ++row) {
    if (!value[row].is_array() || value[row].size() != 2) (place / row).refuse("is not a row of two complex numbers. Correct it.");
    for (std::size_t column = 0; column < 2; ++column)
      read_json(value[row][column], place / row / column, strictness, out[2 * row + column]);
  }
}

void read_json(const Json& value, const Place& place, Strictness, SessionFacts& out) {
  Warnings ignored;  // unknown keys were reported when the session file was read
  out = facts_from_json(value, place, ignored);
}

CodedText coded_text(const Json& value, const Place& place) {
  CodedText told;
  for (const auto& [key, text] : {std::pair("code", &told.code), std::pair("message", &told.message)}) {
    const Json* const at = find_member(value, key);
    if (at != nullptr && !at->is_null()) read_json(*at, place / std::string_view(key), Strictness::kReadBack, *text);
  }
  return told;
}

void read_json(const Json& value, const Place& place, Strictness, Warning& out) {
  if (!value.is_object()) place.refuse_type(value, "an object");
  const CodedText told = coded_text(value, place);
  const auto ours = enum_named<WarningCode>(told.code);
  out = {ours.value_or(WarningCode::kOther), ours ? told.message : told.whole()};
}

const Json* MemberReader::member(std::string_view key) {
  const auto& members = object_.get_ref<const Json::object_t&>();
  for (std::size_t looked = 0; looked < members.size(); ++looked) {
    if (next_ >= members.size()) next_ = 0;
    const auto& [name, value] = *(members.begin() + static_cast<std::ptrdiff_t>(next_++));
    if (name == key) return &value;
  }
  return nullptr;
}

const Json* MemberReader::find(const char* key, bool is_number) {
  if (is_noting_) {
    known_.emplace_back(key);
    return nullptr;
  }
  const Json* const at = member(key);
  if (at == nullptr || !at->is_null() || strictness_ == Strictness::kHandWritten) return at;
  if (!is_number) return nullptr;
  if (strictness_ == Strictness::kPage) place_of(key).refuse("is null, not a number. Make the document again.");
  return at;
}

void MemberReader::begin_known() { is_noting_ = true; }

void MemberReader::end_known() {
  is_noting_ = false;
  for (const auto& [key, value] : object_.items()) {
    const bool is_about_document = place_.is_root() && (key == "schema" || key == "made_by");
    if (!is_about_document && std::find(known_.begin(), known_.end(), key) == known_.end())
      (place_ / key).refuse("is unknown. Remove it, or correct its name.");
  }
}

void read_member(MemberReader& in, const char* key, double& out) {
  if (const Json* const at = in.find(key, true)) {
    read_json(*at, in.place_of(key), in.strictness(), out);
  } else if (in.strictness() != Strictness::kHandWritten) {
    out = std::numeric_limits<double>::quiet_NaN();
  }
}

}  // namespace evenwall::internal::documents
