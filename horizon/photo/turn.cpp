#include "horizon/photo/turn.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <utility>

#include "horizon/photo/picture_grid.h"
#include "horizon/photo/turn_film.h"

namespace horizon {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double kKeyApart_deg = 10, kLookApart_deg = 4, kLostApart_deg = 15;
constexpr double kShaky_deg_per_s = 18;   // up, down or sideways
constexpr double kDark = 24, kBlank = 5;  // levels: mean; spread
constexpr int kLeastSpots = 80;
constexpr float kSkyWeight = 0.05F, kNearWeight = 0.03F;
constexpr float kFarBelow_deg = 3;  // below the skyline: as far as it, even below the eye
constexpr double kNearSensors_deg = 1.2;
constexpr int kMostKeys = 160, kMostLooks = 900;
constexpr double kStepSigma_deg = 0.03;  // parallax and shutter between two key frames
constexpr double kLostSigma_deg = 1.5;   // of a step that only the sensors saw
constexpr double kLostPart = 0.05;
constexpr int kWitnesses = 5;     // key frames that a new one is laid on, with repeats
constexpr double kAlone_deg = 1;  // of a step that no other picture confirms
constexpr double kTriesCloseAfter_deg = 300;
constexpr double kMetAlike_deg = 0.5, kCloseOverlap = 0.55;  // of the view, at most aside
constexpr double kCloseReach_deg = 3, kDriftReach_deg_per_s = 0.1;
constexpr double kUnlikely = 4;  // sigmas of the focal length: the loop closed on a wrong picture

// Round the upright axis, clockwise from above.
Matrix3d turned(const Matrix3d& rotation, double clockwise_deg) {
  const double a = clockwise_deg * kDegree;
  Matrix3d about;
  about << std::cos(a), std::sin(a), 0, -std::sin(a), std::cos(a), 0, 0, 0, 1;
  return about * rotation;
}

double apart_deg(const Matrix3d& a, const Matrix3d& b) {
  return vector_of(a.transpose() * b).norm() / kDegree;
}

struct Light {
  double mean = 0, spread = 0;
};
Light light_of(const WorkPicture& work) {
  double sum = 0, square = 0;
  for (float v : work.luma.values) {
    sum += v;
    square += static_cast<double>(v) * v;
  }
  const double n = static_cast<double>(work.luma.values.size());
  return {sum / n, std::sqrt(std::max(0.0, square / n - sum / n * (sum / n)))};
}

TurnFault too_little_light(const WorkPicture& work) {
  const Light light = light_of(work);
  if (light.mean < kDark) return TurnFault::dark;
  if (light.spread < kBlank) return TurnFault::blank;
  return TurnFault::none;
}

Matrix3d scaled_across(const Matrix3d& rotation, double part) {
  Vector3d v = vector_of(rotation);
  v.x() *= part;
  v.y() *= part;
  return rotation_by(v);
}

}  // namespace

struct FilmedTurn::Film {
  explicit Film(const TurnOptions& o)
      : options(o), focal_px(focal_px_of_view(kAlignWidth, o.view_deg)) {
    for (auto& of : faults) of.fill(0);
    priors.focal_part = o.view_sigma_part;
  }

  TurnStep add(const PictureView& picture, const TurnPose& pose);
  void place(const GreyPyramid& grey, const Matrix3d& guess);
  bool lay_on(int key, const GreyPyramid& grey, const Matrix3d& at_first, int coarsest);
  Matrix3d predicted(const Matrix3d& sensed) const;
  void count_fault(TurnFault fault);
  void add_key(GreyPyramid grey, const TurnPose& pose, const std::vector<LookColumn>& line);
  void link_key(const GreyPyramid& grey, const Matrix3d& sensed_on);
  void close(int key);
  std::optional<Matrix3d> met_again(int key) const;
  bool adjust();
  int nearest_key(const Matrix3d& rotation) const;
  bool new_to_look(const Matrix3d& rotation) const;
  Matrix3d of_look(const TurnLook& l) const { return nodes[l.key].rotation * l.on_key.transpose(); }

