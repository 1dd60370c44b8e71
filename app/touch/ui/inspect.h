// app/touch/ui/inspect.h: what is wrong with a frame: words cut off or over one another, areas too small
// for a finger.
// Units: dp
// Limits: words that scroll out of sight are not cut; a name that the user typed may be shortened
#pragma once

#include <string>
#include <vector>

#include "app/touch/ui/ui.h"

namespace app {

// Draws on, and notes every line of words and where it is seen.
class InspectedCanvas : public Canvas {
 public:
  void begin(Canvas& target, Rect window);
  void fill(const Path& path, const Paint& paint) override;
  void stroke(const Path& path, const Stroke& stroke) override { target_->stroke(path, stroke); }
  void text(Point at, std::string_view utf8, const TextStyle& style) override;
  void image(const Image& image, Rect where) override { target_->image(image, where); }
  void push_clip(Rect rect) override;
  void pop_clip() override;

  struct Words {
    std::string text;
    Rect box, visible, clip;
    Color color;
  };
  const std::vector<Words>& words() const { return words_; }
  bool shows(std::string_view part) const;

 private:
  Canvas* target_ = nullptr;
  std::vector<Rect> clips_;
  std::vector<Words> words_;
};

// One line a fault, in words: "cut off: ...", "overlap: ... / ...", "small: ... 40 x 30".
// `may_shorten` lists what the user typed.
std::vector<std::string> faults_of(const Ui& ui, const InspectedCanvas& canvas,
                                   const std::vector<std::string>& may_shorten = {});

}  // namespace app
