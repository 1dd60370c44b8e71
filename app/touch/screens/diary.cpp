// app/touch/screens/diary.cpp: a class notes when the sun comes and goes; typed in day by day.
#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>

#include "app/handover/diary_sheet.h"
#include "app/touch/screens/screens.h"
#include "app/touch/screens/take_out.h"
#include "app/words/quantity.h"
#include "app/words/sentence.h"
#include "app/words/words.h"
#include "survey/book/text.h"
#include "survey/exchange/contacts_csv.h"
#include "survey/exchange/exchange.h"

namespace app {
namespace {

constexpr int kDiaryLane = 5;  // of the worker
constexpr int kDaysAhead = 120;

std::string day_text(horizon::Date date) {
  return std::to_string(unsigned(date.day())) + ". " +
         month_name(static_cast<int>(unsigned(date.month())));
}

horizon::Date today(Session& session) {
  return horizon::date_of(session.now().utc_s, session.now().utc_offset_h);
}

// One typed line goes through the same reader as a table: the same words for what is wrong.
survey::ContactsTable read_line(const Session& session, const std::string& date,
                                const std::string& came, const std::string& went) {
  std::string line = date + ";" + came + ";" + went;
  std::ranges::replace(line, '"', ' ');
  const std::string table = "date;came;went\n" + line + "\n";
  const double now_h = session.now().utc_offset_h;
  auto read = survey::contacts_of_csv(table, now_h);
  if (read.diary.size() != 1) return read;
  // By the clock of that day: in July a row of February is not in summer time.
  const auto day = horizon::parse_date(read.diary.front().row.date);
  if (!day) return read;
  const double noon = horizon::start_of_day_utc_s(*day, now_h) + 43200;
  return survey::contacts_of_csv(table, session.wall_offset_h(noon));
}

void entry(TouchApp& app, Column& rows) {
  Session& session = app.session();
  DiaryState& state = app.states().diary;
  if (state.date.empty()) state.date = horizon::format_date(today(session));
  // Half a time is no fault while it is being written.
  const auto asked = [&](std::string_view key, std::string& text, std::string_view example,
                         const std::string& date, const std::string& came,
                         const std::string& went) {
    const std::string label = tr(key);
    rows.field(label, text, example);
    std::ranges::replace(text, ';', ' ');
    const auto read = read_line(session, date, came, went);
    if (app.ui().focused() != label && !text.empty() && !read.errors.empty())
      rows.refused(words_of(read.errors.front()));
  };
  asked("diary.date", state.date, "2027-02-03", state.date, "", "");
  const std::string day = horizon::format_date(today(session));
  asked("diary.came", state.came, "9:41", day, state.came, "");
  asked("diary.went", state.went, "15:02", day, "", state.went);
  const std::array<std::string, 4> skies = {tr("diary.sky.unknown"), tr("diary.sky.clear"),
                                            tr("diary.sky.mixed"), tr("diary.sky.cloudy")};
  rows.choices(tr("diary.sky"), skies, state.sky);
  rows.field(tr("diary.by"), state.by, "4 b");
  if (!state.problem.empty()) rows.caution(state.problem);
  if (!rows.button(tr("diary.add"), ButtonLook::main)) return;
  const auto read = read_line(session, state.date, state.came, state.went);
  if (!read.errors.empty() || read.diary.size() != 1) {
    state.problem = read.errors.empty() ? tr("diary.not_read") : words_of(read.errors.front());
    return;
  }
  survey::DiaryRow row = read.diary.front().row;
  row.sky = survey::DiarySky(state.sky);
  row.people = state.by;
  state.problem.clear();
  if (!session.put_diary(std::move(row))) return;
  app.say_once_kept(tr("diary.added", {state.date}));
  state.came.clear();
  state.went.clear();
  if (const auto date = horizon::parse_date(state.date))
    state.date =
        horizon::format_date(horizon::Date{std::chrono::sys_days{*date} + std::chrono::days{1}});
}

// Days worth watching and the sun's return, worked out beside the frame.
void want_plan(TouchApp& app) {
  Session& session = app.session();
  DiaryState& state = app.states().diary;
  const auto* at = session.skyline();
  if (!at || !session.has_position()) return;
  const std::string key = session.site().id + at->station.id +
                          std::to_string(session.book().change_count()) +
                          horizon::format_date(today(session));
  if (state.asked == key) return;
  state.asked = key;
  DiaryState* kept = &state;
  session.devices().worker->post(
      kDiaryLane,
      [skyline = at->skyline(), eye = at->eye, first = today(session),
       offset = session.now().utc_offset_h, key, kept]() -> platform::Worker::Done {
        const horizon::Air air = horizon::standard_air(eye.height_m);
        const horizon::Mask mask(skyline);
        auto days = horizon::days_to_watch(skyline, first, kDaysAhead, offset, eye, air);
        auto spell = horizon::sun_return(first, offset, eye, air, mask);
        auto nights = horizon::moon_nights(int(first.year()), offset, eye, air, mask);
        return [kept, key, skyline, days = std::move(days), spell, nights = std::move(nights)] {
          if (kept->asked != key) return;
          kept->days = days;
          kept->spell = spell;
          kept->nights = nights;
          kept->obstacles = skyline.obstacles;
          kept->known = true;
        };
      });
}

std::string watch_words(TouchApp& app, const DiaryState& state, const horizon::DaysToWatch& d) {
  std::string where = degree_range(d.from_azimuth_deg, d.to_azimuth_deg);
  if (d.obstacle >= 0 && !state.obstacles[std::size_t(d.obstacle)].label.empty())
    where = state.obstacles[std::size_t(d.obstacle)].label + ", " + where;
  return tr(d.came ? "diary.watch_comes" : "diary.watch_goes",
            {day_text(d.first), day_text(d.last), clock_text(app, d.about_utc_s), where,
             number(d.doubt_min)});
}

void plan_rows(TouchApp& app, Column& rows) {
  DiaryState& state = app.states().diary;
  want_plan(app);
  if (!state.known) return;
  rows.heading(tr("diary.watch_title"));
  if (state.spell.back && state.spell.now_without)
    rows.strong(tr("diary.back_on", {day_text(*state.spell.back)}));
  else if (state.spell.back && state.spell.gone)
    rows.text(tr("diary.spell_ahead", {day_text(*state.spell.gone), day_text(*state.spell.back)}));
  if (state.days.empty()) rows.text(tr("diary.nothing_to_watch"));
  for (const auto& d : state.days) rows.text(watch_words(app, state, d));
  if (state.nights.empty()) return;
  rows.heading(tr("diary.nights_title"));
  rows.text(tr("diary.nights_note"));
  for (std::size_t i = 0; i < std::min<std::size_t>(state.nights.size(), 6); ++i) {
    const auto& night = state.nights[i];
    std::string times;
    for (const auto& c : night.contacts)
      add_listed(times,
                 tr(c.came ? "diary.moon_comes" : "diary.moon_goes", {clock_text(app, c.utc_s)}));
    rows.fact(
        day_text(night.evening),
        times.empty() ? tr("diary.moon_highest", {clock_text(app, night.highest_utc_s)}) : times);
  }
}

void sheet_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  DiaryState& state = app.states().diary;
  rows.heading(tr("diary.sheet"));
  rows.text(tr("diary.sheet_note"));
  if (!rows.button(tr("diary.sheet_make"))) return;
  DiarySheet sheet;
  sheet.site = session.site().name;
  sheet.station = session.station() ? session.station()->name : "";
  sheet.language = language();
  sheet.first = today(session);
  if (state.known && !state.days.empty()) sheet.watch = watch_words(app, state, state.days.front());
  const std::string folder = session.devices().files->handover_folder();
  const std::string path =
      folder + "/" + survey::safe_file_name(tr("diary.sheet_file", {sheet.site})) + ".pdf";
  const auto bytes = diary_sheet(sheet);
  if (!bytes) return app.say(in_words(bytes.error()));
  std::error_code ignored;
  std::filesystem::create_directories(folder, ignored);
  if (const auto written = survey::write_file(path, *bytes); !written)
    return app.say(in_words(written.error()));
  app.say(tr("diary.sheet_made", {path}));
}

void list_rows(TouchApp& app, Column& rows) {
  Session& session = app.session();
  const auto* at = session.skyline();
  DiaryState& state = app.states().diary;
  if (!at) return;
  if (state.rows_for != session.book().change_count()) {
    state.rows_for = session.book().change_count();
    auto all = session.book().where<survey::DiaryRow>("station_id", at->station.id);
    state.rows = all ? *all : std::vector<survey::DiaryRow>{};
  }
  if (state.rows.empty()) return rows.text(tr("diary.empty"));
  rows.heading(tr("diary.list"));
  const auto& contacts = at->contacts;
  for (std::size_t r = state.rows.size(), shown = 0; r-- > 0 && shown < 60; ++shown) {
    const auto& row = state.rows[r];
    const auto clock = [&](const std::optional<survey::Moment>& time) {
      return time ? horizon::format_clock(time->utc_s, time->utc_offset_h) : std::string("–");
    };
    rows.fact(row.date, clock(row.came) + " – " + clock(row.went));
    for (std::size_t i = 0; i < contacts.origins.size(); ++i)
      if (contacts.origins[i].row == row.id && !contacts.fit.contacts[i].used())
        rows.caution(contacts.origins[i].name + ": " + words_of(contacts.fit.contacts[i].why));
    for (std::size_t i = 0; i < contacts.dark_origins.size(); ++i)
      if (contacts.dark_origins[i].row == row.id) {
        const auto& day = contacts.fit.dark[i];
        if (day.fault == horizon::ContactFault::none)
          rows.text(tr("diary.dark_used"));
        else
          rows.caution(row.date + ": " + words_of(day.why));
      }
    if (rows.button(tr("diary.take_out", {row.date, number(double(r + 1))}), ButtonLook::quiet)) {
      (void)take_out(app, row, row.date);
      return;
    }
  }
  for (const auto& note : contacts.notes) rows.caution(in_words(note));
}

}  // namespace

void diary_screen(TouchApp& app, Rect area) {
  const Rect page = titled(app, area);
  scrolling(app, tr("diary.title"), page, [&](Column& rows) {
    rows.caution(tr("contacts.caution"));
    if (!app.session().has_position()) {
      rows.strong(tr("contacts.position_first"));
      return;
    }
    rows.text(tr("diary.how"));
    entry(app, rows);
    plan_rows(app, rows);
    sheet_rows(app, rows);
    list_rows(app, rows);
  });
}

}  // namespace app
