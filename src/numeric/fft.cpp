// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/fft.hpp"

#include <fftw3.h>

#include <array>
#include <cassert>
#include <cmath>
#include <mutex>
#include <new>
#include <numbers>
#include <utility>

/// FFTW calls this function if it gets no memory. FFTW's own version prints a line and ends the program; the linker takes this one instead.
/// The exception passes through FFTW's frames, which hold only the planner's memory.
extern "C" [[noreturn]] void fftw_assertion_failed(const char* /*what*/, int /*line*/, const char* /*file*/) { throw std::bad_alloc(); }
extern "C" [[noreturn]] void fftwf_assertion_failed(const char* /*what*/, int /*line*/, const char* /*file*/) { throw std::bad_alloc(); }

namespace evenwall::internal::numeric {
namespace {

// FFTW's planner uses global state; only execution does not.
struct Planner {
  std::mutex lock;
  bool broken = false;
};
Planner& planner() {
  static Planner planner;
  return planner;
}

/// Returns the plan that `make` creates. Throws: std::bad_alloc if memory fails. FFTW's tables then stay half built, so every later call
/// throws it too, in any thread.
template <typename Make>
auto planned(Make make) {
  const std::lock_guard guard(planner().lock);
  if (planner().broken) throw std::bad_alloc();
  planner().broken = true;
  const auto plan = make();
  if (plan == nullptr) throw std::bad_alloc();
  planner().broken = false;
  return plan;
}

/// Stores unused objects of all threads. The passages of a capture need the same sizes repeatedly, and planning a size or computing its
/// window takes as long as several transforms. Threads have no stores of their own: destroying one at the end of its thread takes memory,
/// and the system's library ends the program if it gets none.
template <typename Kept>
class Spares {
 public:
  /// Removes and returns an object of that size; an empty one if there is none.
  Kept take(std::size_t size) {
    const std::lock_guard guard(lock_);
    for (auto& [its_size, kept] : places_) {
      if (its_size == size) return its_size = 0, std::move(kept);
    }
    return {};
  }
  /// Stores an object in the place that was filled the longest time ago.
  void keep(std::size_t size, Kept kept) {
    std::pair<std::size_t, Kept> gone(size, std::move(kept));  // destroyed after the lock is released
    const std::lock_guard guard(lock_);
    std::swap(places_[next_], gone);
    next_ = (next_ + 1) % places_.size();
  }

 private:
  std::mutex lock_;
  std::array<std::pair<std::size_t, Kept>, 8> places_{};
  std::size_t next_ = 0;
};

template <typename Plan>
Spares<std::unique_ptr<Plan>>& spare_plans() {
  static Spares<std::unique_ptr<Plan>> spares;
  return spares;
}

template <typename Plan>
std::unique_ptr<Plan> plan_of(std::size_t size) {
  auto plan = spare_plans<Plan>().take(size);
  return plan ? std::move(plan) : std::make_unique<Plan>(size);
}

template <typename Plan>
void keep_plan(std::unique_ptr<Plan> plan) {
  if (!plan) return;
  const std::size_t size = plan->size;
  spare_plans<Plan>().keep(size, std::move(plan));
}

}  // namespace

struct StereoSpectrum::Plan {
  explicit Plan(std::size_t points) : size(points) {
    plan = planned([&] {
      data = fftw_alloc_complex(size);
      return data == nullptr ? nullptr : fftw_plan_dft_1d(static_cast<int>(size), data, data, FFTW_FORWARD, FFTW_ESTIMATE);
    });
  }
  ~Plan() {
    const std::lock_guard guard(planner().lock);
    fftw_destroy_plan(plan);
    fftw_free(data);
  }
  Plan(const Plan&) = delete;
  Plan& operator=(const Plan&) = delete;

