// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/json_values.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"

using namespace evenwall;
using namespace evenwall::internal::documents;

TEST_CASE("Members are found in any order, and null counts as absent except for numbers") {
  const Json object = Json::parse(R"({"c": 3, "a": null, "b": 2})");
  const Place place("d.json", "");
  MemberReader ours(object, place, Strictness::kReadBack);
  CHECK(*ours.find("b", true) == 2);
  CHECK(*ours.find("c", true) == 3);
  CHECK(ours.find("absent", true) == nullptr);
  CHECK(ours.find("a", false) == nullptr);
  CHECK(ours.find("a", true)->is_null());
  MemberReader by_hand(object, place, Strictness::kHandWritten);
  CHECK(by_hand.find("a", false)->is_null());
  MemberReader page(object, place, Strictness::kPage);
  CHECK(page.find("a", false) == nullptr);
  CHECK(holds(refusal_of([&] { page.find("a", true); }), "d.json: key /a is null, not a number"));
}

TEST_CASE("A member is written once and keeps its place") {
  Json object = Json::object();
  put_member(object, "b", 1);
  put_member(object, "a", 2);
  put_member(object, "b", 3);
  CHECK(object.dump() == R"({"b":3,"a":2})");
}

TEST_CASE("A code and its message are read even if one of them is missing") {
  const Place place("d.json", "");
  CHECK(coded_text(Json::parse(R"({"code": "x", "message": "y"})"), place).whole() == "x: y");
  CHECK(coded_text(Json::parse(R"({"code": null, "message": "y"})"), place).whole() == "y");
  CHECK(coded_text(Json::parse("{}"), place).whole().empty());
  CHECK(holds(refusal_of([&] { coded_text(Json::parse(R"({"code": 5})"), place); }), "key /code is a number"));
}
