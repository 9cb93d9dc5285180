#include "numeric/fft.hpp"

#include <fftw3.h>

#include <cmath>
#include <mutex>
#include <new>
#include <numbers>

/// FFTW calls this, its own, where it gets no memory, and would print a line and end the program: the linker takes ours instead.
/// The exception passes through FFTW's frames, which hold nothing but the planner's memory.
extern "C" [[noreturn]] void fftw_assertion_failed(const char* /*what*/, int /*line*/, const char* /*file*/) { throw std::bad_alloc(); }
extern "C" [[noreturn]] void fftwf_assertion_failed(const char* /*what*/, int /*line*/, const char* /*file*/) { throw std::bad_alloc(); }

namespace evenwall {
namespace {

// FFTW's planner keeps global state; only execution is free of it.
std::mutex& planner_lock() {
  static std::mutex lock;
  return lock;
}

}  // namespace

struct StereoSpectrum::Plan {
  explicit Plan(std::size_t size) {
    const std::lock_guard guard(planner_lock());
    data = fftw_alloc_complex(size);
    plan = data == nullptr ? nullptr : fftw_plan_dft_1d(static_cast<int>(size), data, data, FFTW_FORWARD, FFTW_ESTIMATE);
    if (plan == nullptr) {
      fftw_free(data);
      throw std::bad_alloc();
    }
  }
  ~Plan() {
    const std::lock_guard guard(planner_lock());
    fftw_destroy_plan(plan);
    fftw_free(data);
  }
  Plan(const Plan&) = delete;
  Plan& operator=(const Plan&) = delete;

  fftw_complex* data = nullptr;
  fftw_plan plan = nullptr;
};

StereoSpectrum::StereoSpectrum(std::vector<double> window)
    : window_(std::move(window)),
      plan_(std::make_unique<Plan>(window_.size())),
      spectra_{std::vector<std::complex<double>>(window_.size() / 2 + 1), std::vector<std::complex<double>>(window_.size() / 2 + 1)} {
  for (const double w : window_) window_sum_ += w;
}

StereoSpectrum::~StereoSpectrum() = default;
StereoSpectrum::StereoSpectrum(StereoSpectrum&&) noexcept = default;

const TwoSpectra& StereoSpectrum::transform(const float* interleaved) {
  const std::size_t n = window_.size();
  fftw_complex* z = plan_->data;
  for (std::size_t i = 0; i < n; ++i) {
    z[i][0] = window_[i] * static_cast<double>(interleaved[2 * i]);
    z[i][1] = window_[i] * static_cast<double>(interleaved[2 * i + 1]);
  }
  fftw_execute(plan_->plan);
  // A real signal's spectrum is conjugate-symmetric, so the even part of Z is left and the odd part j·right.
  for (std::size_t k = 0; k <= n / 2; ++k) {
    const std::complex<double> here(z[k][0], z[k][1]);
    const std::complex<double> mirror(z[(n - k) % n][0], -z[(n - k) % n][1]);
    spectra_.left[k] = 0.5 * (here + mirror);
    spectra_.right[k] = std::complex<double>(0, -0.5) * (here - mirror);
  }
  return spectra_;
}

struct LookSpectrum::Plan {
  explicit Plan(std::size_t size) {
    const std::lock_guard guard(planner_lock());
    in = fftwf_alloc_complex(size);
    out = fftwf_alloc_complex(size);
    plan = in == nullptr || out == nullptr ? nullptr : fftwf_plan_dft_1d(static_cast<int>(size), in, out, FFTW_FORWARD, FFTW_ESTIMATE);
    if (plan == nullptr) {
      fftwf_free(in);
      fftwf_free(out);
      throw std::bad_alloc();
    }
  }
  ~Plan() {
    const std::lock_guard guard(planner_lock());
    fftwf_destroy_plan(plan);
    fftwf_free(in);
    fftwf_free(out);
  }
  Plan(const Plan&) = delete;
  Plan& operator=(const Plan&) = delete;

  fftwf_complex* in = nullptr;
  fftwf_complex* out = nullptr;
  fftwf_plan plan = nullptr;
};

LookSpectrum::LookSpectrum(const std::vector<double>& window)
    : size_(window.size()), plan_(std::make_unique<Plan>(size_)), transformed_(reinterpret_cast<const std::complex<float>*>(plan_->out)) {
  for (const double w : window) {
    window_sum_ += w;
    window_.insert(window_.end(), 2, static_cast<float>(w));
  }
}

LookSpectrum::~LookSpectrum() = default;
LookSpectrum::LookSpectrum(LookSpectrum&&) noexcept = default;

void LookSpectrum::transform(const float* interleaved) {
  float* z = &plan_->in[0][0];
  for (std::size_t i = 0; i < 2 * size_; ++i) z[i] = window_[i] * interleaved[i];
  fftwf_execute(plan_->plan);
}

std::vector<float> LookSpectrum::power() const {
  // |left|² + |right|² = (|Z(k)|² + |Z(−k)|²)/2: the channels need not be parted for it.
  const float* out = &plan_->out[0][0];
  const auto square = [out](std::size_t k) { return out[2 * k] * out[2 * k] + out[2 * k + 1] * out[2 * k + 1]; };
  std::vector<float> power(bins());
  power[0] = square(0);
  for (std::size_t k = 1; k < power.size(); ++k) power[k] = 0.5F * (square(k) + square(size_ - k));
  return power;
}

std::vector<double> hann_window(std::size_t size) {
  std::vector<double> window(size);
  for (std::size_t i = 0; i <= size / 2; ++i) {
    window[i] = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(size));
  }
  for (std::size_t i = size / 2 + 1; i < size; ++i) window[i] = window[size - i];
  return window;
}

}  // namespace evenwall
