#include <algorithm>
#include <regex>

#include "app/words/words.h"
#include "tests/app/handover_tools.h"

using namespace app;
using namespace handover_tools;

TEST_CASE("Small, large and strange sites make sound reports in both languages [property]") {
  const Folder folder("sizes");
  const std::string long_name =
      "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftsgarten am "
      "Hang über dem unteren Ende des langen Tales, Teil zwei von drei";
  const struct {
    const char* file;
    larkholm::BookSize size;
    const char* language;
    Paper paper;
    Units units;
  } cases[] = {
      {"small",
       {.stations = 1, .photos = 0, .ground = false},
       "en",
       Paper::letter,
       Units::imperial},
      {"large", {.stations = 6, .photos = 60}, "de", Paper::a4, Units::metric},
      {"bare", {.stations = 2, .photos = 0, .ground = false}, "de", Paper::letter, Units::metric},
      {"strange",
       {.name = long_name,
        .stations = 2,
        .photos = 2,
        .note = "גינת בית הספר: 12 שורות של ירקות, ABC והשביל מדרום. مرحبا بكم في الحديقة"},
       "en",
       Paper::a4,
       Units::metric},
      {"southern", {.latitude_deg = -43.6, .longitude_deg = 170.1}, "de", Paper::a4, Units::metric},
      {"polar",
       {.stations = 1, .latitude_deg = 78.2, .longitude_deg = 15.6},
       "en",
       Paper::letter,
       Units::metric},
      // One mark: all the rest of the horizon is an open stretch.
      {"one_mark",
       {.stations = 2, .photos = 0, .ground = false, .most_marks = 1},
       "en",
       Paper::letter,
       Units::imperial},
  };
  for (const auto& one : cases) {
    CAPTURE(std::string(one.file));
    auto book = larkholm::book(folder / (std::string(one.file) + ".gpkg"), one.size);
    auto options = options_for(folder / one.file);
    options.draws = 0;
    options.unpacked = false;
    options.report.language = one.language;
    options.report.paper = one.paper;
    options.report.units = one.units;
    const Handover done = made(book, options);
    check_pdf(done.report_path);
    if (one.size.photos >= 60) {
      std::uintmax_t pictures = 0;
      for (int i = 0; i < one.size.photos; ++i) pictures += larkholm::picture(i).size();
      MESSAGE(std::string(one.file)
              << ": package " << done.package_bytes << " bytes, photographs " << pictures);
      if (one.size.stations <= 6) CHECK(done.package_bytes < pictures + 3'000'000);
    }
    const std::string text = output_of("pdftotext -layout " + done.report_path + " -");
    std::istringstream pages(text);
    std::string page;
    int number = 0;
    while (std::getline(pages, page, '\f')) {
      if (page.empty()) continue;
      ++number;
      CAPTURE(number);
      CAPTURE(page);
      CHECK(std::count_if(page.begin(), page.end(), [](unsigned char c) { return c > ' '; }) > 150);
    }
    CHECK(number >= 5);
    // No word on another, off the page or under 7 pt; no page with an empty lower third.
    const std::string faults = output_of("/usr/bin/python3 " + std::string(ADRET_TEST_DATA) +
                                         "/../app/check_pages.py " + done.report_path);
    const auto first = faults.find('\n') + 1;
    const bool sound = faults.find_first_not_of("\n", first) == std::string::npos;
    const std::string file = one.file;
    // The others are looked at, and told where they fall short.
    if (file == "small" || file == "large")
      CHECK_MESSAGE(sound, faults);
    else
      WARN_MESSAGE(sound, faults);
    const std::string archive = output_of("/usr/bin/python3 " + std::string(ADRET_TEST_DATA) +
                                          "/../app/check_archive.py " + done.report_path);
    CHECK(archive == "0 rules broken\n");
    // No key was left without words.
    const std::regex key("\\b(report|chart|topic|hazard|kind|reference|severity|check)\\.[a-z]");
    std::smatch found;
    const bool has_key = std::regex_search(text, found, key);
    CAPTURE(has_key ? found.str() : "");
    CHECK_FALSE(has_key);
  }
}
