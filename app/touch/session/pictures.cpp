#include "app/touch/session/pictures.h"

#include <algorithm>
#include <map>

#include "app/touch/session/session.h"

namespace app {

const Image& thumbnail(Session& session, const std::string& photo_id) {
  static std::map<std::string, Image> kept;
  auto found = kept.find(photo_id);
  if (found != kept.end()) return found->second;
  if (kept.size() > 200) kept.clear();
  Image image;
  auto photo = session.book().get<survey::Photo>(photo_id);
  if (auto bytes = session.book().photo_bytes(photo_id); bytes && photo)
    image = decoded(*bytes, photo->orientation, 480);
  return kept[photo_id] = std::move(image);
}

}  // namespace app
