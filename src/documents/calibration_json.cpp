// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads evenwall/calibration/1.
#include <fmt/format.h>

#include <cmath>

#include "documents/json_values.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<CalibrationPoint>) {
  field("frequency_hz", &CalibrationPoint::frequency_hz);
  field("matrix", &CalibrationPoint::matrix);
  field("u_off_diagonal", &CalibrationPoint::u_off_diagonal);
}

template <typename Field>
void describe(Field& field, Like<Calibration>) {
  field("points", &Calibration::points);
}

namespace {

constexpr double kMostCrosstalk = 0.9;       // above it the channels are hardly separate, and E is almost singular
constexpr double kDiagonalTolerance = 1e-9;  // a diagonal element rounded in the text still counts as 1

void require_keys(const Json& object, const Place& place) {
  if (!object.is_object()) place.refuse_type(object, "an object");
  for (const char* key : {"frequency_hz", "matrix", "u_off_diagonal"}) {
    if (find_member(object, key) == nullptr) (place / std::string_view(key)).refuse("is missing. Calibrate again.");
  }
}

void check_matrix(const Matrix2& matrix, const Place& place) {
  for (const std::size_t i : {0U, 3U}) {
    if (!(std::abs(matrix[i] - 1.0) <= kDiagonalTolerance))
      (place / (i / 2) / (i % 2)).refuse("is not 1. Divide each column by its diagonal element.");
  }
  for (const std::size_t i : {1U, 2U}) {
    if (!(std::abs(matrix[i]) < kMostCrosstalk)) {
      (place / (i / 2) / (i % 2))
          .refuse(fmt::format("has a magnitude of {:.3g}, but less than {} is required. Calibrate again.", std::abs(matrix[i]),
                              kMostCrosstalk));
    }
  }
}

void check_point(const CalibrationPoint& point, double above_hz, const Place& place) {
  if (!std::isfinite(point.frequency_hz) || !(point.frequency_hz > above_hz)) {
    (place / "frequency_hz")
        .refuse(fmt::format("is {:g}, but more than {:g} is required. Put the points in ascending order.", point.frequency_hz, above_hz));
  }
  check_matrix(point.matrix, place / "matrix");
  for (std::size_t i = 0; i < point.u_off_diagonal.size(); ++i) {
    const double u = point.u_off_diagonal[i];
    if (!std::isfinite(u) || u < 0) (place / "u_off_diagonal" / i).refuse("is not an uncertainty. Give 0 or a positive number.");
  }
}

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

std::string to_json(const Calibration& calibration) {
  using namespace internal::documents;
  Json document = new_document("calibration");
  put_member(document, "made_by", made_by());
  document.update(json_of(calibration));
  return json_line(document);
}

Calibration calibration_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  const Place place{name, "", "calibration"};
  const Json document = parse_json(text, name);
  require_schema(document, place, "calibration", SchemaKey::kRequired);
  const Json* const points = find_member(document, "points");
  if (points == nullptr) place.refuse("the document has no key \"points\". Calibrate again.");
  if (!points->is_array()) (place / "points").refuse_type(*points, "a list");
  if (points->empty()) (place / "points").refuse("is empty. Calibrate again.");
  for (std::size_t i = 0; i < points->size(); ++i) require_keys((*points)[i], place / "points" / i);
  Calibration calibration;
  read_json(document, place, Strictness::kReadBack, calibration);
  double above_hz = 0;
  for (std::size_t i = 0; i < calibration.points.size(); ++i) {
    check_point(calibration.points[i], above_hz, place / "points" / i);
    above_hz = calibration.points[i].frequency_hz;
  }
  return calibration;
}

}  // namespace evenwall
