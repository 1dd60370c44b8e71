#include "survey/exchange/marks_csv.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "tests/near.h"
#include "tests/said.h"

using namespace survey;
using namespace std::string_view_literals;
using horizon::Kind;
using horizon::Reference;

namespace {

bool says(const std::vector<horizon::Error>& list, std::string_view where, std::string_view what) {
  for (const auto& e : list)
    if (e.where == where && said(e).find(what) != std::string::npos) return true;
  return false;
}

}  // namespace

TEST_CASE("[property] a plain table: names in any order, comments, blank lines") {
  const auto table = marks_of_csv(
      "# Larkholm, station B\n"
      "kind,label,elevation_deg,bearing_deg,reference,distance_m,uncertainty_deg\n"
      "\n"
      "ridge,East ridge,12.5,101.25,true,4000,0.5\n"
      "evergreen,\"Spruces, north row\",24 30,221\xC2\xB0"
      "30'15\",magnetic,,\n");
  CHECK(table.errors.empty());
  REQUIRE(table.marks.size() == 2);
  CHECK(table.marks[0].line == 4);
  CHECK(table.marks[0].bearing_deg == 101.25);
  CHECK(table.marks[0].elevation_deg == 12.5);
  CHECK(table.marks[0].north == Reference::true_north);
  CHECK(table.marks[0].distance_m == 4000.0);
  CHECK(table.marks[0].bearing_sigma_deg == 0.5);
  CHECK(table.marks[1].label == "Spruces, north row");
  CHECK(std::abs(table.marks[1].bearing_deg - 221.5041667) < 1e-6);
  CHECK(table.marks[1].elevation_deg == 24.5);
  CHECK(table.marks[1].north == Reference::magnetic);
}

// RFC 4180 (separated values), RFC 3629, RFC 2781, ISO 8859-1.
TEST_CASE("[published] the same table in every dress gives the same marks") {
  const std::string plain =
      "bearing_true_deg,elevation_deg,kind,label\n10.5,20.25,ridge,Gr\xC3\xA4t\n";
  std::string utf16 = "\xFF\xFE";
  for (const char c : "bearing_true_deg;elevation_deg;kind;label\r\n10,5;20,25;ridge;Gr"sv) {
    utf16 += c;
    utf16 += '\0';
  }
  utf16 += "\xE4\0t\0\r\0\n\0"sv;
  const std::string dresses[] = {
      plain,
      "\xEF\xBB\xBF" + plain,
      utf16,
      "bearing_true_deg,elevation_deg,kind,label\r\n10.5,20.25,ridge,Gr\xE4t\r\n",
      "bearing_true_deg;elevation_deg;kind;label\r10,5;20,25;ridge;\"Gr\xC3\xA4t\"\r",
      "azimuth_true\televation\tkind\tname\n10.5\t20.25\tRidge\tGr\xC3\xA4t",
  };
  for (const std::string& dress : dresses) {
    const auto table = marks_of_csv(dress);
    CHECK(table.errors.empty());
    REQUIRE(table.marks.size() == 1);
    CHECK(table.marks[0].bearing_deg == 10.5);
    CHECK(table.marks[0].elevation_deg == 20.25);
    CHECK(table.marks[0].label == "Gr\xC3\xA4t");
    CHECK(table.marks[0].north == Reference::true_north);
  }
}

TEST_CASE("[property] without names the fields are bearing, elevation, kind, label, distance") {
  const auto table = marks_of_csv("100,10\n110,12,evergreen,Spruces,35\n");
  REQUIRE(table.marks.size() == 2);
  CHECK(table.marks[0].kind == Kind::ridge);
  CHECK(table.marks[1].kind == Kind::evergreen);
  CHECK(table.marks[1].distance_m == 35.0);
}

TEST_CASE("[property] every bad row is named with line and cure, and the good ones are kept") {
  const auto table = marks_of_csv(
      "bearing,elevation,kind\n"
      "10,5,ridge\n"
      "nan,5,ridge\n"
      "20,95,ridge\n"
      "370,5,ridge\n"
      "-5,5,ridge\n"
      "30,5,cloud\n"
      ",5,ridge\n"
      "40,,ridge\n"
      "50,12%,ridge\n"
      "60,7,ridge,1,2,3\n"
      "70,7,ridge\n");
  CHECK(table.marks.size() == 2);
  CHECK(table.errors.size() == 9);
  CHECK(says(table.errors, "line 3", "error.no_angle"));
  CHECK(says(table.errors, "line 4", "error.elevation_outside"));
  CHECK(says(table.errors, "line 5", "error.bearing_outside"));
  CHECK(says(table.errors, "line 6", "error.bearing_outside"));
  CHECK(says(table.errors, "line 7", "error.kind_unknown"));
  CHECK(says(table.errors, "line 8", "error.bearing_missing"));
  CHECK(says(table.errors, "line 9", "error.elevation_missing"));
  CHECK(says(table.errors, "line 10", "error.no_angle"));
  CHECK(says(table.errors, "line 11", "error.too_many_fields"));
}

