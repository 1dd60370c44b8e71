// tests/film/film.h: a hand that turns on the spot in a scene with a phone: its frames and what its
// sensors say; as a film that platform/recorded.h replays.
// Units: degrees, seconds, metres
#pragma once

#include <cstdio>
#include <fstream>
#include <sstream>

#include "horizon/photo/turn.h"
#include "tests/film/scene.h"

namespace film {

struct Hand {
  unsigned seed = 1;
  int width = 320, height = 240;
  double rate_deg_per_s = 8, frames_per_s = 8;
  double round_deg = 385;  // how far it turns in all
  double first_deg = 40;   // where it begins
  double view_deg = 60;    // what the phone believes of its lens
  double lens_error = 0;   // of the focal length, as a part
  double k1 = 0;
  double shutter_s = 0.02;  // from the first row to the last
  double reach_m = 0.3;     // the camera is carried round at this distance
  double tremor_deg = 0.15;
  double compass_deg = 5;  // its error goes with the bearing
  double drift_deg_per_s = 0.02;
  double mounting_deg = 0.4;  // of the camera against the level
  double level_deg = 0.2;     // of gravity, wandering
  double north_off_deg = 0;   // declination and all that is common
  double noise = 3;           // grey levels
  // Where it is too fast, or a finger lies over the lens, from azimuth to azimuth.
  std::optional<std::array<double, 2>> rush, finger;
};

struct Frame {
  double time_s = 0;
  double azimuth_deg = 0;  // the truth, but for the tremor
  horizon::TurnPose truth;
  horizon::TurnPose pose;  // as the phone says
  std::vector<std::uint8_t> rgb;
};

class Film {
 public:
  Film(const Scene& scene, const Hand& hand) : scene_(scene), hand_(hand), random_(hand.seed) {
    phase_ = even() * 360;
    compass_phase_ = even() * 360;
    mounting_ = hand.mounting_deg * (even() < 0.5 ? -1 : 1);
    azimuth_ = hand.first_deg;
  }
  // The next frame; nothing when the turn is done.
  std::optional<Frame> next() {
    if (azimuth_ > hand_.first_deg + hand_.round_deg) return std::nullopt;
    Frame frame;
    frame.time_s = time_;
    frame.azimuth_deg = azimuth_;
    frame.pose = pose();
    const Pose here = at(0);
    frame.truth = {time_, std::fmod(here.azimuth + 720, 360.0), here.tilt, here.roll};
    draw(frame);
    const double dt = 1 / hand_.frames_per_s;
    rate_ = hand_.rate_deg_per_s * (1 + 0.35 * std::sin(time_ * 0.9 + phase_));
    if (hand_.rush && azimuth_ > (*hand_.rush)[0] && azimuth_ < (*hand_.rush)[1]) rate_ = 55;
    azimuth_ += rate_ * dt;
    time_ += dt;
    return frame;
  }

 private:
  struct Pose {
    double azimuth, tilt, roll;
  };
  double even() { return random_() / 4294967296.0; }
  double gauss() {
    return std::sqrt(-2 * std::log(1 - even())) * std::cos(2 * 3.14159265 * even());
  }
  Pose at(double later_s) const {
    const double t = time_ + later_s, h = hand_.tremor_deg;
    const double wander = scene_.ridge_deg(azimuth_) * 0.35 + 4;
    return {azimuth_ + rate_ * later_s + h * std::sin(t * 11 + phase_),
            wander + 1.5 * std::sin(t * 0.5 + phase_) + h * std::sin(t * 13.7),
            1.5 * std::sin(t * 0.33 + 1) + h * std::sin(t * 9.3 + 2)};
  }
  horizon::TurnPose pose() {
    const Pose p = at(0);
    const double compass =
        hand_.compass_deg * std::sin((p.azimuth + compass_phase_) * kDeg) + hand_.north_off_deg;
    level_ = 0.95 * level_ + 0.3 * hand_.level_deg * gauss();
    return {time_, std::fmod(p.azimuth + compass + hand_.drift_deg_per_s * time_ + 720, 360.0),
            p.tilt + mounting_ + level_, p.roll + 0.7 * mounting_ + 0.2 * gauss()};
  }
  void draw(Frame& frame);

