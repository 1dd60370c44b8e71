#include "horizon/photo/sky_score.h"

#include <cmath>
#include <numeric>

#include "horizon/photo/photo_weights.inc"

namespace horizon {
namespace {

Grid coarse(const Grid& in, int width, int height) {
  Grid out(width, height);
  for (int x = 0; x < width; ++x) {
    const int x0 = x * in.width / width, x1 = std::max(x0 + 1, (x + 1) * in.width / width);
    for (int y = 0; y < height; ++y) {
      const int y0 = y * in.height / height, y1 = std::max(y0 + 1, (y + 1) * in.height / height);
      float sum = 0;
      for (int u = x0; u < x1; ++u)
        for (int v = y0; v < y1; ++v) sum += in.at(u, v);
      out.at(x, y) = sum / static_cast<float>((x1 - x0) * (y1 - y0));
    }
  }
  return out;
}

// Spread of a grid's values in the neighbourhood.
Grid spread_near(const Grid& in, int r) {
  Grid squares = in;
  for (float& v : squares.values) v *= v;
  const Grid mean = box_mean(in, r);
  Grid out = box_mean(squares, r);
  for (std::size_t i = 0; i < out.values.size(); ++i)
    out.values[i] = std::sqrt(std::max(0.0F, out.values[i] - mean.values[i] * mean.values[i]));
  return out;
}

// The easiest way to each spot from the top row (or the bottom row), where changes are hard to
// cross: sky is what is connected to the top.
Grid way_from(const Grid& hard, bool top) {
  Grid way(hard.width, hard.height);
  std::fill(way.values.begin(), way.values.end(), 1e9F);
  const int first = top ? 0 : hard.height - 1;
  for (int x = 0; x < hard.width; ++x) way.at(x, first) = hard.at(x, first);
  const auto relax = [&](int x, int y, int dx, int dy, float length) {
    if (x + dx < 0 || x + dx >= hard.width || y + dy < 0 || y + dy >= hard.height) return;
    float& here = way.at(x, y);
    here = std::min(here, way.at(x + dx, y + dy) + length * hard.at(x, y));
  };
  for (int round = 0; round < 2; ++round) {
    for (int x = 0; x < hard.width; ++x) {
      for (int y = 0; y < hard.height; ++y) {
        relax(x, y, 0, -1, 1);
        relax(x, y, -1, 0, 1);
        relax(x, y, -1, -1, 1.4F);
        relax(x, y, -1, 1, 1.4F);
      }
      for (int y = hard.height; y-- > 0;) relax(x, y, 0, 1, 1);
    }
    for (int x = hard.width; x-- > 0;) {
      for (int y = 0; y < hard.height; ++y) {
        relax(x, y, 0, -1, 1);
        relax(x, y, 1, 0, 1);
        relax(x, y, 1, -1, 1.4F);
        relax(x, y, 1, 1, 1.4F);
      }
      for (int y = hard.height; y-- > 0;) relax(x, y, 0, 1, 1);
    }
  }
  return way;
}

// The share of all spots with a smaller value.
Grid rank_of(const Grid& in) {
  std::vector<int> order(in.values.size());
  std::iota(order.begin(), order.end(), 0);
  std::sort(order.begin(), order.end(), [&](int a, int b) { return in.values[a] < in.values[b]; });
  Grid out(in.width, in.height);
  for (std::size_t i = 0; i < order.size(); ++i)
    out.values[order[i]] = static_cast<float>(i) / static_cast<float>(order.size());
  return out;
}

float lg(float v) { return std::log(1 + std::max(0.0F, v)); }

}  // namespace

SkyNet trained_sky_net() { return {kSkyWeights}; }

std::vector<float> sky_features(const WorkPicture& work, const Grid& roughness, int& width,
                                int& height) {
  width = std::min({kSkyWide, work.luma.width, std::max(80, work.luma.width / 4)});
  height = std::max(8, width * work.luma.height / work.luma.width);
  const int w = width, h = height;
  const Grid y0 = coarse(work.luma, w, h), b0 = coarse(work.blue, w, h),
             r0 = coarse(work.red, w, h), rough = coarse(roughness, w, h);
  const Grid near = spread_near(y0, 2), wide = spread_near(y0, 7), smooth = box_mean(y0, 10);
  Grid hard(w, h);
  for (int x = 0; x < w; ++x)
    for (int y = 0; y < h; ++y) {
      const int l = std::max(0, x - 1), r = std::min(w - 1, x + 1), u = std::max(0, y - 1),
                d = std::min(h - 1, y + 1);
      const auto step = [&](const Grid& g) {
        return std::abs(g.at(r, y) - g.at(l, y)) + std::abs(g.at(x, d) - g.at(x, u));
      };
      hard.at(x, y) = 0.3F + step(y0) + step(b0) + step(r0) + rough.at(x, y);
    }
  const Grid top_way = way_from(hard, true), low_way = way_from(hard, false);
  const Grid rank_y = rank_of(y0), rank_rough = rank_of(rough);
  const int band = std::max(2, h / 10);
  double ty = 0, tb = 0, tr = 0, trough = 0, all_rough = 0;
  for (int x = 0; x < w; ++x)
    for (int y = 0; y < h; ++y) {
      all_rough += rough.at(x, y);
      if (y >= band) continue;
      ty += y0.at(x, y), tb += b0.at(x, y), tr += r0.at(x, y), trough += rough.at(x, y);
    }
  const double n = static_cast<double>(w) * band;
  ty /= n, tb /= n, tr /= n, trough /= n;
  all_rough /= static_cast<double>(w) * h;

  std::vector<float> out(static_cast<std::size_t>(w) * h * kSkyFeatures);
  std::vector<float> sum_y(h + 1), sum_b(h + 1), sum_r(h + 1), sum_rough(h + 1);
  for (int x = 0; x < w; ++x) {
    for (int y = 0; y < h; ++y) {
      sum_y[y + 1] = sum_y[y] + y0.at(x, y);
      sum_b[y + 1] = sum_b[y] + b0.at(x, y);
      sum_r[y + 1] = sum_r[y] + r0.at(x, y);
      sum_rough[y + 1] = sum_rough[y] + rough.at(x, y);
    }
    float most = 0;
    for (int y = 0; y < h; ++y) {
      most = std::max(most, hard.at(x, y));
      const float above = static_cast<float>(y + 1), below = static_cast<float>(h - y);
      const auto mean_above = [&](const std::vector<float>& s) { return s[y + 1] / above; };
      const auto mean_below = [&](const std::vector<float>& s) { return (s[h] - s[y]) / below; };
      const float yy = y0.at(x, y), b = b0.at(x, y), r = r0.at(x, y);
      const float features[kSkyFeatures] = {
          yy,
          b - 128,
          r - 128,
          lg(rough.at(x, y)),
          lg(near.at(x, y)),
          lg(wide.at(x, y)),
          static_cast<float>(y) / h,
          static_cast<float>(yy - ty),
          lg(static_cast<float>(std::hypot(b - tb, r - tr))),
          lg(top_way.at(x, y) / w * 8),
          lg(low_way.at(x, y) / w * 8),
          lg(mean_above(sum_rough)),
          lg(mean_below(sum_rough)),
          lg(most),
          mean_above(sum_y) - mean_below(sum_y),
          mean_above(sum_b) - mean_below(sum_b),
          mean_above(sum_r) - mean_below(sum_r),
          rank_y.at(x, y),
          rank_rough.at(x, y),
          lg(static_cast<float>(trough)),
          lg(static_cast<float>(all_rough)),
          yy - smooth.at(x, y),
          std::hypot(b - mean_above(sum_b), r - mean_above(sum_r)),
          lg(top_way.at(x, y)) - lg(low_way.at(x, y)),
      };
      std::copy(features, features + kSkyFeatures,
                out.begin() + (static_cast<std::ptrdiff_t>(x) * h + y) * kSkyFeatures);
    }
  }
  return out;
}

Grid sky_score(const WorkPicture& work, const Grid& roughness, const SkyNet& net) {
  int w = 0, h = 0;
  const std::vector<float> features = sky_features(work, roughness, w, h);
  Grid out(w, h);
  for (std::size_t i = 0; i < out.values.size(); ++i)
    out.values[i] = std::clamp(net(&features[i * kSkyFeatures]), -6.0F, 6.0F);
  return out;
}

}  // namespace horizon
