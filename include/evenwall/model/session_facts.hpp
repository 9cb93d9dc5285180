// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the facts that the user states about a session in session.json.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/audio.hpp"
#include "evenwall/model/band.hpp"

namespace evenwall {

enum class Band { kLeft, kRight, kLateral, kVertical };
enum class StepUse { kYes, kNo, kVerify, kAsFound };

struct Stylus {
  std::optional<std::string> profile;  ///< for people
  OptionalNumber major_radius_um;
  OptionalNumber tilt_limit_deg;  ///< largest tilt to either side of upright_at_deg
  OptionalNumber upright_at_deg;  ///< tilt at which the stylus stands upright in the groove (0)

  bool operator==(const Stylus&) const = default;
};

/// The content of session.json as given. Every key is optional.
struct SessionFacts {
  std::optional<std::string> cartridge, record, record_side, rig, operator_name /* JSON key: operator */, date;
  std::optional<std::string> client, workshop, notes;  ///< for the page and the archive; no result depends on them
  std::optional<std::string> cartridge_model, anti_skate, gauge_certificate;
  OptionalNumber vtf_mn;             ///< vertical tracking force, in millinewtons
  OptionalNumber temperature_c;      ///< of the air, in degrees Celsius
  OptionalNumber tolerance_deg;      ///< largest remaining azimuth error that the user accepts, to either side
  std::optional<Aim> aim;            ///< the criterion that the recommended azimuth is to meet
  std::optional<Adjuster> settings;  ///< what the adjuster can reach; absent: any setting
  std::optional<Stylus> stylus;
  std::vector<Band> bands;  ///< order on the record; empty if not given
  OptionalNumber gauge_u_deg, gauge_zero_u_deg, gauge_scale_u, record_u_deg;
  OptionalNumber slope_u;                  ///< standard uncertainty of each channel's crosstalk per tilt, as a share of the geometric value
  OptionalNumber cut_level_difference_db;  ///< left-only over right-only band as cut
  OptionalNumber cut_level_u_db;
  OptionalNumber electronics_crosstalk_db;  ///< of preamplifier and recorder, if no calibration corrects it
  OptionalNumber hole_spacing_mm, shim_span_mm, frequency_hz, rpm;
  std::optional<std::string> calibration;
  std::map<std::string, std::string> other_texts;  ///< unknown keys with a text value; they cause a warning and are kept for grouping
};

}  // namespace evenwall
