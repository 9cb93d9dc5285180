#include "files/json_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <vector>

#include "base/text.hpp"
#include "base/version.hpp"
#include "evenwall/files.hpp"
#include "files/descriptor.hpp"

namespace evenwall {
namespace {

std::string plain_text(const Json& value) { return value.dump(-1, ' ', false, Json::error_handler_t::replace); }

/// The fewest digits that read back as the same number: nlohmann_json now and then writes one more.
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

constexpr int kDeepest = 64;            // levels; ours have 6
constexpr std::size_t kMostKeys = 256;  // in an object: look-up is linear
constexpr std::size_t kShownKey = 60;   // bytes of a key in a message

std::string shown_key(const std::string& key) { return escaped(key.substr(0, kShownKey)); }

/// Watches a document while it is parsed: what the parser accepts but we do not.
class ParseGuard {
 public:
  explicit ParseGuard(const std::string& name) : name_(name) {}

  bool operator()(int depth, Json::parse_event_t event, Json& value) {
    using Event = Json::parse_event_t;
    if (event == Event::object_start || event == Event::array_start) {
      if (depth >= kDeepest) refuse(name_, fmt::format("more than {} levels of brackets; this is none of our documents", kDeepest));
      keys_.resize(static_cast<std::size_t>(depth) + 1);
      keys_.back().clear();
    } else if (event == Event::key) {
      take_key(value.get_ref<const std::string&>());
    } else if (event == Event::object_end || event == Event::array_end) {
      keys_.resize(static_cast<std::size_t>(depth));
    } else if (event == Event::value && value.is_string()) {
      refuse_nul(value.get_ref<const std::string&>());
    }
    return true;
  }

 private:
  void take_key(const std::string& key) {
    refuse_nul(key);
    if (!keys_.back().insert(key).second) refuse(name_, fmt::format("key \"{}\" is repeated; keep one", shown_key(key)));
    if (keys_.back().size() > kMostKeys)
      refuse(name_, fmt::format("more than {} keys in one object; this is none of our documents", kMostKeys));
  }
  void refuse_nul(const std::string& text) const {
    if (text.find('\0') != std::string::npos) refuse(name_, "a text holds the character U+0000; take it out");
  }

  std::string name_;
  std::vector<std::set<std::string>> keys_;
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

}  // namespace

Json parse_json(std::string_view text, const std::string& name) {
  try {
    return Json::parse(text.begin(), text.end(), ParseGuard(name));
  } catch (const Json::parse_error& error) {
    refuse(name, "broken JSON at " + line_and_column(text, error.byte) + "; mend or write it again");
  } catch (const Json::out_of_range&) {
    refuse(name, "a number too large for any use; correct it");
  }
}

std::string json_line(const Json& document) {
  std::string line;
  write(document, line);
  return line;
}

bool is_torn_json(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos || text[first] != '{') return false;
  try {
    return Json::parse(text.begin(), text.end(), ParseGuard("")).is_discarded();
  } catch (const Json::parse_error& error) {
    return error.byte > text.size();
  } catch (const std::exception&) {  // whole, or worse than torn: reading it says what is wrong
    return false;
  }
}

bool is_utf8(const std::string& text) {
  try {
    static_cast<void>(Json(text).dump());
    return true;
  } catch (const Json::type_error&) {
    return false;
  }
}

Json made_by() { return {{"program", kProgram}, {"version", kVersion}, {"method_version", kMethodVersion}}; }

Place Place::operator/(std::string_view key) const { return {document, fmt::format("{}/{}", pointer, key)}; }

Place Place::operator/(std::size_t index) const { return {document, fmt::format("{}/{}", pointer, index)}; }

void Place::refuse(const std::string& found) const {
  evenwall::refuse(document, pointer.empty() ? found : fmt::format("key {} {}", escaped(pointer), found));
}

void Place::refuse_type(const Json& found, const char* expected) const {
  refuse(fmt::format("{}is {} where {} belongs", pointer.empty() ? "the document " : "", type_name(found), expected));
}

void require_schema(const Json& document, const Place& place, std::string_view family, SchemaKey presence) {
  if (!document.is_object()) place.refuse_type(document, "an object");
  const auto at = document.find("schema");
  const std::string expected = fmt::format("evenwall/{}/1", family);
  if (at == document.end()) {
    if (presence == SchemaKey::kOptional) return;
    place.refuse(fmt::format("no key \"schema\"; \"{}\" was expected", expected));
  }
  if (!at->is_string()) (place / "schema").refuse_type(*at, "a text");
  const auto& schema = at->get_ref<const std::string&>();
  if (schema == expected) return;
  if (schema.starts_with(fmt::format("evenwall/{}/", family))) {
    place.refuse(fmt::format("schema \"{}\" is of another version, this program reads \"{}\"; use the program that wrote it",
                             shown_key(schema), expected));
  }
  place.refuse(fmt::format("schema \"{}\" where \"{}\" was expected; is this the right file?", shown_key(schema), expected));
}

std::optional<std::string> schema_of(std::string_view text, const std::string& name) {
  const Json document = parse_json(text, name);
  if (!document.is_object() || !document.contains("schema") || !document["schema"].is_string()) return std::nullopt;
  return document["schema"].get<std::string>();
}

}  // namespace evenwall
