// JSON text in and out. Include from *_json.cpp only: nlohmann_json is slow to compile.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>

#include "evenwall/model.hpp"

namespace evenwall {

using Json = nlohmann::ordered_json;

/// Parses one document; a byte-order mark is accepted. Throws: Error(kInput) with line and column for broken JSON (comments, NaN, bad
/// UTF-8, anything after the document), for more than 64 levels, repeated keys, more than 256 keys in an object, and U+0000.
Json parse_json(std::string_view text, const std::string& name);

/// One line; bytes that are not UTF-8 are replaced. Requires: finite numbers (json_of makes others null).
std::string json_line(const Json& document);

/// Whether the text is the beginning of a document, at least its opening brace, and ends before the document does.
bool is_torn_json(std::string_view text);

bool is_utf8(const std::string& text);

/// {program, version, method_version}
Json made_by();

/// Where a value stands: the document's name and the JSON pointer, written only where it is told. A place below another refers to it, and
/// must not outlive it.
class Place {
 public:
  Place(std::string document, std::string pointer) : document_(std::move(document)), pointer_(std::move(pointer)) {}
  [[nodiscard]] Place operator/(std::string_view key) const { return {*this, key, 0}; }
  [[nodiscard]] Place operator/(std::size_t index) const { return {*this, {}, index}; }
  [[nodiscard]] bool is_root() const { return parent_ == nullptr && pointer_.empty(); }
  [[nodiscard]] const std::string& document() const { return parent_ == nullptr ? document_ : parent_->document(); }
  [[nodiscard]] std::string pointer() const;
  /// Throws Error(kInput): "document: pointer found".
  [[noreturn]] void refuse(const std::string& found) const;
  /// Throws Error(kInput): pointer is a …, … was expected.
  [[noreturn]] void refuse_type(const Json& found, const char* expected) const;

 private:
  Place(const Place& parent, std::string_view key, std::size_t index) : parent_(&parent), key_(key), index_(index) {}

  std::string document_, pointer_;  ///< of a place that refers to none
  const Place* parent_ = nullptr;
  std::string_view key_;
  std::size_t index_ = 0;  ///< in a list, where there is no key
};

enum class SchemaKey { kRequired, kOptional };

/// The document as an object of the given schema. Throws: Error(kInput) for another schema or major number, or where `schema` is missing
/// and required.
void require_schema(const Json& document, const Place& place, std::string_view family, SchemaKey presence);

/// The facts of a session file, every key checked. Throws: Error(kInput) with the key.
SessionFacts facts_from_json(const Json& object, const Place& place, Warnings& warnings);
Json json_of(const SessionFacts& facts);

}  // namespace evenwall