  std::size_t size;
  fftw_complex* data = nullptr;
  fftw_plan plan = nullptr;
};

StereoSpectrum::StereoSpectrum(std::vector<double> window)
    : window_(std::move(window)),
      plan_(plan_of<Plan>(window_.size())),
      spectra_{std::vector<std::complex<double>>(window_.size() / 2 + 1), std::vector<std::complex<double>>(window_.size() / 2 + 1)} {
  assert(window_.size() >= 4 && window_.size() % 2 == 0);
  for (const double w : window_) window_sum_ += w;
}

StereoSpectrum::~StereoSpectrum() { keep_plan(std::move(plan_)); }
StereoSpectrum::StereoSpectrum(StereoSpectrum&&) noexcept = default;

const TwoSpectra& StereoSpectrum::transform(const float* interleaved) {
  const std::size_t n = window_.size();
  fftw_complex* z = plan_->data;
  for (std::size_t i = 0; i < n; ++i) {
    z[i][0] = window_[i] * static_cast<double>(interleaved[2 * i]);
    z[i][1] = window_[i] * static_cast<double>(interleaved[2 * i + 1]);
  }
  fftw_execute(plan_->plan);
  // A real signal's spectrum is conjugate-symmetric, so the even part of Z is the left channel, and the odd part is j·right.
  for (std::size_t k = 0; k <= n / 2; ++k) {
    const std::complex<double> here(z[k][0], z[k][1]);
    const std::complex<double> mirror(z[(n - k) % n][0], -z[(n - k) % n][1]);
    spectra_.left[k] = 0.5 * (here + mirror);
    spectra_.right[k] = std::complex<double>(0, -0.5) * (here - mirror);
  }
  return spectra_;
}

struct LookSpectrum::Plan {
  explicit Plan(std::size_t points) : size(points) {
    plan = planned([&] {
      in = fftwf_alloc_complex(size);
      out = fftwf_alloc_complex(size);
      return in == nullptr || out == nullptr ? nullptr : fftwf_plan_dft_1d(static_cast<int>(size), in, out, FFTW_FORWARD, FFTW_ESTIMATE);
    });
  }
  ~Plan() {
    const std::lock_guard guard(planner().lock);
    fftwf_destroy_plan(plan);
    fftwf_free(in);
    fftwf_free(out);
  }
  Plan(const Plan&) = delete;
  Plan& operator=(const Plan&) = delete;

  std::size_t size;
  fftwf_complex* in = nullptr;
  fftwf_complex* out = nullptr;
  fftwf_plan plan = nullptr;
};

LookSpectrum::LookSpectrum(const std::vector<double>& window)
    : size_(window.size()), plan_(plan_of<Plan>(size_)), transformed_(reinterpret_cast<const std::complex<float>*>(plan_->out)) {
  assert(size_ >= 4 && size_ % 2 == 0);
  for (const double w : window) {
    window_sum_ += w;
    window_.insert(window_.end(), 2, static_cast<float>(w));
  }
}

LookSpectrum::~LookSpectrum() { keep_plan(std::move(plan_)); }
LookSpectrum::LookSpectrum(LookSpectrum&&) noexcept = default;

void LookSpectrum::transform(const float* interleaved) {
  float* z = &plan_->in[0][0];
  for (std::size_t i = 0; i < 2 * size_; ++i) z[i] = window_[i] * interleaved[i];
  fftwf_execute(plan_->plan);
}

const std::vector<float>& LookSpectrum::power() {
  // |left|² + |right|² = (|Z(k)|² + |Z(−k)|²)/2: the channels need not be separated for it.
  // Two plain loops: the first computes all squares in one direction, the second computes their sums.
  const float* out = &plan_->out[0][0];
  squares_.resize(size_);
  for (std::size_t k = 0; k < size_; ++k) squares_[k] = out[2 * k] * out[2 * k] + out[2 * k + 1] * out[2 * k + 1];
  power_.resize(bins());
  power_[0] = squares_[0];
  const float* mirror = squares_.data() + size_;
  for (std::size_t k = 1; k < power_.size(); ++k) power_[k] = 0.5F * (squares_[k] + *(mirror - k));
  return power_;
}

double hann_response(double bins) {
  const double x = std::abs(bins);
  if (x < 1e-6) return 1.0;
  if (std::abs(x - 1) < 1e-6) return 0.5;
  return std::sin(std::numbers::pi * x) / (std::numbers::pi * x * (1.0 - x * x));
}

std::vector<double> hann_window(std::size_t size) {
  static Spares<std::vector<double>> known;
  std::vector<double> window = known.take(size);
  if (!window.empty()) {
    known.keep(size, window);
    return window;
  }
  window.resize(size);
  for (std::size_t i = 0; i <= size / 2; ++i) {
    window[i] = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(size));
  }
  for (std::size_t i = size / 2 + 1; i < size; ++i) window[i] = window[size - i];
  known.keep(size, window);
  return window;
}

}  // namespace evenwall::internal::numeric
