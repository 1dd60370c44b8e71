#include "app/touch/ui/areas.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/words/words.h"

namespace app {

std::string areas_json(const Ui& ui, std::string_view title, std::string_view live) {
  using nlohmann::json;
  json out = {{"title", title},          {"language", language()}, {"live", live},
              {"focus", ui.key_focus()}, {"areas", json::array()}, {"words", json::array()}};
  const auto& hits = ui.hits();
  for (std::size_t i = ui.modal_from(); i < hits.size(); ++i) {
    const Hit& hit = hits[i];
    if (hit.role == Role::scroll) continue;
    if (!hit.refused.empty() && hit.label == ui.focused()) out["live"] = hit.refused;
    out["areas"].push_back({{"name", hit.label},
                            {"role", name_of(hit.role)},
                            {"enabled", hit.enabled},
                            {"chosen", hit.chosen},
                            {"value", hit.value},
                            {"refused", hit.refused},
                            {"box", {hit.rect.x, hit.rect.y, hit.rect.w, hit.rect.h}}});
  }
  // The words of areas are their names already.
  for (const std::string& words : ui.said()) {
    const bool named =
        std::any_of(hits.begin(), hits.end(), [&](const Hit& h) { return h.label == words; });
    if (!named && !words.empty()) out["words"].push_back(words);
  }
  return out.dump(-1, ' ', false, json::error_handler_t::replace);
}

}  // namespace app