  const Scene& scene_;
  Hand hand_;
  std::mt19937 random_;
  double time_ = 0, azimuth_ = 0, rate_ = 0, phase_ = 0, compass_phase_ = 0, mounting_ = 0,
         level_ = 0, exposure_ = 1;
};

inline void Film::draw(Frame& frame) {
  const int w = hand_.width, h = hand_.height;
  const double focal = w / 2.0 / std::tan(hand_.view_deg / 2 * kDeg) * (1 + hand_.lens_error);
  const bool covered = hand_.finger && frame.azimuth_deg > (*hand_.finger)[0] &&
                       frame.azimuth_deg < (*hand_.finger)[1];
  std::vector<Colour> colours(static_cast<std::size_t>(w) * h);
  double sum = 0;
  for (int y = 0; y < h; ++y) {
    const Pose p = at(((y + 0.5) / h - 0.5) * hand_.shutter_s);
    const double a = p.azimuth * kDeg, t = p.tilt * kDeg, r = p.roll * kDeg;
    const double east = hand_.reach_m * std::sin(a), north = hand_.reach_m * std::cos(a);
    for (int x = 0; x < w; ++x) {
      double u = (x + 0.5 - w / 2.0) / focal, v = (h / 2.0 - y - 0.5) / focal;
      const double bent = 1 - hand_.k1 * (u * u + v * v);  // k1 small: its own inverse
      u *= bent;
      v *= bent;
      // Clockwise roll of the camera: its right edge sinks.
      const double right = u * std::cos(r) + v * std::sin(r),
                   up = -u * std::sin(r) + v * std::cos(r);
      const double ahead = std::cos(t) - up * std::sin(t), high = std::sin(t) + up * std::cos(t);
      const double azimuth = std::atan2(right, ahead) / kDeg + p.azimuth;
      const double elevation = std::atan2(high, std::hypot(right, ahead)) / kDeg;
      Colour c = covered ? Colour{92, 46, 38} : scene_.seen(azimuth, elevation, east, north);
      const double edge = 1 - 0.18 * (u * u + v * v);
      c = {float(c.r * edge), float(c.g * edge), float(c.b * edge)};
      colours[static_cast<std::size_t>(y) * w + x] = c;
      sum += c.g;
    }
  }
  // The camera opens in the dark and closes in the light, slowly.
  const double mean = sum / (w * h);
  const double wanted =
      scene_.look.light < 0.3 ? 1.0 : std::clamp(118 / std::max(20.0, mean), 0.8, 1.25);
  exposure_ += 0.2 * (wanted - exposure_);
  frame.rgb.resize(colours.size() * 3);
  std::size_t i = 0;
  const auto put = [&](float v) {
    const int grain = static_cast<int>(random_() & 255) + static_cast<int>(random_() & 255) - 255;
    const double shaken = v * exposure_ + hand_.noise * grain / 104.0;
    frame.rgb[i++] = static_cast<std::uint8_t>(std::clamp(shaken, 0.0, 255.0));
  };
  for (const Colour& c : colours) {
    put(c.r);
    put(c.g);
    put(c.b);
  }
}

// Frames as PPM files beside a recording that names them; the recording's text.
inline std::string write_film(Film& film, const Hand& hand, const std::string& folder,
                              double begins_s) {
  std::ostringstream lines;
  lines.imbue(std::locale::classic());
  lines << begins_s << " shake 0\n";
  int number = 0;
  while (const auto frame = film.next()) {
    const std::string path = folder + "/frame" + std::to_string(number++) + ".ppm";
    std::ofstream out(path, std::ios::binary);
    out << "P6\n" << hand.width << ' ' << hand.height << "\n255\n";
    out.write(reinterpret_cast<const char*>(frame->rgb.data()),
              static_cast<std::streamsize>(frame->rgb.size()));
    const double t = begins_s + frame->time_s;
    lines << t << " aim " << frame->pose.azimuth_deg << ' ' << frame->pose.elevation_deg << ' '
          << frame->pose.roll_deg << '\n';
    lines << t << " frame " << hand.view_deg << ' ' << path << '\n';
  }
  return lines.str();
}

}  // namespace film
