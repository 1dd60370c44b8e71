// app/touch/screens/take_out.h: a row is taken out of the site, with a way back as long as the words stand.
#pragma once

#include <string>

#include "app/touch/screens/screens.h"
#include "app/words/sentence.h"
#include "app/words/words.h"

namespace app {

// False, and said, where it cannot be.
template <class Row>
bool take_out(TouchApp& app, const Row& row, const std::string& name) {
  if (auto gone = app.session().book().remove<Row>(row.id); !gone) {
    app.say(in_words(gone.error()));
    return false;
  }
  app.session().changed();
  app.say_with(tr("take.taken_out", {name}), tr("touch.bring_back"), [&app, row] {
    if (auto put = app.session().book().put(row); !put) app.say(in_words(put.error()));
    app.session().changed();
  });
  return true;
}

}  // namespace app
