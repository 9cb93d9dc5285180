// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/json_values.hpp"

#include <utility>

namespace evenwall::internal::documents {

void put_member(Json& object, const char* key, Json value) { object[key] = std::move(value); }

CodedText coded_text(const Json& value, const Place& place) {
  CodedText told;
  for (const auto& [key, text] : {std::pair("code", &told.code), std::pair("message", &told.message)}) {
    const auto at = value.find(key);
    if (at != value.end() && !at->is_null()) read_json(*at, place / std::string_view(key), Strictness::kReadBack, *text);
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
  const Json* const at = member(key);
  if (at == nullptr || !at->is_null() || strictness_ == Strictness::kHandWritten) return at;
  if (!is_number) return nullptr;
  if (strictness_ == Strictness::kPage) place_of(key).refuse("is null, not a number. Make the document again.");
  return at;
}

}  // namespace evenwall::internal::documents
