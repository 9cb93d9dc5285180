// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/json_text.hpp"

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::documents;

namespace {

std::string refused_json_text(std::string_view text) {
  return refusal_of([&] { parse_json(text, "doc.json"); });
}
std::string nested(std::size_t depth, const char* open, const char* close) {
  std::string text;
  for (std::size_t i = 0; i < depth; ++i) text += open;
  for (std::size_t i = 0; i < depth; ++i) text += close;
  return text;
}

}  // namespace

TEST_CASE("More than 64 levels of nesting are refused while the text is parsed") {
  CHECK(parse_json(nested(64, "[", "]"), "doc.json").is_array());
  CHECK(holds(refused_json_text(nested(65, "[", "]")), "64 levels"));
  CHECK(holds(refused_json_text(nested(100000, "[", "")), "64 levels"));
  CHECK(holds(refused_json_text(nested(100000, "{\"a\":", "")), "64 levels"));
}

TEST_CASE("A repeated key is refused at any level, and the same key in two objects is accepted") {
  CHECK(holds(refused_json_text(R"({"a":1,"b":{"c":1,"c":2}})"), "key \"c\" is repeated"));
  CHECK(holds(refused_json_text(R"([{"a":1},{"a":1,"a":2}])"), "key \"a\" is repeated"));
  CHECK(holds(refused_json_text(R"({"a":{"x":1},"b":2,"a":3})"), "key \"a\" is repeated"));
  CHECK(parse_json(R"([{"a":1},{"a":{"a":2}}])", "d").size() == 2);
}

TEST_CASE("Broken JSON is refused, and the message names its place") {
  CHECK(holds(refused_json_text("{\n  \"a\": 1,\n  \"b\": NaN\n}"), "doc.json: there is broken JSON at line 3"));
  for (const char* text : {"", "{", "[1,]", "{\"a\":1,}", "[1] x", "[Infinity]", "[-Infinity]", "// c\n1", "/*c*/1", "['a']", "[01]",
                           "[\"\xff\"]", "[\"\\ud800\"]", "[\"a\nb\"]", "[1e999]"}) {
    INFO(text);
    CHECK(holds(refused_json_text(text), "doc.json: "));
    CHECK_FALSE(holds(refused_json_text(text), "nothing was refused"));
  }
  CHECK(holds(refused_json_text("[\"a\\u0000b\"]"), "U+0000"));
  CHECK(holds(refused_json_text("{\"a\\u0000b\":1}"), "U+0000"));
  CHECK(parse_json("\xef\xbb\xbf[1]", "d").size() == 1);
}

TEST_CASE("A torn document is recognised as the beginning of a document") {
  for (const char* torn : {"{", " {\"a\"", "{\"a\":", "{\"a\":tru", "{\"a\":1.", "{\"a\":[1,{", "{\"a\":\"\xc3", "{\"a\":\"\\u00"})
    CHECK_FALSE(parse_untorn_json(torn, "d"));
  for (const char* broken : {"", " ", "[", "nul", "{]", "{\"a\":1}}", "{\"a\":\"\xc3\"}", "{\"a\":1,\"a\":2"})
    CHECK(holds(refusal_of([&] { parse_untorn_json(broken, "doc.json"); }), "doc.json: "));
  CHECK(parse_untorn_json("{}", "d").value().is_object());
}

TEST_CASE("A document with too many values for its length is refused, and a long list of numbers is accepted") {
  std::string dense = "[{}";
  std::string numbers = "[0.123456";
  for (int i = 0; i < 100000; ++i) dense += ",{}";
  for (int i = 0; i < 100000; ++i) numbers += ",0.123456";
  CHECK(holds(refused_json_text(dense + "]"), "doc.json: the file holds more values"));
  CHECK(parse_json(numbers + "]", "doc.json").size() == 100001);
}

TEST_CASE("An object of thousands of keys is refused") {
  std::string text = "{\"k\":0";
  for (int i = 0; i < 5000; ++i) text += ",\"k" + std::to_string(i) + "\":0";
  CHECK(holds(refused_json_text(text + "}"), "256 keys"));
}

TEST_CASE("Numbers are written with the fewest digits that give the same number, and keep their decimal point") {
  // nlohmann_json writes the first one as -39.860920120572374. All were recomputed with Python's repr, an independent reference.
  const Json document{
      {"a", -39.86092012057237}, {"b", {16000.0, -0.0, 1e-5, 0.0001, 1e22, 5e-324}}, {"c", Json::array()}, {"d", Json::object()}, {"e", 7}};
  CHECK(json_line(document) == R"({"a":-39.86092012057237,"b":[16000.0,-0.0,1e-05,0.0001,1e+22,5e-324],"c":[],"d":{},"e":7})");
}

TEST_CASE("A member is found by its key, and a value without members has none") {
  const Json object = parse_json(R"({"a": 1, "bc": null})", "x.json");
  REQUIRE(find_member(object, "a") != nullptr);
  CHECK(*find_member(object, "a") == 1);
  REQUIRE(find_member(object, "bc") != nullptr);
  CHECK(find_member(object, "bc")->is_null());
  CHECK(find_member(object, "b") == nullptr);
  CHECK(find_member(parse_json("[1, 2]", "x.json"), "a") == nullptr);
  CHECK(find_member(Json(1), "a") == nullptr);
}

TEST_CASE("A new document begins with its schema, and members follow in their order") {
  Json document = new_document("survey");
  put_member(document, "z", 1);
  put_member(document, "a", "x");
  put_member(document, "z", 2);
  CHECK(json_line(document) == R"({"schema":"evenwall/survey/1","z":2,"a":"x"})");
}

TEST_CASE("A walk passes on what a text holds, and reports whether the text is JSON") {
  struct Numbers : nlohmann::json_sax<Json> {
    std::vector<double> found;
    bool null() override { return true; }
    bool boolean(bool) override { return true; }
    bool number_integer(number_integer_t n) override { return found.push_back(static_cast<double>(n)), true; }
    bool number_unsigned(number_unsigned_t n) override { return found.push_back(static_cast<double>(n)), true; }
    bool number_float(number_float_t n, const string_t&) override { return found.push_back(n), true; }
    bool string(string_t&) override { return true; }
    bool binary(binary_t&) override { return true; }
    bool start_object(std::size_t) override { return true; }
    bool key(string_t&) override { return true; }
    bool end_object() override { return true; }
    bool start_array(std::size_t) override { return true; }
    bool end_array() override { return true; }
    bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override { return false; }
  } numbers;
  CHECK(walk_json(R"({"a": [1, -2], "b": 0.5})", numbers));
  CHECK(numbers.found == std::vector<double>{1, -2, 0.5});
  CHECK_FALSE(walk_json(R"({"a": [1, )", numbers));
}

TEST_CASE("A document is written as one line, whatever its texts contain") {
  const Json document{{"quote\"key", {{"nested", {1, nullptr, true, "line\nend", "\u00e9"}}}}, {"empty", ""}};
  CHECK(json_line(document) == document.dump());
}
