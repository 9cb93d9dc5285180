// SPDX-License-Identifier: GPL-3.0-or-later
// Work done in parallel, taken in order.
#pragma once

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <map>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>
#include <utility>
#include <vector>

namespace evenwall::internal::app {

/// What the threads of in_order share: at most `kWindow` results wait to be taken, so that memory never grows with the number of items.
template <class Result>
class InOrder {
 public:
  explicit InOrder(std::size_t count) : count_(count) {}

  /// A thread's part: computes one item after the other until none is left.
  template <class Work>
  void run(const Work& work) {
    for (std::optional<std::size_t> i = begin_one(); i; i = begin_one()) {
      Done done;
      try {
        done.result.emplace(work(*i));
      } catch (...) {
        done.fault = std::current_exception();
      }
      const std::lock_guard lock(mutex_);
      waiting_.emplace(*i, std::move(done));
      changed_.notify_all();
    }
  }

  /// The result of the next item in order, waited for. Throws: what its work threw.
  Result take_next() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return waiting_.contains(taken_); });
    auto node = waiting_.extract(taken_);
    ++taken_;
    changed_.notify_all();
    if (node.mapped().fault) std::rethrow_exception(node.mapped().fault);
    return std::move(*node.mapped().result);
  }

  /// No further item is begun.
  void stop() {
    const std::lock_guard lock(mutex_);
    next_ = count_;
    changed_.notify_all();
  }

 private:
  static constexpr std::size_t kWindow = 256;
  struct Done {
    std::optional<Result> result;
    std::exception_ptr fault;
  };

  std::optional<std::size_t> begin_one() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return next_ >= count_ || next_ < taken_ + kWindow; });
    if (next_ >= count_) return std::nullopt;
    return next_++;
  }

  std::size_t count_;
  std::size_t next_ = 0;
  std::size_t taken_ = 0;
  std::map<std::size_t, Done> waiting_;
  std::mutex mutex_;
  std::condition_variable changed_;
};

/// Computes work(0) … work(count − 1) on `jobs` threads (0: one for each processor) and calls take(i, result) in ascending order on the
/// calling thread. What is taken never depends on `jobs`, nor on how many threads the system grants: with none, the calling thread does the
/// work. Memory: a few hundred results at a time. Throws: what work or take throws, once no thread runs any more.
template <class Work, class Take>
void in_order(std::size_t count, int jobs, const Work& work, const Take& take) {
  InOrder<decltype(work(std::size_t{}))> shared(count);
  const std::size_t wanted = jobs > 0 ? static_cast<std::size_t>(jobs) : std::max(1U, std::thread::hardware_concurrency());
  std::vector<std::jthread> threads;
  try {
    try {
      while (threads.size() < std::min(wanted, count)) threads.emplace_back([&] { shared.run(work); });
    } catch (const std::system_error&) {  // as many as the system grants
    }
    for (std::size_t i = 0; i < count; ++i) {
      if (threads.empty()) {
        take(i, work(i));
      } else {
        take(i, shared.take_next());
      }
    }
  } catch (...) {
    shared.stop();  // the threads are joined on the way out
    throw;
  }
}

}  // namespace evenwall::internal::app
