// app/touch/script/script.h: scripted walks: plain text that drives the true app, for tests and demos.
// One command a line, `#` begins a comment, words in "quotes":
//
//   touch "label"                 one finger, down and up, on the area of that label; in another
//                                 language, on what the label is called there
//   touch "label" at X Y          parts of its width and height, 0 to 1
//   hold "label" SECONDS [sweep AZ EL AZ EL]    while held, the aim goes from one to the other
//   swipe "label" DX DY           one finger over it, dp
//   pinch "label" FACTOR          two fingers
//   aim AZIMUTH_MAGNETIC ELEVATION    then waits until the hand is steady
//   device "event"                any event of platform/recorded.h
//   type "text"                   through the keyboard
//   key NAME                      enter, escape, space, backspace, tab, left, right, up, down
//   wait SECONDS                  of the app's clock
//   settle                        until the worker is done
//   resize W H
//   screenshot PATH
//   expect "text"                 somewhere on the screen; expect_not for the opposite
//   check                         no words cut or over one another, no area too small
//
// Errors: the first command that fails is named with its line
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "app/touch/window.h"
#include "horizon/angle.h"
#include "platform/recorded.h"

namespace app {

class Script {
 public:
  Script(Window& window, TouchApp& touch_app, platform::Recording& recording)
      : window_(window), app_(touch_app), recording_(recording) {}
  horizon::Result<void> run(std::string_view text);
  horizon::Result<void> command(const std::string& line);

  int touches() const { return touches_; }  // taps, holds and swipes
  int scrolls() const { return scrolls_; }  // of them, swipes made to bring a label into sight
  // Faults that `check` found are gathered here instead of ending the run, if set.
  std::vector<std::string>* gather = nullptr;
  std::vector<std::string> may_shorten;
  std::string folder;  // screenshots with relative names go here

 private:
  using Words = std::vector<std::string>;
  horizon::Result<void> touch(const Words& words);
  horizon::Result<void> hold(const Words& words);
  horizon::Result<void> expect(const std::string& text, bool wanted);
  horizon::Result<void> settle();
  const Hit* find(std::string_view label, bool scrolls = false) const;
  const Hit* bring_into_sight(const std::string& label);
  void finger(Uint32 type, Point at, int id = 1);
  void frames(double seconds);
  void pump();

  Window& window_;
  TouchApp& app_;
  platform::Recording& recording_;
  int touches_ = 0, scrolls_ = 0;
  bool aimed_ = false;
  double aim_az_ = 0;
};

}  // namespace app