  TurnOptions options;
  double focal_px;
  TurnPriors priors;
  std::vector<TurnKey> keys;
  std::vector<TurnNode> nodes;
  std::vector<TurnLink> links;
  std::vector<TurnLook> looks;
  FaultCounts faults;
  std::optional<std::pair<int, Matrix3d>>
      met;  // the last key frame that shows what the first shows
  bool started = false, is_closed = false, tracked = false;
  Matrix3d last = Matrix3d::Identity(), last_sensed = Matrix3d::Identity(),
           as_sensed = Matrix3d::Identity();  // last, if only the sensors had a say
  double lost_s = 0, last_s = 0, unwrapped = 0, furthest = 0, back = 0, rate = 0;
  int on = -1;  // key frame that the last frame was laid on
  Matrix3d on_key = Matrix3d::Identity();
  double on_sigma = 0;
};

int FilmedTurn::Film::nearest_key(const Matrix3d& rotation) const {
  int best = -1;
  double least = 1e9;
  for (std::size_t k = 0; k < nodes.size(); ++k) {
    // Before the loop is closed the beginning may lie elsewhere than it seems.
    if (!is_closed && std::abs(keys[k].unwrapped_deg - unwrapped) > 60) continue;
    const double off = apart_deg(nodes[k].rotation, rotation);
    if (off < least) {
      least = off;
      best = static_cast<int>(k);
    }
  }
  return best;
}

bool FilmedTurn::Film::new_to_look(const Matrix3d& rotation) const {
  return std::none_of(looks.begin(), looks.end(), [&](const TurnLook& l) {
    if (!is_closed && std::abs(keys[l.key].unwrapped_deg - unwrapped) > 60) return false;
    return apart_deg(of_look(l), rotation) < kLookApart_deg;
  });
}

bool FilmedTurn::Film::lay_on(int key, const GreyPyramid& grey, const Matrix3d& at_first,
                              int coarsest) {
  const Matrix3d& at = nodes[key].rotation;
  for (const double aside : {0.0, 2.5, -2.5, 5.0, -5.0}) {
    if (std::abs(aside) > 3 * lost_s) break;
    const Matrix3d guess = turned(at_first, aside).transpose() * at;
    const Alignment found = aligned(keys[key].reference, grey, focal_px, guess, 0, coarsest);
    // From one frame to the next the sensors are hardly wrong; the longer lost, the more.
    const double off = apart_deg(at * found.rotation.transpose(), at_first);
    if (!found.good || off > kNearSensors_deg + 3 * lost_s) continue;
    on = key;
    on_key = found.rotation;
    on_sigma = found.sigma_rad;
    return true;
  }
  return false;
}

// Which way this frame looks.
void FilmedTurn::Film::place(const GreyPyramid& grey, const Matrix3d& guess) {
  const bool followed = std::exchange(tracked, false) && keys.size() > 1;
  const int near = nearest_key(guess);
  const bool reaches = near >= 0 && apart_deg(nodes[near].rotation, guess) < options.view_deg * 0.6;
  // From one frame to the next the guess is good. On a coarse picture of a bare slope only its rim is
  // left, and the picture slides along it.
  for (const int coarsest : {1, kLevels - 1}) {
    if (tracked || (coarsest == 1 && !followed)) continue;
    tracked = reaches && lay_on(near, grey, guess, coarsest);
    if (!tracked && on >= 0 && on != near) tracked = lay_on(on, grey, guess, coarsest);
  }
  const Matrix3d now = tracked ? Matrix3d(nodes[on].rotation * on_key.transpose()) : guess;
  const double step = wrap_180(aim_of(now).bearing_deg - aim_of(last).bearing_deg);
  unwrapped += step;
  furthest = std::max(furthest, unwrapped);
  back = std::min(back, unwrapped);
  last = now;
}

