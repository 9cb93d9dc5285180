// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a file once with libsndfile's own sf_readf_float, 64 k frames per call. Its time is the unit of the speed figures.
#include <sndfile.h>

#include <cstdio>
#include <vector>

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  SF_INFO info{};
  SNDFILE* file = sf_open(argv[1], SFM_READ, &info);
  if (file == nullptr) return 1;
  std::vector<float> block(static_cast<std::size_t>(info.channels) * 65536);
  sf_count_t frames = 0;
  for (sf_count_t n = 0; (n = sf_readf_float(file, block.data(), 65536)) > 0;) frames += n;
  std::printf("%lld\n", static_cast<long long>(frames));
  return sf_close(file);
}