TEST_CASE("[property] a bad first row of a table without names is a bad row, not a heading") {
  const auto table = marks_of_csv("nan,5\n10,5\n");
  CHECK(table.marks.size() == 1);
  CHECK(says(table.errors, "line 1", "error.no_angle"));
}

TEST_CASE("[property] duplicates: a repeat counts once, another elevation is a step") {
  const auto table = marks_of_csv("bearing_true,elevation\n10,5\n10,5\n10,25\n20,5\n");
  CHECK(table.errors.empty());
  CHECK(table.marks.size() == 3);
  CHECK(says(table.notes, "line 3", "error.mark_repeated"));
  CHECK(says(table.notes, "line 4", "error.mark_same_bearing"));
}

TEST_CASE("[property] nothing, binary, half a file: a message, never a crash") {
  CHECK_FALSE(marks_of_csv("").errors.empty());
  CHECK_FALSE(marks_of_csv("# only a comment\n").errors.empty());
  CHECK_FALSE(marks_of_csv("bearing,elevation\n").errors.empty());
  CHECK_FALSE(marks_of_csv("name,colour\nx,y\n").errors.empty());
  CHECK_FALSE(marks_of_csv("\x7F"
                           "ELF\0\1\2"sv)
                  .errors.empty());
  CHECK_FALSE(marks_of_csv("\x89PNG\r\n\x1A\n\0\0\0\rIHDR"sv).errors.empty());
  CHECK_FALSE(marks_of_csv("\xFF\xFE"
                           "b"sv)
                  .errors.empty());
  marks_of_csv("bearing,elevation\n\"10,5\n20,5\n");  // an open quote
}

TEST_CASE("[property] a million rows are read") {
  std::string text = "bearing_true,elevation\n";
  for (int i = 0; i < 1000000; ++i) text += std::to_string(i * 0.00036) + ",10\n";
  const auto table = marks_of_csv(text);
  CHECK(table.errors.empty());
  CHECK(table.marks.size() == 1000000);
  CHECK(skyline_of(table.marks, {}).value().points.size() == 1000000);
}

// true = magnetic + declination = grid + convergence (definition).
TEST_CASE("[published] each north is turned by its own offset") {
  const auto table = marks_of_csv("bearing,reference,elevation\n10,mag,5\n10,grid,6\n10,true,7\n");
  const auto skyline = skyline_of(table.marks, {3.5, -1.25}).value();
  CHECK(skyline.points[0].azimuth.degrees() == 13.5);
  CHECK(skyline.points[1].azimuth.degrees() == 8.75);
  CHECK(skyline.points[2].azimuth.degrees() == 10.0);
  CHECK_FALSE(skyline_of(table.marks, {}).has_value());
}

namespace {

std::string utf16(std::string_view ascii, bool mark) {
  std::string out = mark ? "\xFF\xFE" : "";
  for (const char c : ascii) out += std::string{c, '\0'};
  return out;
}

}  // namespace

TEST_CASE("a German spreadsheet: title, semicolons, decimal commas, sums below [common practice]") {
  const auto table = marks_of_csv(
      "\xEF\xBB\xBFHorizontaufnahme Schulgarten;;;;\r\nDatum: 3.11.2026;;;;\r\n;;;;\r\n"
      "Peilung missweisend (\xC2\xB0);H\xC3\xB6henwinkel (\xC2\xB0);Art;Bezeichnung;Entfernung (km)\r\n"
      "121,5;14,25;Bergkamm;Roter Grat;2,4\r\n"
      "140;18,0;Fichte;;0,05\r\n"
      ";;;;\r\n"
      "Anzahl:;2;;;\r\n"
      "aufgenommen von M. K.;;;;\r\n");
  CHECK(table.errors.size() == 1);  // "Anzahl: 2" could be an aim gone wrong: said, not taken
  REQUIRE(table.marks.size() == 2);
  CHECK(table.marks[0].bearing_deg == 121.5);
  CHECK(table.marks[0].elevation_deg == 14.25);
  CHECK(table.marks[0].north == horizon::Reference::magnetic);
  CHECK(table.marks[0].label == "Roter Grat");
  CHECK(*table.marks[0].distance_m == 2400);
  CHECK(table.marks[1].kind == horizon::Kind::evergreen);
}

TEST_CASE("a French table in UTF-16 or Windows-1252 is read as one in UTF-8 [common practice]") {
  const std::string ascii =
      "azimut vrai;angle vertical;type;nom\n200,5;8,5;montagne;Pointe noire\n215;9;sapin;lisiere\n";
  for (const std::string& bytes : {ascii, utf16(ascii, true), utf16(ascii, false)}) {
    const auto table = marks_of_csv(bytes);
    CHECK(table.errors.empty());
    REQUIRE(table.marks.size() == 2);
    CHECK(table.marks[0].bearing_deg == 200.5);
    CHECK(table.marks[0].north == horizon::Reference::true_north);
    CHECK(table.marks[1].kind == horizon::Kind::evergreen);
  }
  const auto table = marks_of_csv("azimut;\xE9l\xE9vation;nom\n200,5;8,5;Cr\xEAte \x96 nord\n");
  CHECK(table.errors.empty());
  REQUIRE(table.marks.size() == 1);
  CHECK(table.marks[0].label == "Crête – nord");
}

