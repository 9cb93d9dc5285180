// SPDX-License-Identifier: GPL-3.0-or-later
// Gives a compiler a fixed amount of work with the libraries that evenwall includes. build_time.py divides the time of a build by the time
// of this work, so that figures of different machines can be compared. It contains no code of evenwall.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <Eigen/Dense>
#include <nlohmann/json.hpp>

double decomposed(const Eigen::MatrixXd& m) {
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> triangular(m);
  const Eigen::JacobiSVD<Eigen::MatrixXd> singular(m, Eigen::ComputeThinU | Eigen::ComputeThinV);
  return triangular.maxPivot() + singular.singularValues()[0];
}

int main(int argc, char** argv) {
  CLI::App app;
  int size = 4;
  app.add_option("--size", size);
  CLI11_PARSE(app, argc, argv);
  nlohmann::json document = nlohmann::json::parse(R"({"sum": 0})");
  document["sum"] = decomposed(Eigen::MatrixXd::Random(size, size));
  fmt::print("{:.3f} {}\n", document["sum"].get<double>(), document.dump());
}