void FilmedTurn::Film::count_fault(TurnFault fault) {
  const int middle = static_cast<int>(aim_of(last).bearing_deg) + 720;
  const int half = std::max(2, static_cast<int>(options.view_deg / 5));
  for (int d = -half; d <= half; ++d) {
    auto& count = faults[static_cast<int>(fault)][(middle + d) % 360];
    if (count < 60000) ++count;
  }
}

// Ties the next key frame to those before it. One picture can fit a wrong spot, so others are laid on
// it too, from where it seems to lie and from where the sensors put it: what most agree on counts. A
// step that nothing else confirms is worth little.
void FilmedTurn::Film::link_key(const GreyPyramid& grey, const Matrix3d& sensed_on) {
  const int number = static_cast<int>(keys.size());
  if (!tracked) {  // nothing was to be seen on the way
    const int from = std::max(0, on);
    const Matrix3d turn = last.transpose() * nodes[from].rotation;
    const double sigma =
        std::hypot(kLostSigma_deg, kLostPart * vector_of(turn).norm() / kDegree) * kDegree;
    links.push_back({from, number, turn, sigma, false});
    return;
  }
  std::vector<TurnLink> found = {
      {on, number, on_key, std::hypot(on_sigma, kStepSigma_deg * kDegree), true}};
  for (int k = number - 1; k >= 0 && static_cast<int>(found.size()) < kWitnesses; --k) {
    if (k == on || (!is_closed && std::abs(keys[k].unwrapped_deg - unwrapped) > 60)) continue;
    for (const Matrix3d& from : {last, sensed_on}) {
      const Matrix3d guess = from.transpose() * nodes[k].rotation;
      if (vector_of(guess).norm() / kDegree > options.view_deg * kCloseOverlap) continue;
      const Alignment other = aligned(keys[k].reference, grey, focal_px, guess);
      if (!other.good) continue;
      found.push_back(
          {k, number, other.rotation, std::hypot(other.sigma_rad, kStepSigma_deg * kDegree), true});
    }
  }
  const auto placed = [&](const TurnLink& l) {
    return Matrix3d(nodes[l.from].rotation * l.rotation.transpose());
  };
  std::vector<TurnLink> best;
  for (const TurnLink& one : found) {
    std::vector<TurnLink> alike;
    for (const TurnLink& other : found)
      if (apart_deg(placed(one), placed(other)) < kMetAlike_deg &&
          std::ranges::none_of(alike, [&](const TurnLink& l) { return l.from == other.from; }))
        alike.push_back(other);
    if (alike.size() > best.size()) best = std::move(alike);
  }
  if (best.size() == 1) best[0].sigma_rad = std::hypot(best[0].sigma_rad, kAlone_deg * kDegree);
  last = placed(best[0]);
  links.insert(links.end(), best.begin(), best.end());
}

void FilmedTurn::Film::add_key(GreyPyramid grey, const TurnPose& pose,
                               const std::vector<LookColumn>& line) {
  const int number = static_cast<int>(keys.size());
  const Matrix3d sensed = rotation_of({pose.azimuth_deg, pose.elevation_deg, pose.roll_deg});
  if (number > 0) link_key(grey, as_sensed);
  TurnNode node{last, sensed, pose.time_s};
  TurnKey key;
  key.grey = std::move(grey);
  key.unwrapped_deg = unwrapped;
  // The far land below the line holds still; clouds go on and the ground nearby shifts.
  const float h = static_cast<float>(key.grey.levels[0].height);
  const float degree = static_cast<float>(focal_px * kDegree);
  const float level = h / 2 + static_cast<float>(aim_of(last).tilt_deg) * degree;
  key.reference = align_reference(key.grey, [&](float x, float y) -> SpotPlace {
    if (line.empty()) return {};
    const LookColumn& c =
        line[std::min(line.size() - 1, static_cast<std::size_t>(x * line.size()))];
    const float below = ((y - 0.5F) * h - c.y) / degree;
    const float near = std::max(0.0F, below) * static_cast<float>(kDegree);
    if (below < -1.5F) return {kSkyWeight, 0};
    if (y * h > level && below > kFarBelow_deg) return {kNearWeight, near};  // below the eye
    return {(c.sure ? 1.0F : 0.5F) * (below < 6 ? 1.0F : below < 10 ? 0.5F : 0.2F), near};
  });
  keys.push_back(std::move(key));
  nodes.push_back(node);
  on = number;
  on_key = Matrix3d::Identity();
  on_sigma = 0;
}

