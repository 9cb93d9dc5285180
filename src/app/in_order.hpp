// SPDX-License-Identifier: GPL-3.0-or-later
// Runs work in parallel and delivers the results in order.
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

/// The state that the threads of in_order share. At most `kWindow` results wait, so that memory does not grow with the number of items.
template <class Result>
class InOrder {
 public:
  explicit InOrder(std::size_t count) : count_(count) {}

  /// The work of one thread: computes one item after the other until all are begun.
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
      if (*i == taken_) ready_.notify_one();
    }
  }

  /// Waits for the next item in order and returns its result. Throws: any exception of its work.
  Result take_next() {
    std::unique_lock lock(mutex_);
    ready_.wait(lock, [&] { return waiting_.contains(taken_); });
    auto node = waiting_.extract(taken_);
    ++taken_;
    if (idle_ > 0) room_.notify_one();
    if (node.mapped().fault) std::rethrow_exception(node.mapped().fault);
    return std::move(*node.mapped().result);
  }

  /// Prevents the start of any further item.
  void stop() {
    const std::lock_guard lock(mutex_);
    next_ = count_;
    room_.notify_all();
  }

 private:
  static constexpr std::size_t kWindow = 256;
  struct Done {
    std::optional<Result> result;
    std::exception_ptr fault;
  };

  std::optional<std::size_t> begin_one() {
    std::unique_lock lock(mutex_);
    ++idle_;
    room_.wait(lock, [&] { return next_ >= count_ || next_ < taken_ + kWindow; });
    --idle_;
    if (next_ < count_) return next_++;
    room_.notify_all();  // the others need not wait for room either
    return std::nullopt;
  }

  std::size_t count_;
  std::size_t next_ = 0;
  std::size_t taken_ = 0;
  std::size_t idle_ = 0;  ///< threads that wait for room
  std::map<std::size_t, Done> waiting_;
  std::mutex mutex_;
  std::condition_variable ready_;  ///< the next result in order is there
  std::condition_variable room_;   ///< another item may begin
};

/// Computes work(0) … work(count − 1) on `jobs` threads (0: one for each processor) and calls take(i, result) in ascending order on the
/// calling thread. The results depend neither on `jobs` nor on how many threads the system grants: without any, the calling thread does the
/// work. Memory: a few hundred results at a time. Throws: any exception of work or take, after all threads have ended.
template <class Work, class Take>
void in_order(std::size_t count, int jobs, const Work& work, const Take& take) {
  InOrder<decltype(work(std::size_t{}))> shared(count);
  const std::size_t wanted = jobs > 0 ? static_cast<std::size_t>(jobs) : std::max(1U, std::thread::hardware_concurrency());
  std::vector<std::jthread> threads;
  try {
    try {
      while (threads.size() < std::min(wanted, count)) threads.emplace_back([&] { shared.run(work); });
    } catch (const std::system_error&) {  // continues with the threads that the system has granted
    }
    for (std::size_t i = 0; i < count; ++i) {
      if (threads.empty()) {
        take(i, work(i));
      } else {
        take(i, shared.take_next());
      }
    }
  } catch (...) {
    shared.stop();  // the destructors then join the threads
    throw;
  }
}

}  // namespace evenwall::internal::app
