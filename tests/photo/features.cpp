// Writes the features that train.py learns from. Pictures come as PPM, one after another, on
// standard input. Modes: `sky` (every spot of the coarse grid) and `line WEIGHTS` (every column of
// the line found with those weights of the sky's network). All as float32.
#include <cstdio>
#include <cstring>
#include <fstream>
#include <string>

#include "horizon/photo/line_search.h"
#include "horizon/photo/photo_line.h"
#include "horizon/photo/sky_score.h"

using namespace horizon;

namespace {

bool next_picture(int& w, int& h, std::vector<std::uint8_t>& rgb) {
  if (std::scanf("P6 %d %d 255", &w, &h) != 2) return false;
  std::getchar();
  rgb.resize(static_cast<std::size_t>(w) * h * 3);
  return std::fread(rgb.data(), 1, rgb.size(), stdin) == rgb.size();
}

void put(const std::vector<float>& values) {
  std::fwrite(values.data(), sizeof(float), values.size(), stdout);
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) return 2;
  std::vector<float> weights;
  if (count > 2) {
    std::ifstream in(words[2], std::ios::binary);
    weights.resize(SkyNet::kCount);
    in.read(reinterpret_cast<char*>(weights.data()),
            static_cast<std::streamsize>(weights.size() * sizeof(float)));
  }
  int w = 0, h = 0;
  std::vector<std::uint8_t> rgb;
  while (next_picture(w, h, rgb)) {
    const WorkPicture work = shrunk({w, h, 3, rgb.data()}, kWorkWidth);
    const Grid rough = roughness_of(work);
    if (std::string(words[1]) == "sky") {
      int fw = 0, fh = 0;
      const auto features = sky_features(work, rough, fw, fh);
      put({static_cast<float>(fw), static_cast<float>(fh), kSkyFeatures});
      put(features);
    } else {
      LineSearch search(work, rough, SkyNet{weights.data()});
      search.find({}, nullptr);
      put({static_cast<float>(work.luma.width), static_cast<float>(work.luma.height),
           kLineFeatures});
      for (int x = 0; x < work.luma.width; ++x) {
        const auto f = search.features(x);
        put({static_cast<float>(search.line()[static_cast<std::size_t>(x)])});
        put(std::vector<float>(f.begin(), f.end()));
      }
    }
    std::fflush(stdout);
  }
}
