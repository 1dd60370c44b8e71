// platform/feedback.h: what a hand or an ear notices: a buzz, a click, a screen that stays on.
#pragma once

#include <cstdint>
#include <string>

namespace platform {

enum class Signal : std::uint8_t { saved, refused, done };

class Feedback {
 public:
  virtual ~Feedback() = default;
  virtual void give(Signal signal) = 0;      // vibration, else a short sound, else nothing
  virtual void keep_screen_on(bool on) = 0;  // while aiming
  // Words said aloud, in that language ("de"); what is being said gives way. Not everywhere.
  virtual bool speaks() const { return false; }
  virtual void speak(const std::string& words, const std::string& language) {
    (void)words;
    (void)language;
  }
};

}  // namespace platform
