// horizon/photo/small_net.h: a small trained network of two hidden layers, applied to a few
// figures. Trained by tests/photo/train.py; the weights lie in photo_weights.inc.
// Units: inputs as the caller's features; the answer is a log odds
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

namespace horizon {

// Weights in one row: mean and 1/spread of each input, then each layer's weights (input after
// input) and offsets.
template <int kIn, int kA, int kB>
struct SmallNet {
  static constexpr int kCount = 2 * kIn + kIn * kA + kA + kA * kB + kB + kB + 1;
  const float* w = nullptr;

  float operator()(const float* in) const {
    const float *mean = w, *scale = w + kIn, *wa = scale + kIn, *ba = wa + kIn * kA, *wb = ba + kA,
                *bb = wb + kA * kB, *wc = bb + kB, *bc = wc + kB;
    std::array<float, kA> a;
    std::copy(ba, ba + kA, a.begin());
    for (int i = 0; i < kIn; ++i) {
      const float v = std::clamp((in[i] - mean[i]) * scale[i], -4.0F, 4.0F);
      for (int j = 0; j < kA; ++j) a[j] += v * wa[i * kA + j];
    }
    std::array<float, kB> b;
    std::copy(bb, bb + kB, b.begin());
    for (int i = 0; i < kA; ++i) {
      const float v = std::max(0.0F, a[i]);
      for (int j = 0; j < kB; ++j) b[j] += v * wb[i * kB + j];
    }
    float c = *bc;
    for (int i = 0; i < kB; ++i) c += std::max(0.0F, b[i]) * wc[i];
    return c;
  }
};

}  // namespace horizon
