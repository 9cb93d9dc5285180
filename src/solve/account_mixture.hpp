// SPDX-License-Identifier: GPL-3.0-or-later
// Describes a mixture of very many accounts by fewer.
#pragma once

#include <vector>

#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// A session of a thousand steps has thousands of accounts: each step may be logged wrong. Most of them are improbable and hardly differ.
/// Accounts below kSmallAccount whose φ0, k and variance of φ0 lie in one cell (kMixtureCell standard deviations of the likeliest account
/// wide, a quarter of an octave for the variance) and that have the same gauge become one account, with the mean and the covariance of
/// their mixture:
///
///     m = Σ p_i m_i / Σ p_i        V = Σ p_i (V_i + (m_i − m)(m_i − m)ᵀ) / Σ p_i
///
/// Probabilities add up. `wrong` and `exchanged` of a merged account are empty. Accuracy: quantiles of a criterion change by less than
/// 0.001 of the standard uncertainty (tests/unit/solve/account_mixture_test.cpp). Cost: linear, up to sorting.
std::vector<TiltAccount> condensed(const std::vector<TiltAccount>& accounts);

}  // namespace evenwall::internal::solve
