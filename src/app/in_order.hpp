// Work done in parallel, taken in order.
#pragma once

#include <algorithm>
#include <atomic>
#include <future>
#include <system_error>
#include <thread>
#include <vector>

namespace evenwall::app {

/// Computes work(0) … work(count − 1) on `jobs` threads (0: one for each processor) and calls take(i, result) in ascending order on the
/// calling thread. What is taken never depends on `jobs`, nor on how many threads the system grants: with none, the calling thread does the
/// work first. Throws: what work or take throws, once no thread runs any more.
template <class Work, class Take>
void in_order(std::size_t count, int jobs, const Work& work, const Take& take) {
  using Result = decltype(work(std::size_t{}));
  std::vector<std::promise<Result>> promises(count);
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (std::size_t i = next.fetch_add(1); i < count; i = next.fetch_add(1)) {
      try {
        promises[i].set_value(work(i));
      } catch (...) {
        promises[i].set_exception(std::current_exception());
      }
    }
  };
  const std::size_t wanted = jobs > 0 ? static_cast<std::size_t>(jobs) : std::max(1U, std::thread::hardware_concurrency());
  std::vector<std::jthread> threads;
  try {
    try {
      while (threads.size() < std::min(wanted, count)) threads.emplace_back(run);
    } catch (const std::system_error&) {
      if (threads.empty()) run();
    }
    for (std::size_t i = 0; i < count; ++i) take(i, promises[i].get_future().get());
  } catch (...) {
    next = count;  // nothing new is begun; the threads are joined on the way out
    throw;
  }
}

}  // namespace evenwall::app
