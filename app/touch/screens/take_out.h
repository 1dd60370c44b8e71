// app/touch/screens/take_out.h: a row is taken out of the site, with a way back: at once beside the words, and
// later at "What was done".
#pragma once

#include <algorithm>
#include <string>

#include "app/touch/screens/screens.h"
#include "app/touch/screens/states.h"
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
  const std::string site = app.session().site().id;
  const double when = app.session().now().utc_s;
  const auto bring_back = [&app, row, site, name, when] {
    auto& all = app.states().taken_out;
    const auto mine = [&](const TakenOut& one) {
      return one.site == site && one.name == name && one.utc_s == when;
    };
    if (std::ranges::none_of(all, mine) || app.session().site().id != site) return false;
    std::erase_if(all, mine);
    if (auto put = app.session().book().put(row); !put) app.say(in_words(put.error()));
    app.session().changed();
    return true;
  };
  app.states().taken_out.push_back({site, name, when, bring_back});
  app.say_with(tr("take.taken_out", {name}), tr("touch.bring_back"),
               [bring_back] { bring_back(); });
  return true;
}

}  // namespace app
