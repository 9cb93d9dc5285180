// SPDX-License-Identifier: GPL-3.0-or-later
// Parses and writes JSON text. Include it from *_json.cpp only: nlohmann_json is slow to compile.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "base/ranges.hpp"
#include "evenwall/error.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::documents {

inline constexpr std::size_t kDeepest = 64;    ///< levels of brackets; the documents of this program have 6
inline constexpr std::size_t kMostKeys = 256;  ///< in one object; look-up is linear

using Json = nlohmann::ordered_json;

/// Thrown if a number is outside the range of its key.
class OutOfRange : public Error {
 public:
  explicit OutOfRange(const std::string& message) : Error(ErrorKind::kInput, message) {}
};

/// Parses one document; a byte-order mark is accepted. Throws: Error(kInput) with line and column for broken JSON (comments, NaN, bad
/// UTF-8, anything after the document), for more than 64 levels, repeated keys, more than 256 keys in an object, and U+0000.
/// Memory: about eight times the text. A text with more values than any document of its length can need is refused.
Json parse_json(std::string_view text, const std::string& name);

/// Does the same, but returns nothing if the text ends before the document does and holds at least its opening brace.
std::optional<Json> parse_untorn_json(std::string_view text, const std::string& name);

/// Passes what the text holds to `sink`. Returns whether the text is JSON to its end.
bool walk_json(std::string_view text, Json::json_sax_t& sink);

/// Writes the document as one line; bytes that are not UTF-8 are replaced. Requires: finite numbers (json_of makes others null).
std::string json_line(const Json& document);

bool is_utf8(const std::string& text);

/// The value of a key; nullptr if the object does not have it, or if the value is no object. The functions of nlohmann_json for this are
/// templates, which are compiled again for each length of a literal.
const Json* find_member(const Json& object, std::string_view key);
/// Sets the value of a key. Not a template, so that less code is compiled.
void put_member(Json& object, const char* key, Json value);

/// {program, version, method_version}
Json made_by();

/// The beginning of a document of this family: an object with its schema.
Json new_document(std::string_view family);

/// The position of a value: the document's name and the JSON pointer. The pointer's text is built only when it is needed. A place below
/// another one refers to it and must not outlive it.
class Place {
 public:
  /// `family`: the document's family, which selects the ranges of its numbers (base/ranges.hpp).
  Place(std::string document, std::string pointer, std::string_view family = {})
      : document_(std::move(document)), pointer_(std::move(pointer)), family_(family) {}
  [[nodiscard]] Place operator/(std::string_view key) const;
  [[nodiscard]] Place operator/(std::size_t index) const;
  [[nodiscard]] bool is_root() const { return parent_ == nullptr && pointer_.empty(); }
  [[nodiscard]] const std::string& document() const { return parent_ == nullptr ? document_ : parent_->document(); }
  [[nodiscard]] std::string pointer() const;
  [[nodiscard]] std::string_view family() const { return parent_ == nullptr ? family_ : parent_->family(); }
  /// The range of a number at this place: the entry for the nearest key below the key above it.
  [[nodiscard]] const base::Range& range() const;
  /// Throws: Error(kInput) with the message "document: key pointer found".
  [[noreturn]] void refuse(const std::string& found) const;
  /// Throws: Error(kInput); the message states the type found and the type expected.
  [[noreturn]] void refuse_type(const Json& found, const char* expected) const;
  /// Throws: OutOfRange, unless the number is in the range.
  void require(double number, const base::Range& range) const;

 private:
  Place(const Place& parent, std::string_view key, std::size_t index) : parent_(&parent), key_(key), index_(index) {}

  /// The nearest place that is a key of an object; nullptr at the root.
  [[nodiscard]] const Place* nearest_key() const;

  std::string document_, pointer_;  ///< used only if parent_ is null
  std::string_view family_;
  const Place* parent_ = nullptr;
  std::string_view key_;
  std::size_t index_ = 0;  ///< in a list, if there is no key
};

/// The value as a number in the range of its place. Throws: Error(kInput) with the key for another type; OutOfRange.
double number_at(const Json& value, const Place& place);

enum class SchemaKey { kRequired, kOptional };

/// Checks that the document is an object of the given schema. Throws: Error(kInput) for another schema or major number, or if
/// `schema` is missing and required.
void require_schema(const Json& document, const Place& place, std::string_view family, SchemaKey presence);

/// Returns the facts of a session file and checks every key. Throws: Error(kInput) with the key.
SessionFacts facts_from_json(const Json& object, const Place& place, Warnings& warnings);
Json json_of(const SessionFacts& facts);

}  // namespace evenwall::internal::documents
