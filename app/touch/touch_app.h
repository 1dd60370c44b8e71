// app/touch/touch_app.h: the touch app without its window: which screen is shown, and the frame around
// it. A screen is one function in app/touch/screens/; it draws the session and says what was touched.
#pragma once

#include <array>
#include <functional>
#include <string>

#include "app/touch/screens/states.h"
#include "app/touch/screens/table.h"
#include "app/touch/session/session.h"
#include "app/touch/ui/widgets.h"
#include "survey/assess/progress.h"

namespace app {

class TouchApp {
 public:
  explicit TouchApp(platform::Devices devices);

  // From the window.
  bool poll();
  void draw(Canvas& canvas, FrameInput frame);
  bool wants_frame() const { return fresh_ || ui_.wants_frame(); }
  double sleep_s() const;  // how long nothing need be looked at
  Ui& ui() { return ui_; }
  Color background() const;
  double now_s() const { return session_.now_s(); }
  bool back();      // false: there is nothing to go back to
  void mark_key();  // volume key or space bar
  void dropped_file(const std::string& path);
  void pause();
  bool busy() const { return session_.busy(); }
  void on_wake(std::function<void()> wake);

  // What has just happened and how many hours there are: spoken where the system can.
  std::string live_words();

  // From the screens.
  Session& session() { return session_; }
  ScreenStates& states() { return states_; }
  ScreenId screen() const { return screen_; }
  void go(ScreenId screen);
  void go_under() { go(under(screen_, from_)); }  // the way back
  // Of the site as its file is now; worked out at the first question after a change.
  const std::array<survey::StopProgress, survey::kStopCount>& progress();
  void say(std::string words);  // for a few seconds, at the foot of the screen
  // With a button that does something about it; longer.
  void say_with(std::string words, std::string action, std::function<void()> act);
  void bring_from_folder();               // where the system has no chooser
  void say_once_kept(std::string words);  // when what was just written is durable
  bool take_mark_key();                   // true once after the key
  bool dusk() const;

 private:
  void frame_around(Rect page);
  Rect navigation(Rect page);
  void header(Rect bar);
  Rect doubt_strip(Rect area);
  void toast(Rect page);
  void explanations(Rect page);
  void enter(ScreenId screen);
  double part_done(ScreenId stop);  // of a stop, for its ring

  Session session_;
  Ui ui_;
  void gave_way();
  bool asks_for_file() const;
  void take_opened_files();

  ScreenStates states_;
  ScreenId screen_ = ScreenId::sites, from_ = ScreenId::sites;
  bool fresh_ = true, mark_key_ = false;
  std::string toast_, toast_once_kept_, toast_action_;
  std::function<void()> toast_act_;
  double toast_until_s_ = 0;
  std::array<survey::StopProgress, survey::kStopCount> progress_;
  std::uint64_t progress_for_ = ~0ull;
};

}  // namespace app
