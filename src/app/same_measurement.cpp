// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/same_measurement.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <map>
#include <numeric>

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kUsualNumbers = 64;  // enough for three passages at one frequency
constexpr double kTolerance = 1e-9;        // relative; the differences between processors and libraries are smaller
constexpr double kWeightStep = 0.618;      // between the weights of adjacent numbers, so that exchanged numbers change the sum

/// Collects the numbers of one measurement.
class Numbers {
 public:
  Numbers() { list_.reserve(kUsualNumbers); }
  void add(double value, double magnitude) { list_.push_back({value, kTolerance * magnitude}); }
  void add(double value) { add_number(list_, value); }
  void add(const OptionalNumber& value) {
    add(value ? 1.0 : 0.0);
    add(value.value_or(0));
  }
  void add(const Passage& passage) {
    add(static_cast<double>(passage.kind));
    add(static_cast<double>(passage.driven));
    add(passage.relation ? static_cast<double>(*passage.relation) : -1.0);
    add(passage.start_s);
    add(passage.end_s);
    for (const OptionalNumber& hz : {passage.frequency_hz, passage.frequency_from_hz, passage.frequency_to_hz}) add(hz);
    add(passage.level_left_dbfs);
    add(passage.level_right_dbfs);
  }
  void add(const std::optional<Leak>& leak) {
    add(leak ? 1.0 : 0.0);
    if (!leak) return;
    const Complex value = leak->same_passage.value;
    add(value.real(), std::abs(value));
    add(value.imag(), std::abs(value));
  }
  void add(const LeakPair& pair) {
    add(pair.frequency_hz);
    add(pair.right_into_left);
    add(pair.left_into_right);
  }
  [[nodiscard]] std::vector<MeasuredNumber> take() { return std::move(list_); }

 private:
  std::vector<MeasuredNumber> list_;
};

/// A weighted sum of a measurement's numbers, and the largest difference from the sum on another processor.
MeasuredNumber sorting_key(const std::vector<MeasuredNumber>& numbers) {
  MeasuredNumber key{0, 0};
  double weight = 1;
  for (const MeasuredNumber& number : numbers) {
    key.value += weight * number.value;
    key.tolerance += weight * number.tolerance;
    weight += kWeightStep;
  }
  return key;
}

/// Groups measurements by their audio. They must be added in the order of their keys.
class Grouping {
 public:
  void join(std::size_t index, std::vector<MeasuredNumber> numbers) {
    const MeasuredNumber key = sorting_key(numbers);
    for (auto group = groups_.rbegin(); group != groups_.rend() && key.value - group->key.value <= 2 * key.tolerance; ++group) {
      if (!same_measurement(group->numbers, numbers)) continue;
      group->members.push_back(index);
      return;
    }
    groups_.push_back({key, std::move(numbers), {index}});
  }
  /// The groups with two or more members.
  [[nodiscard]] std::vector<std::vector<std::size_t>> shared() const {
    std::map<std::size_t, std::vector<std::size_t>> by_first;
    for (const Group& group : groups_) {
      std::vector<std::size_t> members = group.members;
      std::sort(members.begin(), members.end());
      if (members.size() > 1) by_first[members.front()] = members;
    }
    std::vector<std::vector<std::size_t>> lists;
    for (auto& [first, members] : by_first) lists.push_back(std::move(members));
    return lists;
  }

 private:
  struct Group {
    MeasuredNumber key;
    std::vector<MeasuredNumber> numbers;
    std::vector<std::size_t> members;
  };
  std::vector<Group> groups_;
};

}  // namespace

void add_number(std::vector<MeasuredNumber>& numbers, double value) {
  if (!std::isfinite(value)) value = 0;  // the level of digital silence, for which a document has null
  numbers.push_back({value, kTolerance * std::max(1.0, std::abs(value))});
}

std::vector<MeasuredNumber> numbers_measured(const Measurement& measurement) {
  if (!(measurement.audio.sample_rate_hz > 0) || measurement.passages.empty()) return {};
  Numbers numbers;
  numbers.add(measurement.audio.sample_rate_hz);
  numbers.add(static_cast<double>(measurement.audio.channels));
  numbers.add(measurement.audio.duration_s);
  for (const Passage& passage : measurement.passages) numbers.add(passage);
  for (const LeakPair& pair : measurement.crosstalk_spectrum) numbers.add(pair);
  if (measurement.crosstalk_spectrum.empty()) numbers.add(measurement.crosstalk);
  return numbers.take();
}

bool same_measurement(const std::vector<MeasuredNumber>& a, const std::vector<MeasuredNumber>& b) {
  const auto equal = [](const MeasuredNumber& x, const MeasuredNumber& y) {
    return std::abs(x.value - y.value) <= std::max(x.tolerance, y.tolerance);
  };
  return !a.empty() && std::equal(a.begin(), a.end(), b.begin(), b.end(), equal);
}

bool same_measurement(const Measurement& a, const Measurement& b) { return same_measurement(numbers_measured(a), numbers_measured(b)); }

std::vector<std::vector<std::size_t>> measurements_of_same_audio(const std::vector<const Measurement*>& measurements) {
  std::vector<std::pair<double, std::size_t>> order;
  std::vector<std::vector<MeasuredNumber>> numbers;
  for (const Measurement* measurement : measurements) {
    numbers.push_back(numbers_measured(*measurement));
    const double key = sorting_key(numbers.back()).value;
    // A sum from a damaged document may exceed the range of double and could then not be sorted.
    if (!numbers.back().empty() && std::isfinite(key)) order.emplace_back(key, numbers.size() - 1);
  }
  std::sort(order.begin(), order.end());
  Grouping grouping;
  for (const auto& [key, index] : order) grouping.join(index, std::move(numbers[index]));
  return grouping.shared();
}

}  // namespace evenwall::internal::app
