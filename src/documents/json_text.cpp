// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/json_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>
#include <vector>

#include "base/text.hpp"
#include "base/version.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::documents {
namespace {

std::string plain_text(const Json& value) { return value.dump(-1, ' ', false, Json::error_handler_t::replace); }

/// The fewest digits that read back as the same number; nlohmann_json sometimes writes one more.
std::string number_text(double value) {
  std::string text = fmt::format("{}", value);
  if (text.find_first_of(".e") == std::string::npos) text += ".0";
  return text;
}

void write(const Json& value, std::string& out) {
  if (value.is_number_float()) {
    out += number_text(value.get<double>());
  } else if (value.is_array() || value.is_object()) {
    const bool named = value.is_object();
    const char* before = named ? "{" : "[";
    if (value.empty()) out += before;
    for (const auto& [key, element] : value.items()) {
      out += before;
      if (named) out += plain_text(key) + ":";
      write(element, out);
      before = ",";
    }
    out += named ? "}" : "]";
  } else {
    out += plain_text(value);
  }
}

constexpr std::size_t kFewValues = 50000;  // allowed in any document, however short
constexpr std::size_t kBytesForValue = 8;  // of text, on average, in a longer document; a value takes about 60 bytes of memory
constexpr std::size_t kShownKey = 60;      // bytes of a key in a message

std::string shown_key(const std::string& key) { return base::escaped(key.substr(0, kShownKey)); }

/// Builds a document from what the parser finds, and refuses what the parser accepts but this program does not.
class DocumentMaker : public Json::json_sax_t {
 public:
  DocumentMaker(const std::string& name, std::size_t text_bytes)
      : name_(name), text_bytes_(text_bytes), most_values_(kFewValues + text_bytes / kBytesForValue) {}
  [[nodiscard]] Json& document() { return document_; }
  /// Whether the text ended before the document did. Requires: broken_at().
  [[nodiscard]] bool is_torn() const { return *broken_at_ > text_bytes_ && document_.is_object(); }
  /// The byte (from 1) at which the text stops being JSON.
  [[nodiscard]] std::optional<std::size_t> broken_at() const { return broken_at_; }

  bool null() override { return add(nullptr); }
  bool boolean(bool value) override { return add(value); }
  bool number_integer(number_integer_t value) override { return add(value); }
  bool number_unsigned(number_unsigned_t value) override { return add(value); }
  bool number_float(number_float_t value, const string_t&) override { return add(value); }
  bool string(string_t& value) override {
    refuse_nul(value);
    return add(std::as_const(value));  // a copy: the parser keeps its buffer for the next one
  }
  bool binary(binary_t&) override { return false; }
  bool start_object(std::size_t) override { return open(Json::value_t::object); }
  bool start_array(std::size_t) override { return open(Json::value_t::array); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool key(string_t& key) override {
    refuse_nul(key);
    auto& object = open_.back()->get_ref<Json::object_t&>();
    const auto same = [&](const auto& member) { return member.first == key; };
    if (std::any_of(object.begin(), object.end(), same))
      storage::refuse(name_, fmt::format("key \"{}\" is repeated. Keep one of them.", shown_key(key)));
    if (object.size() >= kMostKeys) {
      storage::refuse(
          name_, fmt::format("an object has more than {} keys, so this is not a document of this program. Check that it is the right file.",
                             kMostKeys));
    }
    // Appends to the list itself, because ordered_map would search for the key again.
    static_cast<Json::object_t::Container&>(object).emplace_back(std::as_const(key), nullptr);
    return true;
  }
  bool parse_error(std::size_t byte, const std::string&, const nlohmann::detail::exception& fault) override {
    if (dynamic_cast<const Json::out_of_range*>(&fault) != nullptr) storage::refuse(name_, "a number is too large. Correct it.");
    broken_at_ = byte;
    return false;
  }

 private:
  /// Puts the next value in its place and returns it there.
  Json& place(Json value) {
    if (++values_ > most_values_) {
      storage::refuse(
          name_, "the file holds more values than a document of its length can need. It is not read. Check that it is the right file.");
    }
    if (open_.empty()) return document_ = std::move(value);
    if (open_.back()->is_object()) return open_.back()->get_ref<Json::object_t&>().back().second = std::move(value);
    return open_.back()->get_ref<Json::array_t&>().emplace_back(std::move(value));
  }
  bool add(Json value) {
    place(std::move(value));
    return true;
  }
  bool open(Json::value_t kind) {
    if (open_.size() >= kDeepest) {
      storage::refuse(
          name_,
          fmt::format(
              "there are more than {} levels of brackets, so this is not a document of this program. Check that it is the right file.",
              kDeepest));
    }
    open_.push_back(&place(Json(kind)));
    return true;
  }
  bool close() {
    open_.pop_back();
    return true;
  }
  void refuse_nul(const std::string& text) const {
    if (text.find('\0') != std::string::npos) storage::refuse(name_, "a text holds the character U+0000. Remove it.");
  }

  const std::string& name_;
  std::size_t text_bytes_, most_values_;
  std::size_t values_ = 0;
  std::optional<std::size_t> broken_at_;
  Json document_;
  std::vector<Json*> open_;  // a list grows only while its elements are closed, so these pointers remain valid
};

std::string line_and_column(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte > 0 ? byte - 1 : 0, text.size()));
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const std::size_t start = before.rfind('\n') == std::string_view::npos ? 0 : before.rfind('\n') + 1;
  return fmt::format("line {}, column {}", line, before.size() - start + 1);
}

