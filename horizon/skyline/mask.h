// horizon/skyline/mask.h: the skyline as a function of azimuth.
// Units:    degrees
// Frame:    true azimuth, elevation as seen
// Valid:    any skyline; without a point the mask is flat and one open stretch goes all round
// Accuracy: exact for the joined line (no grid); crossings of two edges to 1e-9 degree
// Cost:     a look-up is O(1): a table of 0.1 degree bins, each naming its first piece
// Source:   the great circle through two directions: tan(el) = a cos(az) + b sin(az)
//
// Neighbouring points of the outline are joined round the compass, over north too. Where the two
// belong to different obstacles the piece between goes to the nearer sort (anything before a
// ridge), or is split half-way. Poles stand alone, as wide as they are. A layer behind the outline
// is joined only between points closer than the gap. The highest line wins at every azimuth.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "horizon/skyline/skyline.h"

namespace horizon {

// One piece of the line, over [from_deg, to_deg].
struct MaskPiece {
  double from_deg = 0, to_deg = 0;  // 0 <= from < to <= 360
  double from_el_deg = 0, to_el_deg = 0;
  Edge edge = Edge::straight;
  double a = 0, b = 0;  // of a great circle
  int obstacle = -1;    // index into Skyline::obstacles; -1 where nothing was sighted
  bool open = false;    // joined across a gap: nobody aimed here

  double elevation_deg(double azimuth_deg) const;
};

struct OpenStretch {
  double from_deg = 0;  // clockwise from here
  double to_deg = 0;    // to here; smaller than from_deg over north; equal = all round
  double width_deg() const;
};

class Mask {
 public:
  Mask();  // flat
  // `without` drops obstacles by index, as if they were felled: their neighbours are joined, and
  // layers behind them show.
  explicit Mask(const Skyline& skyline, std::span<const int> without = {});

  double elevation_deg(double azimuth_deg) const {
    return piece_at(azimuth_deg).elevation_deg(wrap_360(azimuth_deg));
  }
  // At an azimuth where two pieces meet, the one that begins there.
  const MaskPiece& piece_at(double azimuth_deg) const;
  int piece_index_at(double azimuth_deg) const;

  // In azimuth order, covering 0 to 360 without gap or overlap; a vertical step is two neighbours
  // with different elevations at the same azimuth.
  std::span<const MaskPiece> pieces() const { return pieces_; }
  std::span<const OpenStretch> open_stretches() const { return open_; }
  double closed_fraction() const;  // of the full turn, 0 to 1
  double highest_deg() const { return highest_; }

 private:
  void index();
  static constexpr int kBins = 3600;
  std::vector<MaskPiece> pieces_;
  std::vector<OpenStretch> open_;
  std::array<int, kBins + 1> first_{};
  double highest_ = 0;
};

// The three things a sun behind the line can meet. `solid` leaves leafy trees out.
struct Masks {
  Mask all;    // everything opaque
  Mask solid;  // without leafy trees; equal to `all` if there are none
  bool has_leafy = false;
};
Masks masks_of(const Skyline& skyline, std::span<const int> without = {});

}  // namespace horizon
