#include "app/touch/touch_app.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <utility>

#include "app/drawing/shapes.h"
#include "app/touch/practice/coach.h"
#include "app/touch/screens/guide.h"
#include "app/touch/screens/screens.h"
#include "app/words/glossary.h"
#include "app/words/letters.h"
#include "app/words/quantity.h"
#include "app/words/ranges.h"
#include "app/words/words.h"
#include "horizon/sun/sun.h"
#include "survey/exchange/exchange.h"

namespace app {
TouchApp::TouchApp(platform::Devices devices) : session_(std::move(devices)) {
  if (!session_.has_site()) return;
  screen_ = screen_named(session_.settings.screen).value_or(ScreenId::arrive);
  if (record_of(screen_).is(wants::alone)) screen_ = ScreenId::arrive;
  from_ = stop_of(screen_, ScreenId::arrive);
  enter(screen_);
}

bool TouchApp::dusk() const {
  const Settings& s = session_.settings;
  if (s.theme != ThemeChoice::by_time) return s.theme == ThemeChoice::dusk;
  const auto* at = session_.station();
  if (!at || !session_.has_position()) return false;
  const auto sun = horizon::sun_position(
      session_.now().utc_s, {at->position.latitude_deg, at->position.longitude_deg, 0});
  return sun.elevation.degrees() < -2;
}

Color TouchApp::background() const { return dusk() ? kDusk.paper : kDaylight.paper; }

// Nothing that is thrown ends the app: the site is closed, with all that was kept, and the list shown.
void TouchApp::gave_way() {
  session_.gave_way(std::current_exception());
  screen_ = from_ = ScreenId::sites;
  states_ = {};
  fresh_ = true;
}

// The screen takes what was picked while it is drawn; nothing else need change then.
bool TouchApp::asks_for_file() const {
  return record_of(screen_).is(wants::files) && session_.devices().files->asked();
}

// What was opened with the app from outside is a site, whatever screen stands open.
void TouchApp::take_opened_files() {
  while (auto file = session_.devices().files->opened()) {
    go(ScreenId::sites);
    if (const auto words = session_.bring_sites(*file)) say(*words);
  }
}

bool TouchApp::poll() {
  bool news = true;
  try {
    news = session_.poll();
    take_opened_files();
  } catch (const std::exception&) {
    gave_way();
  }
  // How far a hand-over is comes from the worker's thread, which wakes nobody before its end.
  if (news || asks_for_file() || session_.handover_job().running()) fresh_ = true;
  if (!toast_.empty() && now_s() > toast_until_s_) {
    toast_.clear();
    fresh_ = true;
  }
  if (!toast_once_kept_.empty() && session_.all_kept()) say(std::move(toast_once_kept_));
  if (!session_.problem.empty()) {
    say(session_.problem);
    session_.problem.clear();
  }
  return fresh_;
}

double TouchApp::sleep_s() const {
  if (session_.aiming()) return 1.0 / 30;
  if (!toast_.empty() || session_.position().status.state == platform::DeviceState::starting ||
      session_.position().status.state == platform::DeviceState::running)
    return 0.25;
  if (record_of(screen_).is(wants::ticks)) return 0.5;
  if (asks_for_file() || busy()) return 0.25;
  return 5;
}

void TouchApp::on_wake(std::function<void()> wake) {
  session_.devices().worker->on_ready(std::move(wake));
}

void TouchApp::say(std::string words) {
  toast_once_kept_.clear();
  toast_action_.clear();
  toast_ = std::move(words);
  constexpr double kLetters_s = 12;  // read in a second, by a slow reader
  const double read_s = static_cast<double>(toast_.size()) / kLetters_s;
  // Who aims needs the sight.
  toast_until_s_ = now_s() + (session_.aiming() ? 5 : std::clamp(read_s, 5.0, 15.0));
  fresh_ = true;
}

void TouchApp::say_with(std::string words, std::string action, std::function<void()> act) {
  say(std::move(words));
  toast_action_ = std::move(action);
  toast_act_ = std::move(act);
  toast_until_s_ = now_s() + 10;
}

void TouchApp::bring_from_folder() {
  namespace fs = std::filesystem;
  const fs::path folder = fs::path(session_.devices().files->sites_folder()) / "bring-in";
  std::error_code error;
  fs::create_directories(folder, error);
  std::vector<std::string> paths;
  for (const auto& entry : fs::directory_iterator(folder, error))
    if (entry.is_regular_file(error)) paths.push_back(entry.path().string());
  std::sort(paths.begin(), paths.end());
  if (paths.empty()) return say(tr("app.copy_file_into_folder_then", {folder.string()}));
  std::string words;  // of all of them: one refused among several must not go unsaid
  for (const auto& path : paths) {
    toast_.clear();
    dropped_file(path);
    if (!toast_.empty()) words += (words.empty() ? "" : "\n") + toast_;
  }
  if (!words.empty()) say(std::move(words));
}

void TouchApp::say_once_kept(std::string words) {
  if (session_.all_kept()) return say(std::move(words));
  toast_once_kept_ = std::move(words);
}

void TouchApp::mark_key() {
  mark_key_ = true;
  fresh_ = true;
}

bool TouchApp::take_mark_key() {
  const bool was = mark_key_;
  mark_key_ = false;
  return was;
}

void TouchApp::dropped_file(const std::string& path) {
  fresh_ = true;
  const std::string name = path.substr(path.rfind('/') + 1);
  if (name.ends_with(".prj")) {  // of a grid that was brought, or will be
    std::ifstream file(path, std::ios::binary);
    platform::PickedFile picked{name, {std::istreambuf_iterator<char>(file), {}}};
    if (session_.terrain.bring(*session_.devices().files, picked))
      say(tr("touch.brought_in", {name}));
    return;
  }
  const bool archive = name.ends_with(".zip");
  const auto kind = archive ? survey::FileKind::site : survey::kind_of_file(path);
  if (!kind) return say(name + ": " + in_words(kind.error()));
  if (*kind == survey::FileKind::site || !session_.has_site()) {
    std::ifstream file(path, std::ios::binary);
    platform::PickedFile picked;
    picked.name = name;
    picked.bytes.assign(std::istreambuf_iterator<char>(file), {});
    if (const auto words = session_.bring_sites(picked)) say(*words);
    return;
  }
  survey::ImportOptions options;
  options.utc_offset_h = session_.now().utc_offset_h;
  if (const auto* at = session_.station(); at && *kind == survey::FileKind::table)
    options.station_id = at->id;
  const auto report = survey::import_file(session_.book(), path, options);
  if (!report) return say(name + ": " + in_words(report.error()));
  session_.changed();
  const int added = report->sightings + report->stations + report->landmarks + report->paths +
                    report->notes + report->photos + report->rows + report->contacts +
                    report->diary_rows;
  std::string words = tr("touch.brought_in", {name});
  if (!report->errors.empty())
    words = name + ": " + in_words(report->errors.front());
  else if (added == 0 && report->already > 0)
    words = tr("app.was_here_already", {name});
  constexpr std::size_t kMostRemarks = 2;
  for (std::size_t i = 0; i < std::min(report->remarks.size(), kMostRemarks); ++i)
    words += "\n" + in_words(report->remarks[i]);
  say(words);
  if (*kind == survey::FileKind::terrain) {
    session_.terrain.forget();
    session_.want_terrain();
  }
}

void TouchApp::pause() { session_.save_settings(); }

void TouchApp::enter(ScreenId screen) {
  const Screen& now = record_of(screen);
  if (now.is(wants::aims))
    session_.start_aiming();
  else
    session_.stop_aiming();
  // The receiver goes on averaging from arrival until the position is good.
  if (session_.has_site() && now.is(wants::position) &&
      session_.settings.instrument != Instrument::by_hand)
    session_.start_position();
  else if (!now.is(wants::no_end))
    session_.stop_position();
  if (now.is(wants::terrain)) session_.want_terrain();
  if (now.is(wants::results)) session_.want_results();
}

void TouchApp::go(ScreenId screen) {
  ui_.blur();
  ui_.explained.clear();
  ui_.forget_key_focus();
  if (is_stop(screen_) || screen_ == ScreenId::sites) from_ = screen_;
  screen_ = screen;
  mark_key_ = false;
  session_.settings.screen = name_of(resumed_at(screen, from_));
  if (screen == ScreenId::sites) {
    session_.close_site();
    states_.handover.made.clear();
    states_.handover.problem.clear();
  }
  session_.save_settings();
  enter(screen);
  fresh_ = true;
}

bool TouchApp::back() {
  ui_.request_frame();
  if (!ui_.explained.empty()) {
    ui_.explained.clear();
    return true;
  }
  if (states_.close_sheet()) return true;
  if (screen_ == ScreenId::sites) return false;
  go_under();
  return true;
}

// How complete each stop is, looked up again when the book has changed.
const std::array<survey::StopProgress, survey::kStopCount>& TouchApp::progress() {
  if (session_.book().change_count() == progress_for_) return progress_;
  progress_for_ = session_.book().change_count();
  const auto* main = session_.skyline();
  if (main && !main->station.main) main = nullptr;
  if (auto read = survey::progress_of(session_.book(), main))
    progress_ = std::move(*read);
  else
    say(in_words(read.error()));
  return progress_;
}

double TouchApp::part_done(ScreenId stop) {
  if (stop == ScreenId::handover) {
    const HandOverState& made = states_.handover;
    return !made.made.empty() && made.made_for == session_.book().change_count() ? 1 : 0;
  }
  return progress()[int(stop) - int(ScreenId::arrive)].done_share();
}

void TouchApp::draw(Canvas& canvas, FrameInput frame) {
  frame.text_scale = session_.settings.text_scale;
  frame.left_handed = session_.settings.left_handed;
  frame.dusk = dusk();
  frame.right_to_left = tr("language.direction") == "rtl";
  frame.now_s = now_s();
  fresh_ = false;
  ui_.begin(canvas, frame);
  canvas.fill(rectangle({0, 0, frame.width, frame.height}), {ui_.theme().paper});
  try {
    frame_around(ui_.page());
  } catch (const std::exception&) {
    gave_way();
  }
  note_terms(ui_, "screen", 0);
  explanations(ui_.page());
  toast(ui_.page());
  ui_.end();
}

void TouchApp::frame_around(Rect page) {
  const Screen& now = record_of(screen_);
  if (now.is(wants::alone) || (now.is(wants::anywhere) && !session_.has_site()))
    return now.draw(*this, page);
  if (!session_.settings.warnings_read) return warnings_screen(*this, page);
  Rect area = navigation(page);
  // In a low window the sight needs the height: the header goes.
  const bool low = page.h < 480;
  if (!(low && screen_ == ScreenId::skyline)) {
    const float height = low ? 52.f : std::max(60.f, ui_.sp(56));
    header({area.x, area.y, area.w, height});
    area = {area.x, area.y + height, area.w, area.h - height};
  }
  if (session_.practice()) area = practice_strip(*this, area);
  if (session_.checks_disagree() && screen_ != ScreenId::settings) area = doubt_strip(area);
  // Navigation or header may have led elsewhere by now, out of the site too.
  if (const Screen& next = record_of(screen_); !next.is(wants::alone)) next.draw(*this, area);
}

// The five stops: along the foot where the window is upright, down the side of the better hand
// where it is broad. Returns the room left.
Rect TouchApp::navigation(Rect page) {
  const Theme& t = ui_.theme();
  const bool side = page.w > page.h * 1.15f && page.w >= 600;
  const ScreenId current = stop_of(screen_, from_);
  const FrameInput& frame = ui_.frame();
  Rect bar, rest;
  if (side) {
    const float width = std::max(92.f, ui_.sp(88));
    const bool right = frame.left_handed;
    bar = {right ? page.right() - width : page.x, page.y, width, page.h};
    rest = {right ? page.x : page.x + width, page.y, page.w - width, page.h};
    const float outer = right ? frame.width - bar.x : bar.right();
    ui_.canvas().fill(rectangle({right ? bar.x : 0, 0, outer, frame.height}), {t.card});
    ui_.canvas().fill(rectangle({right ? bar.x : bar.right() - 1, 0, 1, frame.height}), {t.rule});
  } else {
    const float height = std::max(68.f, 44 + ui_.sp(24));
    bar = {page.x, page.bottom() - height, page.w, height};
    rest = {page.x, page.y, page.w, page.h - height};
    ui_.canvas().fill(rectangle({0, bar.y, frame.width, frame.height - bar.y}), {t.card});
    hairline(ui_, 0, bar.y, frame.width);
  }
  int i = 0;
  for (const Screen& one : screens()) {
    const ScreenId stop = one.id;
    if (!is_stop(stop)) continue;
    const std::string words = tr(one.title);
    const float step = side ? std::min(92.f, bar.h / 5) : bar.w / 5;
    const Rect cell = side ? Rect{bar.x, bar.y + step * float(i), bar.w, step}
                           : Rect{bar.x + step * float(i), bar.y, step, bar.h};
    const bool here = stop == current;
    if (ui_.tap(words, cell) && screen_ != stop) go(stop);
    const float middle = cell.x + cell.w / 2, block = 30 + ui_.sp(20);
    const float top = cell.y + std::max(4.f, (cell.h - block) / 2);
    ring(ui_, {middle, top + 14}, 14, part_done(stop), here);
    TextStyle style = ui_.style(13, here ? t.ink : t.quiet,
                                here ? Weight::semibold : Weight::regular, Align::center);
    style = ui_.fitted(words, style, cell.w - 4, 9);
    ui_.words({cell.x + 1, top + 31, cell.w - 2, ui_.sp(18)}, words, style);
    ++i;
  }
  return rest;
}

void TouchApp::header(Rect bar) {
  const Theme& t = ui_.theme();
  const bool left = ui_.frame().left_handed;
  const float y = bar.y + (bar.h - 48) / 2;
  if (icon_button(ui_, tr("app.all_sites"), Icon::back, {bar.x + 2, y, 48, 48}))
    return go(ScreenId::sites);
  if (icon_button(ui_, tr("touch.settings"), Icon::settings, {bar.right() - 50, y, 48, 48}))
    return go(ScreenId::settings);
  if (icon_button(ui_, tr("touch.photos"), Icon::photo, {bar.right() - 98, y, 48, 48}))
    return go(ScreenId::photos);
  (void)left;
  const auto* at = session_.station();
  float right = bar.right() - 102;
  if (bar.w > 560 && screen_ != ScreenId::settings) {  // chips where there is room
    const double sigma = session_.heading_sigma_deg();
    const std::string words = tr("app.compass_sigma", {"±" + number(sigma, 1) + "°"});
    const float width = chip_width(ui_, words);
    chip(ui_, {right - width, bar.y + (bar.h - 30) / 2, width, 30}, words, sigma < 2);
    right -= width + 8;
  }
  std::string second;
  if (at) {
    second = tr("touch.station_named", {at->name});
    if (session_.has_position() && at->position.height_m)
      second += " · " + height(*at->position.height_m, session_.settings.units);
    if (session_.marks() > 0) second += " · " + tr_count("skyline.marks", session_.marks());
  }
  const float x = bar.x + 52, width = right - x;
  const TextStyle name = ui_.style(18, t.ink, Weight::semibold), quiet = ui_.style(13.5f, t.quiet);
  // A touch on the name opens the stations.
  if (ui_.tap(tr("touch.stations"), {x, y, width, 48})) return go(ScreenId::station);
  const std::string site = session_.site().name;
  const float line = ui_.sp(21), block = line + ui_.sp(18);
  const float top = bar.y + (bar.h - block) / 2;
  ui_.words({x, top, width, line}, site, name);
  ui_.words({x, top + line, width, ui_.sp(18)}, second, ui_.fitted(second, quiet, width, 11));
  hairline(ui_, bar.x, bar.bottom() - 1, bar.w);
}

// While heading checks contradict each other, every screen says so, and a touch leads to them.
Rect TouchApp::doubt_strip(Rect area) {
  const Theme& t = ui_.theme();
  const TextStyle style = ui_.style(14, t.warning, Weight::semibold);
  const std::string words = tr("app.compass_checks_disagree_bearings_hours");
  const float text = ui_.paragraph_height(area.w - 52, words, style);
  const Rect strip{area.x, area.y, area.w, std::max(kTouch, text + 14)};
  ui_.canvas().fill(rectangle(strip), {t.warning_soft});
  draw_icon(ui_, Icon::warning, {strip.x + 24, strip.y + strip.h / 2}, 22, t.warning);
  ui_.paragraph({strip.x + 44, strip.y + (strip.h - text) / 2, area.w - 52, text}, words, style);
  if (ui_.tap(words, strip) && screen_ != ScreenId::check) go(ScreenId::check);
  return {area.x, strip.bottom(), area.w, area.h - strip.h};
}

// The sentences of the trade's words on the screen, over it.
void TouchApp::explanations(Rect page) {
  if (ui_.explained.empty()) return;
  const Rect sheet = sheet_over(ui_, page, page.h * 0.72f, 560);
  const float foot = 72;
  scrolling(*this, "Explained words", {sheet.x, sheet.y + 6, sheet.w, sheet.h - foot},
            [&](Column& rows) {
              for (const auto& key : ui_.explained)
                if (const Term* term = term_of(key)) {
                  rows.heading(sentence_case(term->word));
                  rows.text(term->sentence);
                }
            });
  if (button(ui_, tr("touch.close"), {sheet.x + 16, sheet.bottom() - foot + 6, sheet.w - 32, 56},
             ButtonLook::strong))
    ui_.explained.clear();
}

std::string TouchApp::live_words() {
  if (!toast_.empty()) return toast_;
  if (screen_ != ScreenId::skyline || !session_.has_site()) return {};
  std::string words = tr_count("skyline.marks", session_.marks());
  if (const auto* live = session_.live(); live && live->live)
    words += ". " + tr("touch.21_december_here", {hours_headline(live->live->shortest_range_h)});
  return words;
}

void TouchApp::toast(Rect page) {
  if (toast_.empty()) return;
  const Theme& t = ui_.theme();
  const TextStyle style = ui_.style(15, t.on_ink);
  const float width = std::min(page.w - 24, 520.f);
  const TextStyle strong = ui_.style(15, t.ink, Weight::semibold);
  const float action =
      toast_action_.empty() ? 0 : std::min(width * 0.4f, ui_.width(toast_action_, strong) + 28);
  const float height = std::max(action > 0 ? kTouch + 12 : 0,
                                ui_.paragraph_height(width - 32 - action, toast_, style) + 24);
  // Under the header, whose buttons stay free.
  const Rect box{page.x + (page.w - width) / 2, page.y + std::max(60.f, ui_.sp(56)) + 6, width,
                 height};
  ui_.canvas().fill(rounded(box, 14), {t.night});
  ui_.canvas().stroke(rounded(box.inset(0.5f), 14), {t.rule, 1});
  ui_.paragraph({box.x + 16, box.y + 12, box.w - 32 - action, height}, toast_, style);
  if (action > 0 &&
      button(ui_, toast_action_,
             {box.right() - action - 6, box.y + (box.h - kTouch) / 2, action, kTouch})) {
    toast_.clear();
    if (toast_act_) std::exchange(toast_act_, nullptr)();
    return;
  }
  if (ui_.tap(toast_, {box.x, box.y, box.w - action, std::max(kTouch, box.h)})) toast_.clear();
}

}  // namespace app