// This key frame shows what the first one shows: how it lies on it. A compass errs with the bearing,
// but at one bearing it errs alike: the sensors say where to look, but for what they have drifted.
// Another spot that fits nearly as well speaks against it.
std::optional<Matrix3d> FilmedTurn::Film::met_again(int key) const {
  const double reach = std::min(
      12.0, kCloseReach_deg + kDriftReach_deg_per_s * (nodes[key].time_s - nodes[0].time_s));
  const TurnAim now = aim_of(nodes[key].sensed), then = aim_of(nodes[0].sensed),
                first = aim_of(nodes[0].rotation), here = aim_of(nodes[key].rotation);
  const Matrix3d sensed = rotation_of(
      {first.bearing_deg + now.bearing_deg - then.bearing_deg, here.tilt_deg, here.roll_deg});
  std::optional<Matrix3d> best;
  double most = 0, second = 0;
  std::vector<std::pair<double, Matrix3d>> all;
  for (double aside = -reach; aside <= reach; aside += 2) {
    const Matrix3d guess = turned(sensed, aside).transpose() * nodes[0].rotation;
    if (vector_of(guess).norm() / kDegree > options.view_deg * kCloseOverlap) continue;
    const Alignment coarse = aligned(keys[0].reference, keys[key].grey, focal_px, guess, 1);
    if (!coarse.good) continue;
    const Alignment fine = aligned(keys[0].reference, keys[key].grey, focal_px, coarse.rotation);
    if (!fine.good || fine.spots < kLeastSpots) continue;
    all.emplace_back(std::sqrt(fine.spots) * fine.contrast / fine.misfit, fine.rotation);
  }
  for (const auto& [worth, rotation] : all)
    if (worth > most) {
      most = worth;
      best = rotation;
    }
  for (const auto& [worth, rotation] : all)
    if (apart_deg(rotation, *best) > 1) second = std::max(second, worth);
  if (second > 0.8 * most) return std::nullopt;
  return best;
}

// With the links aligned anew at each better focal length. False: the loop cannot be right.
bool FilmedTurn::Film::adjust() {
  const auto was_nodes = nodes;
  const auto was_links = links;
  const auto was_looks = looks;
  const double was_focal = focal_px;
  const Matrix3d was_on_key = on_key;
  const double first = focal_px_of_view(kAlignWidth, options.view_deg);
  const auto as_it_was = [&] {
    nodes = was_nodes;
    links = was_links;
    looks = was_looks;
    focal_px = was_focal;
    on_key = was_on_key;
    return false;
  };
  for (int round = 0; round < 3; ++round) {
    const double factor = adjust_turn(nodes, links, priors).focal_factor;
    if (!std::isfinite(factor) ||
        std::abs(std::log(focal_px * factor / first)) > kUnlikely * priors.focal_part)
      return as_it_was();
    focal_px *= factor;
    for (TurnLook& l : looks) l.on_key = scaled_across(l.on_key, 1 / factor);
    on_key = scaled_across(on_key, 1 / factor);
    for (TurnLink& link : links) {
      if (!link.by_picture) continue;
      const Matrix3d guess = nodes[link.to].rotation.transpose() * nodes[link.from].rotation;
      const Alignment again =
          aligned(keys[link.from].reference, keys[link.to].grey, focal_px, guess);
      if (again.good && apart_deg(again.rotation, guess) < kMetAlike_deg) {
        link.rotation = again.rotation;
        link.sigma_rad = std::hypot(again.sigma_rad, kStepSigma_deg * kDegree);
      } else {
        link.rotation = scaled_across(link.rotation, 1 / factor);
      }
    }
    if (std::abs(std::log(factor)) < 2e-4) break;
  }
  // What closed the loop must lie as its pictures say, beside all the others.
  for (const TurnLink& link : links)
    if (link.from == 0 && link.to > 1 &&
        apart_deg(nodes[link.to].rotation.transpose() * nodes[0].rotation, link.rotation) >
            kMetAlike_deg)
      return as_it_was();
  return true;
}

