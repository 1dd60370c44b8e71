#include <doctest/doctest.h>

#include <cstdio>
#include <fstream>
#include <string>

#include "app/drawing/cairo_canvas.h"
#include "app/drawing/shapes.h"
#include "app/drawing/theme.h"
#include "tests/shell.h"

using namespace app;

namespace {

std::string output_of(const std::string& command) {
  const Shell run = shell(command + " 2>&1");
  return run.words + "exit " + std::to_string(run.exit_code);
}

std::string sample_pdf() {
  PdfDocument document({.title = "A plot – Köfels", .language = "de", .time_utc_s = 1.8e9}, 300,
                       200);
  for (int page = 0; page < 2; ++page) {
    if (page > 0) document.next_page();
    document.bookmark(0, "Page " + std::to_string(page + 1));
    Canvas& canvas = document.canvas();
    document.begin_element("P");
    canvas.text({20, 40}, "Winter sun 3 h 12 min ± 14", {.size = 14, .color = kPrint.ink});
    canvas.text({20, 60}, "שלום 12 ab", {.size = 14, .color = kPrint.ink});
    canvas.text({20, 80}, "efficient ffi", {.weight = Weight::semibold});
    document.end_element();
    canvas.begin_figure("The skyline is 12° high in the south");
    canvas.fill(circle({100, 120}, 30), paint_of(horizon::Kind::evergreen, kPrint));
    canvas.end_figure();
  }
  auto bytes = document.finish();
  REQUIRE(bytes);
  return *bytes;
}

}  // namespace

// The checkers are qpdf, Poppler and (for archives) pikepdf and LittleCMS, which know nothing of this
// program.
TEST_CASE("A PDF is sound, its fonts are inside and its text can be found [property]") {
  const std::string pdf = sample_pdf();
  CHECK(pdf == sample_pdf());  // the same bytes again
  const std::string path = "cairo_test_sample.pdf";
  std::ofstream(path, std::ios::binary) << pdf;
  const std::string checked = output_of("qpdf --check " + path);
  CAPTURE(checked);
  CHECK(checked.find("No syntax or stream encoding errors") != std::string::npos);
  CHECK(checked.find("WARNING") == std::string::npos);
  const std::string text = output_of("pdftotext -layout " + path + " -");
  CHECK(text.find("Winter sun 3 h 12 min ± 14") != std::string::npos);
  CHECK(text.find("שלום") != std::string::npos);
  CHECK(text.find("efficient ffi") != std::string::npos);
  const std::string facts = output_of("pdfinfo " + path);
  CHECK(facts.find("A plot – Köfels") != std::string::npos);
  CHECK(facts.find("Tagged:          yes") != std::string::npos);
  CHECK(facts.find("2027") != std::string::npos);
  const std::string structure = output_of("pdfinfo -struct-text " + path);
  CHECK(structure.find("Figure") != std::string::npos);
  const std::string plain = output_of("qpdf --qdf --object-streams=disable " + path + " -");
  CHECK(plain.find("/Alt") != std::string::npos);
  CHECK(plain.find("/Lang") != std::string::npos);
  CHECK(plain.find("(Page 2)") != std::string::npos);
  const std::string archive = output_of("/usr/bin/python3 " + std::string(ADRET_TEST_DATA) +
                                        "/../app/check_archive.py " + path);
  CHECK(archive.find("0 rules broken") == 0);
  std::remove(path.c_str());
}

TEST_CASE("SVG and PNG come out of the same drawing, the same bytes each time [property]") {
  const Drawing drawing = [](Canvas& canvas) {
    canvas.fill(rectangle({10, 10, 50, 30}), {kPrint.amber});
    canvas.stroke(line({0, 0}, {80, 50}), {kPrint.ink, 2, {4, 2}});
    canvas.text({40, 40}, "Süd < 12°", {.size = 10, .color = kPrint.ink, .align = Align::center});
  };
  const auto svg = svg_of(80, 50, "a < b", drawing);
  REQUIRE(svg);
  CHECK(svg->find("<title>a &lt; b</title>") != std::string::npos);
  const bool same = *svg == *svg_of(80, 50, "a < b", drawing);
  CHECK(same);
  const auto png = png_of(80, 50, 2, drawing);
  REQUIRE(png);
  REQUIRE(png->size() > 24);
  CHECK(png->substr(1, 3) == "PNG");
  CHECK(static_cast<unsigned char>((*png)[19]) == 160);  // width, ISO/IEC 15948, 11.2.2
}
