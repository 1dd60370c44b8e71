// app/touch/screens/photos.cpp: photos of the site, each tied to station, bearing and time.
#include <algorithm>
#include <cmath>

#include "app/drawing/shapes.h"
#include "app/touch/screens/screens.h"
#include "app/touch/session/pictures.h"
#include "app/words/words.h"
#include "survey/book/photo_file.h"

namespace app {
namespace {

void keep(TouchApp& app, std::string_view bytes, const std::string& name,
          std::optional<double> view_deg, bool picked) {
  Session& session = app.session();
  survey::Photo photo;
  photo.file_name = name;
  photo.time = session.now();
  if (const auto* at = session.station()) {
    photo.station_id = at->id;
    if (session.has_position()) photo.position = at->position;
  }
  if (picked) {  // what the picture says of itself, not where the device points now
    const std::string id = photo.station_id;
    if (auto facts = survey::photo_facts(bytes)) {
      const double when = facts->local_s.value_or(session.now().utc_s);
      photo = survey::photo_of(*facts, name, session.wall_offset_h(when));
      photo.station_id = id;
      if (photo.time.utc_s == 0) photo.time = session.now();
    }
  } else if (const auto aim = session.aim(); aim && aim->fault == AimFault::none) {
    photo.bearing_deg = session.true_azimuth_deg(*aim);
    photo.reference = horizon::Reference::true_north;
    photo.elevation_deg = aim->elevation_deg;
    photo.roll_deg = aim->roll_deg;
  }
  if (view_deg) photo.view_width_deg = view_deg;
  if (auto added = session.book().add_photo(photo, bytes); !added) {
    session.problem = in_words(added.error());
    return;
  }
  session.saved();
  app.say_once_kept(photo.bearing_deg ? tr("photos.photo_saved_station_bearing_time")
                                      : tr("photos.photo_saved_station_time"));
}

}  // namespace

void photos_screen(TouchApp& app, Rect area) {
  Session& session = app.session();
  Ui& ui = app.ui();
  const Theme& t = ui.theme();
  PhotoState& state = app.states().photo;
  const Rect room = titled(app, area);
  if (auto still = session.devices().camera->taken())
    keep(app, {reinterpret_cast<const char*>(still->bytes.data()), still->bytes.size()},
         "photo.jpg", still->field_of_view_deg, false);
  while (auto file = session.devices().files->picked())
    keep(app, {reinterpret_cast<const char*>(file->bytes.data()), file->bytes.size()}, file->name,
         {}, true);

  const float foot = 80;
  auto photos = session.book().all<survey::Photo>();
  scrolling(app, "Photos list", {room.x, room.y, room.w, room.h - foot}, [&](Column& rows) {
    if (!photos) return rows.text(in_words(photos.error()));
    if (photos->empty()) rows.text(tr("photos.look_towards_sun_side_access"));
    const int columns = std::max(1, int((rows.width() + 10) / 200));
    const float width = (rows.width() - 10 * float(columns - 1)) / float(columns);
    const float height = width * 0.75f + ui.sp(28);
    for (std::size_t i = 0; i < photos->size(); i += std::size_t(columns)) {
      const Rect row = rows.row(height);
      for (int c = 0; c < columns && i + std::size_t(c) < photos->size(); ++c) {
        const auto& photo = (*photos)[i + std::size_t(c)];
        const Rect cell{row.x + float(c) * (width + 10), row.y, width, height};
        if (row.bottom() < room.y || row.y > room.bottom()) {  // out of sight: not decoded
          ui.tap(tr("photos.photo", {number(double(i + std::size_t(c) + 1))}), cell);
          continue;
        }
        const Image& small = thumbnail(session, photo.id);
        const Rect picture{cell.x, cell.y, width, width * 0.75f};
        ui.canvas().fill(rectangle(picture), {t.night});
        if (small.width > 0) {
          const float scale =
              std::min(picture.w / float(small.width), picture.h / float(small.height));
          const float w = float(small.width) * scale, h = float(small.height) * scale;
          ui.canvas().image(
              small, {picture.x + (picture.w - w) / 2, picture.y + (picture.h - h) / 2, w, h});
        }
        std::string words = clock_text(app, photo.time.utc_s);
        if (photo.bearing_deg)
          words =
              degrees(*photo.bearing_deg) + " " + compass_point(*photo.bearing_deg) + " · " + words;
        ui.words({cell.x, picture.bottom(), width, ui.sp(26)}, words, ui.style(14, t.ink));
        if (ui.tap(tr("photos.photo", {number(double(i + std::size_t(c) + 1))}), cell)) {
          state.id = photo.id;
          app.go(ScreenId::photo);
        }
      }
    }
    const auto status = session.devices().camera->status();
    if (!status.problem.empty()) rows.caution(tr(status.problem));
  });
  hairline(ui, area.x, room.bottom() - foot, area.w);
  const float width = std::min(area.w - 32, 520.f), x = area.x + (area.w - width) / 2;
  const float side = width * 0.36f, y = room.bottom() - foot + 10;
  const bool left = ui.frame().left_handed;
  if (button(ui, tr("photos.pick_picture"), {left ? x + width - side : x, y, side, 60})) {
    if (!session.devices().files->pick("jpg,jpeg,png"))
      app.say(tr("photos.drop_picture_jpeg_png_window"));
  }
  const bool camera = session.devices().camera->status().state == platform::DeviceState::running;
  if (button(ui, tr("photos.take_photo"), {left ? x : x + side + 10, y, width - side - 10, 60},
             ButtonLook::main, camera, Icon::camera))
    session.devices().camera->take();
}

}  // namespace app