void FilmedTurn::Film::close(int key) {
  const auto found = met_again(key);
  if (!found) return;
  // One picture can fit a wrong spot: another key frame must have met the first one alike.
  const auto before = std::exchange(met, std::pair(key, *found));
  if (!before) return;
  const Matrix3d between = *found * before->second.transpose();
  if (apart_deg(nodes[key].rotation.transpose() * nodes[before->first].rotation, between) >
      kMetAlike_deg)
    return;
  for (const auto& [at, rotation] : {*before, *met})
    links.push_back({0, at, rotation, 1.5 * kStepSigma_deg * kDegree, true});
  if (!adjust()) {
    links.resize(links.size() - 2);
    return;
  }
  is_closed = true;
  last = nodes[on].rotation * on_key.transpose();
}

// As far on as the sensors say, about the upright axis and by tilt and roll: what they are off by
// in all stays.
Matrix3d FilmedTurn::Film::predicted(const Matrix3d& sensed) const {
  const TurnAim now = aim_of(sensed), then = aim_of(last_sensed), from = aim_of(last);
  return rotation_of({from.bearing_deg + now.bearing_deg - then.bearing_deg,
                      from.tilt_deg + now.tilt_deg - then.tilt_deg,
                      from.roll_deg + now.roll_deg - then.roll_deg});
}

TurnStep FilmedTurn::Film::add(const PictureView& picture, const TurnPose& pose) {
  const Matrix3d sensed = rotation_of({pose.azimuth_deg, pose.elevation_deg, pose.roll_deg});
  const WorkPicture work = shrunk(picture, kAlignWidth);
  GreyPyramid grey = grey_pyramid(work.luma);
  const double dt_s = pose.time_s - last_s;
  const Matrix3d before = last;
  if (!started) {
    last = sensed;
  } else {
    lost_s = tracked || keys.size() == 1 ? 0 : std::min(3.0, lost_s + dt_s);
    as_sensed = predicted(sensed);
    place(grey, as_sensed);
  }
  TurnStep step;
  double shake = 0;
  if (started && dt_s > 0.005) {
    const Vector3d moved = vector_of(before.transpose() * last) / kDegree / dt_s;
    rate = std::abs(moved.y());
    shake = std::hypot(moved.x(), moved.z());
  }
  TurnFault fault = too_little_light(work);
  if (fault == TurnFault::none && rate > options.fastest_deg_per_s) fault = TurnFault::fast;
  if (fault == TurnFault::none && (shake > kShaky_deg_per_s || (started && !tracked)))
    fault = TurnFault::shaky;
  const bool clear = fault == TurnFault::none;
  const auto glare = glare_in(work);
  const bool worth = fault != TurnFault::dark && fault != TurnFault::blank;
  const int near = nearest_key(last);
  const double off = near < 0 ? 1e9 : apart_deg(nodes[near].rotation, last);
  const bool round = !is_closed && std::abs(unwrapped) > kTriesCloseAfter_deg;
  const bool fresh = clear && new_to_look(last);
  const bool new_key =
      worth && keys.size() < kMostKeys &&
      (keys.empty() || (tracked ? off > kKeyApart_deg || (round && fresh) : off > kLostApart_deg));
  std::vector<LookColumn> line;
  if (new_key || fresh) {
    const bool wider = picture.width > kAlignWidth;
    line = look_columns(picture, wider ? shrunk(picture, kLookWidth) : work, glare);
  }
  if (new_key) {
    add_key(std::move(grey), pose, line);
    if (round && tracked) close(static_cast<int>(keys.size()) - 1);
  }
  if (fresh && !line.empty() && on >= 0 && looks.size() < kMostLooks) {
    step.looked = true;
    if (std::ranges::none_of(line, &LookColumn::sure)) fault = TurnFault::doubt;
    looks.push_back({on, on_key, std::move(line)});
  }
  if (glare && fault == TurnFault::none) fault = TurnFault::sun;
  if (fault != TurnFault::none) count_fault(fault);
  started = true;
  last_s = pose.time_s;
  last_sensed = sensed;

  const TurnAim aim = aim_of(last);
  step.fault = fault;
  step.sun = glare.has_value();
  step.tracked = tracked || keys.size() == 1;
  step.camera.width_px = picture.width;
  step.camera.height_px = picture.height;
  step.camera.focal_px = focal_px * work.scale;
  step.camera.bearing = TrueAzimuth::degrees(aim.bearing_deg);
  step.camera.tilt = Elevation::degrees(aim.tilt_deg);
  step.camera.roll_deg = aim.roll_deg;
  step.rate_deg_per_s = rate;
  step.turned_deg = unwrapped;
  return step;
}

