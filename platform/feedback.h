// platform/feedback.h: what a hand or an ear notices: a buzz, a click, a screen that stays on.
#pragma once

#include <cstdint>

namespace platform {

enum class Signal : std::uint8_t { saved, refused, done };

class Feedback {
 public:
  virtual ~Feedback() = default;
  virtual void give(Signal signal) = 0;      // vibration, else a short sound, else nothing
  virtual void keep_screen_on(bool on) = 0;  // while aiming
};

}  // namespace platform
