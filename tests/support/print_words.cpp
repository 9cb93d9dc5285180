// SPDX-License-Identifier: GPL-3.0-or-later
// Prints the tables of evenwall/words.hpp as JSON, one table per line, for the script that compares the documentation with them.
#include <cstdio>
#include <string>

#include "evenwall/words.hpp"

using namespace evenwall;

namespace {

template <typename E>
void print(const char* name) {
  std::string words;
  for (const auto& [value, word] : kNamesOf<E>) words += (words.empty() ? "\"" : ", \"") + std::string(word) + "\"";
  std::printf("{\"table\": \"%s\", \"words\": [%s]}\n", name, words.c_str());
}

}  // namespace

int main() {
  print<Band>("Band");
  print<SimulatedSignal>("SimulatedSignal");
  print<StepUse>("StepUse");
  print<PassageKind>("PassageKind");
  print<Driven>("Driven");
  print<Relation>("Relation");
  print<Basis>("Basis");
  print<Aim>("Aim");
  print<Weighting>("Weighting");
  print<Candidate>("Candidate");
  print<Scope>("Scope");
  print<Sense>("Sense");
  print<BalanceSource>("BalanceSource");
  print<Side>("Side");
  print<StepFlag>("StepFlag");
  print<TurnFrom>("TurnFrom");
  print<TurnDirection>("TurnDirection");
  print<VerdictState>("VerdictState");
  print<CorrectedCause>("CorrectedCause");
  print<ReadingFault>("ReadingFault");
  print<WarningCode>("WarningCode");
}