FilmedTurn::FilmedTurn(const TurnOptions& options) : film_(std::make_unique<Film>(options)) {}
FilmedTurn::~FilmedTurn() = default;

TurnStep FilmedTurn::add(const PictureView& picture, const TurnPose& pose) {
  return film_->add(picture, pose);
}

bool FilmedTurn::closed() const { return film_->is_closed; }

TurnSkyline FilmedTurn::skyline() const {
  const Film& f = *film_;
  TurnSkyline result;
  std::vector<TurnNode> nodes = f.nodes;
  TurnAdjusted adjusted;
  if (!nodes.empty()) adjusted = adjust_turn(nodes, f.links, f.priors);
  const double focal = f.focal_px * adjusted.focal_factor;
  result.bins = fused(f.looks, nodes, focal, f.faults);
  result.open = open_stretches(result.bins);
  int found = 0;
  for (const TurnBin& bin : result.bins) found += bin.found;
  result.found_fraction = found / static_cast<double>(kTurnBins);
  result.closed = f.is_closed;
  result.turned_deg = f.furthest - f.back;
  result.focal_factor = focal / focal_px_of_view(kAlignWidth, f.options.view_deg);
  result.focal_sigma_part = adjusted.focal_sigma_part;
  // A chain between its fixed ends is least known in the middle; an open one hangs on the lens.
  const double links = std::max<double>(1, static_cast<double>(f.links.size()));
  result.step_sigma_deg =
      std::hypot(kStepSigma_deg * std::sqrt(links) / 2,
                 adjusted.focal_sigma_part * std::min(360.0, result.turned_deg) / std::sqrt(12.0));
  // The lens and what is near bend the turn a little: it does not average out.
  result.level_sigma_deg = std::hypot(kTurnLevel_deg, std::min(0.5, adjusted.mounting_sigma_deg));
  result.misfit = adjusted.spread;
  for (const TurnNode& node : nodes)
    result.sensed_to_turn_deg.emplace_back(aim_of(node.sensed).bearing_deg < 0
                                               ? aim_of(node.sensed).bearing_deg + 360
                                               : aim_of(node.sensed).bearing_deg,
                                           wrap_360(aim_of(node.rotation).bearing_deg));
  return result;
}

std::size_t FilmedTurn::bytes() const {
  std::size_t all = 0;
  for (const TurnKey& key : film_->keys) {
    for (const GreyLevel& level : key.grey.levels) all += level.values.size() * sizeof(float);
    for (const auto& level : key.reference.levels) all += level.size() * sizeof(AlignSpot);
  }
  for (const TurnLook& l : film_->looks) all += l.columns.size() * sizeof(LookColumn);
  return all;
}

}  // namespace horizon