const char* type_name(const Json& value) {
  switch (value.type()) {
    case Json::value_t::null:
      return "null";
    case Json::value_t::object:
      return "an object";
    case Json::value_t::array:
      return "a list";
    case Json::value_t::string:
      return "a text";
    case Json::value_t::boolean:
      return "true or false";
    default:
      return "a number";
  }
}

/// Advice on a number outside its range.
const char* advice(std::string_view family) {
  if (family == "reading") return "The step is excluded. Measure the recording again, or correct the reading.";
  if (family == "session" || family == "scenario") return "Nothing was computed. Correct the file.";
  return "The document is not used. Make it again with this program, or correct it.";
}

}  // namespace

bool walk_json(std::string_view text, Json::json_sax_t& sink) { return Json::sax_parse(text.begin(), text.end(), &sink); }

std::optional<Json> parse_untorn_json(std::string_view text, const std::string& name) {
  DocumentMaker maker(name, text.size());
  if (walk_json(text, maker)) return std::move(maker.document());
  if (maker.is_torn()) return std::nullopt;
  storage::refuse(name, "there is broken JSON at " + line_and_column(text, *maker.broken_at()) + ". Correct it, or write it again.");
}

Json parse_json(std::string_view text, const std::string& name) {
  if (auto document = parse_untorn_json(text, name)) return std::move(*document);
  storage::refuse(name, "there is broken JSON at " + line_and_column(text, text.size() + 1) + ". Correct it, or write it again.");
}

std::string json_line(const Json& document) {
  std::string line;
  write(document, line);
  return line;
}

bool is_utf8(const std::string& text) {
  try {
    static_cast<void>(Json(text).dump());
    return true;
  } catch (const Json::type_error&) {
    return false;
  }
}

const Json* find_member(const Json& object, std::string_view key) {
  const auto at = object.find(key);
  return at == object.end() ? nullptr : &*at;
}

void put_member(Json& object, const char* key, Json value) { object[key] = std::move(value); }

Json made_by() {
  Json maker(Json::value_t::object);
  put_member(maker, "program", std::string(base::kProgram));
  put_member(maker, "version", std::string(base::kVersion));
  put_member(maker, "method_version", base::kMethodVersion);
  return maker;
}

Json new_document(std::string_view family) {
  Json document(Json::value_t::object);
  put_member(document, "schema", fmt::format("evenwall/{}/1", family));
  return document;
}

Place Place::operator/(std::string_view key) const { return {*this, key, 0}; }
Place Place::operator/(std::size_t index) const { return {*this, {}, index}; }

std::string Place::pointer() const {
  if (parent_ == nullptr) return pointer_;
  return key_.data() != nullptr ? fmt::format("{}/{}", parent_->pointer(), key_) : fmt::format("{}/{}", parent_->pointer(), index_);
}

void Place::refuse(const std::string& found) const {
  storage::refuse(document(), is_root() ? found : fmt::format("key {} {}", base::escaped(pointer()), found));
}

void Place::refuse_type(const Json& found, const char* expected) const {
  refuse(fmt::format("{}is {}, not {}. Correct it.", is_root() ? "the document " : "", type_name(found), expected));
}

const Place* Place::nearest_key() const {
  const Place* at = this;
  while (at != nullptr && at->key_.data() == nullptr) at = at->parent_;
  return at;
}

const base::Range& Place::range() const {
  const Place* const here = nearest_key();
  if (here == nullptr) throw Error(ErrorKind::kInternal, "a number has no key. Please report this.");
  const Place* const above = here->parent_ != nullptr ? here->parent_->nearest_key() : nullptr;
  return base::range_of(family(), above != nullptr ? above->key_ : std::string_view(), here->key_);
}

void Place::require(double number, const base::Range& range) const {
  if (base::in_range(range, number)) return;
  throw OutOfRange(
      fmt::format("{}: key {} is {}. {}", document(), base::escaped(pointer()), base::out_of_range_text(range, number), advice(family())));
}

double number_at(const Json& value, const Place& place) {
  if (!value.is_number()) place.refuse_type(value, "a number");
  const auto number = value.get<double>();
  place.require(number, place.range());
  return number;
}

void require_schema(const Json& document, const Place& place, std::string_view family, SchemaKey presence) {
  if (!document.is_object()) place.refuse_type(document, "an object");
  const Json* const at = find_member(document, "schema");
  const std::string expected = fmt::format("evenwall/{}/1", family);
  if (at == nullptr) {
    if (presence == SchemaKey::kOptional) return;
    place.refuse(fmt::format("the document has no key \"schema\", which must be \"{}\". Check that it is the right file.", expected));
  }
  if (!at->is_string()) (place / "schema").refuse_type(*at, "a text");
  const auto& schema = at->get_ref<const std::string&>();
  if (schema == expected) return;
  if (schema.starts_with(fmt::format("evenwall/{}/", family))) {
    place.refuse(fmt::format("schema \"{}\" is of another version, and this program reads \"{}\". Use the program that wrote it.",
                             shown_key(schema), expected));
  }
  place.refuse(fmt::format("the schema is \"{}\", but \"{}\" is required. Check that it is the right file.", shown_key(schema), expected));
}

}  // namespace evenwall::internal::documents

namespace evenwall {

std::optional<std::string> schema_of(std::string_view text, const std::string& name) {
  const internal::documents::Json document = internal::documents::parse_json(text, name);
  const auto* const schema = internal::documents::find_member(document, "schema");
  if (schema == nullptr || !schema->is_string()) return std::nullopt;
  return schema->get<std::string>();
}

}  // namespace evenwall
