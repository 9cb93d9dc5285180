// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/tilt_questions.hpp"

#include <unistd.h>

#include <string>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::app;

namespace {

/// Sends the questions to a pipe in the place of standard output while it exists.
struct Asking {
  int shown[2]{}, typed[2]{}, kept_output = ::dup(STDOUT_FILENO);
  Console console{Chatter::kNormal};

  Asking() {
    REQUIRE(::pipe(shown) == 0);
    REQUIRE(::pipe(typed) == 0);
    ::dup2(shown[1], STDOUT_FILENO);
  }
  Asking(const Asking&) = delete;
  Asking& operator=(const Asking&) = delete;
  ~Asking() {
    ::dup2(kept_output, STDOUT_FILENO);
    for (const int end : {shown[0], shown[1], typed[0], typed[1], kept_output}) ::close(end);
  }
  void type(const std::string& text) const { static_cast<void>(::write(typed[1], text.data(), text.size()) > 0); }
  /// The text shown so far. Requires: there is some.
  [[nodiscard]] std::string text() const {
    char block[4096];
    const ssize_t n = ::read(shown[0], block, sizeof block);
    return {block, static_cast<std::size_t>(std::max<ssize_t>(n, 0))};
  }
};

}  // namespace

TEST_CASE("recordings are asked for one after the other, and each answer becomes a row") {
  const TempFolder folder;
  std::string first, again, second;
  std::optional<std::string> added, skipped;
  int open = 0, none = 0;
  {
    Asking asking;
    TiltQuestions questions(asking.console, true, asking.typed[0]);
    asking.type("9\n");  // before the question
    questions.ask({"a.wav", "b.wav"}, {"tilt_deg", true});
    first = asking.text();
    open = questions.descriptor();
    asking.type("much\n");
    questions.answer(folder.path());
    again = asking.text();
    asking.type("1,5 as found\n");
    added = questions.answer(folder.path());
    questions.ask({"b.wav"}, {"tilt_deg", true});
    second = asking.text();
    asking.type("\n");
    skipped = questions.answer(folder.path());
    questions.ask({"b.wav"}, {"tilt_deg", true});
    none = questions.descriptor();
  }
  CHECK(first.starts_with("a.wav: type its tilt in degrees"));
  CHECK(first.find("The use may follow the number (yes, no, verify or as_found), as in 1.5 verify.\n") != std::string::npos);
  CHECK(open >= 0);
  CHECK(again.starts_with("\"much\" is not a number."));
  CHECK(again.find("a.wav: type its tilt") != std::string::npos);
  CHECK(added == "a.wav");
  CHECK(second.starts_with("b.wav: type its tilt"));
  CHECK_FALSE(skipped);
  CHECK(none == -1);
  CHECK(folder.read("steps.csv") == "capture,tilt_deg,use\na.wav,1.5,as_found\n");
}

TEST_CASE("an answer for a recording that has got a row meanwhile is not written, and that is said") {
  const TempFolder folder;
  std::string said;
  std::optional<std::string> added;
  {
    Asking asking;
    TiltQuestions questions(asking.console, true, asking.typed[0]);
    questions.ask({"a.wav"}, {"tilt_deg", true});
    static_cast<void>(asking.text());
    folder.write("steps.csv", "capture,tilt_deg,use\na.wav,-0.5,\n");  // another program was faster
    asking.type("1.5\n");
    added = questions.answer(folder.path());
    said = asking.text();
  }
  CHECK(added == "a.wav");
  CHECK(
      said ==
      "a.wav: steps.csv already has a row for it, with the tilt -0.5°. What you typed was not written. Correct the row if it is wrong.\n");
  CHECK(folder.read("steps.csv") == "capture,tilt_deg,use\na.wav,-0.5,\n");
}

TEST_CASE("nothing is asked without a terminal, without a tilt column, or after the input has ended") {
  const TempFolder folder;
  int without_terminal = 0, without_column = 0, before = 0, after = 0;
  {
    Asking asking;
    TiltQuestions silent(asking.console, false, asking.typed[0]);
    silent.ask({"a.wav"}, {"tilt_deg", true});
    without_terminal = silent.descriptor();
    TiltQuestions questions(asking.console, true, asking.typed[0]);
    questions.ask({"a.wav"}, {});
    without_column = questions.descriptor();
    questions.ask({"a.wav"}, {"tilt_units", false});
    before = questions.descriptor();
    ::close(asking.typed[1]);
    questions.answer(folder.path());
    questions.ask({"a.wav"}, {"tilt_units", false});
    after = questions.descriptor();
  }
  CHECK(without_terminal == -1);
  CHECK(without_column == -1);
  CHECK(before >= 0);
  CHECK(after == -1);
  CHECK(folder.entries() == 0);
}
