#include "app/drawing/theme.h"

#include <doctest/doctest.h>

#include <cmath>

#include "app/drawing/contrast.h"
#include "app/touch/ui/text_edit.h"

using namespace app;

TEST_CASE("words stand out by 7 to 1 or more on all that they lie on [published]") {
  // Source: WCAG 2.1, success criterion 1.4.6 (enhanced): 7:1.
  CHECK(std::fabs(contrast({0, 0, 0}, {255, 255, 255}) - 21) < 1e-9);  // 1.4.3, its extreme
  for (const Theme& t : {kDaylight, kDusk}) {
    for (const Color on : {t.paper, t.card, t.amber_soft, t.sky}) CHECK(contrast(t.ink, on) >= 7);
    for (const Color on : {t.paper, t.card, t.sky}) CHECK(contrast(t.quiet, on) >= 7);
    CHECK(contrast(t.on_ink, t.night) >= 7);
  }
  for (const Color on : {kDaylight.paper, kDaylight.card, kDaylight.warning_soft,
                         kDaylight.amber_soft, kDaylight.sky})
    CHECK(contrast(kDaylight.warning, on) >= 7);
  CHECK(contrast(kDaylight.good, kDaylight.good_soft) >= 7);
  CHECK(contrast({28, 40, 48}, kDaylight.amber) >= 7);  // the main button
  CHECK(contrast({28, 40, 48}, kDusk.amber) >= 6);
}

TEST_CASE("a text field writes, selects, deletes and undoes in any script [property]") {
  TextEdit edit;
  edit.begin("Larkholm", false);
  edit.insert(" Gärten α ب");
  CHECK(edit.utf8() == "Larkholm Gärten α ب");
  edit.key(EditKey::backspace, false);
  CHECK(edit.utf8() == "Larkholm Gärten α ");
  edit.key(EditKey::undo, false);
  CHECK(edit.utf8() == "Larkholm Gärten α ب");
  edit.key(EditKey::select_all, false);
  edit.insert("x\ny");
  CHECK(edit.utf8() == "x y");  // one line stays one line
  edit.begin("one", true);
  edit.key(EditKey::enter, false);
  edit.insert("two");
  CHECK(edit.utf8() == "one\ntwo");
  CHECK(edit.rows().size() == 2);
  CHECK(utf8_of(utf32_of("aé€😀")) == "aé€😀");
}