TEST_CASE(
    "units of the columns' own: gon are turned into degrees, percent refused [common practice]") {
  const auto gon = marks_of_csv("Azimut [gon];Vertikalwinkel [gon]\n200;10\n");
  REQUIRE(gon.marks.size() == 1);
  CHECK_NEAR(gon.marks[0].bearing_deg, 180, 1e-9);
  CHECK_NEAR(gon.marks[0].elevation_deg, 9, 1e-9);
  const auto percent = marks_of_csv("bearing,elevation (%)\n180,12\n");
  CHECK(percent.marks.empty());
  REQUIRE(percent.errors.size() == 1);
  CHECK(percent.errors[0].key == "error.angle_percent");
  // A height above the sea is no elevation angle.
  const auto metres = marks_of_csv("bearing,elevation_m\n180,45\n");
  CHECK(metres.marks.empty());
}

TEST_CASE(
    "a unit that is no degree is turned where it can be, else refused, never read as degrees "
    "[common practice]") {
  // 2 rad = 114.59 degrees, 1571 mrad = 90.01, 0.2 rad = 11.46: by definition of the radian.
  const auto rad = marks_of_csv("bearing (rad),elevation_rad\n2,0.2\n");
  REQUIRE(rad.marks.size() == 1);
  CHECK_NEAR(rad.marks[0].bearing_deg, 114.591559, 1e-6);
  CHECK_NEAR(rad.marks[0].elevation_deg, 11.459156, 1e-6);
  const auto mrad = marks_of_csv("bearing [mrad],elevation [deg]\n1571,12\n");
  REQUIRE(mrad.marks.size() == 1);
  CHECK_NEAR(mrad.marks[0].bearing_deg, 90.011670, 1e-6);
  // A mil is 1/6400 of the turn to some makers, 1/6300 or 1/6000 to others; 200 of them are no
  // 200 degrees to any.
  for (const char* head :
       {"bearing (mil),elevation", "bearing_mils,elevation", "Peilung (Strich);Höhenwinkel",
        "bearing,elevation (mils)", "bearing,elevation (slope)", "bearing,elevation (1:n)",
        "bearing,elevation (minutes)", "bearing,elevation (m/m)", "azimuth (grad),elevation"}) {
    CAPTURE(head);
    const char* row =
        std::string_view(head).find(';') != std::string_view::npos ? "200;20" : "200,20";
    const auto table = marks_of_csv(std::string(head) + "\n" + row + "\n");
    CHECK(table.marks.empty());
    REQUIRE(table.errors.size() == 1);
    CHECK(table.errors[0].key == "error.column_unit");
  }
  // A "Grad" is a degree in German.
  const auto grad = marks_of_csv("Peilung (Grad);H\xC3\xB6henwinkel (Grad)\n200;20\n");
  REQUIRE(grad.marks.size() == 1);
  CHECK(grad.marks[0].bearing_deg == 200);
  // The international mile and yard, by definition; a pole 3 m wide is not 3 degrees wide.
  const auto far = marks_of_csv("bearing,elevation,distance (mi),width (m)\n200,20,2,3\n");
  REQUIRE(far.marks.size() == 1);
  CHECK_NEAR(*far.marks[0].distance_m, 3218.688, 1e-9);
  CHECK(!far.marks[0].width_deg);
  CHECK(says(far.notes, "line 1", "error.column_unit_left_out"));
}

TEST_CASE("a north in brackets holds, as one in the name does [property]") {
  for (const char* head : {"bearing (magnetic),elevation", "bearing (deg magnetic),elevation",
                           "bearing [\xC2\xB0M],elevation", "bearing (mag),elevation (deg)"}) {
    CAPTURE(head);
    const auto table = marks_of_csv(std::string(head) + "\n200,20\n");
    REQUIRE(table.marks.size() == 1);
    CHECK(table.marks[0].north == Reference::magnetic);
    CHECK(table.marks[0].bearing_deg == 200);
  }
  const auto unclear = marks_of_csv("bearing (from the porch),elevation\n200,20\n");
  CHECK(unclear.marks.size() == 1);
  CHECK(says(unclear.notes, "line 1", "error.column_brackets"));
}

TEST_CASE("of two columns that say the same the first holds, with its own north [property]") {
  const auto table =
      marks_of_csv("true bearing,magnetic bearing,elevation\n100,87,20\n110,97,21\n");
  REQUIRE(table.marks.size() == 2);
  CHECK(table.marks[0].bearing_deg == 100);
  CHECK(table.marks[0].north == Reference::true_north);
  CHECK(says(table.notes, "line 1", "error.column_again"));
  const auto other = marks_of_csv("magnetic bearing,true bearing,elevation\n87,100,20\n");
  REQUIRE(other.marks.size() == 1);
  CHECK(other.marks[0].bearing_deg == 87);
  CHECK(other.marks[0].north == Reference::magnetic);
}
