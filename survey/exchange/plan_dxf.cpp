// The plan as a DXF drawing. Group codes after the published reference of the format.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

#include "survey/book/text.h"
#include "survey/exchange/plan_files.h"
#include "survey/exchange/plan_text.h"

namespace survey {
namespace {

using Eigen::Vector2d;
using horizon::PlanPoint;

struct Layer {
  const char* name;
  int colour;  // index of the format: 7 ink, 8 grey, 1 red, 3 green, 5 blue, 30 orange ...
  const char* line_type = "Continuous";
};
constexpr Layer kLayers[] = {{"STATION", 7},
                             {"PEG", 30},
                             {"HOUSE", 30},
                             {"BOUNDARY", 7, "BOUNDARY"},
                             {"SETBACK", 8, "DASHED"},
                             {"LIMIT", 1, "DASHED"},
                             {"ACCESS", 34},
                             {"WATER", 5, "WATER"},
                             {"SERVICE", 1, "SERVICE"},
                             {"BUILDING", 252},
                             {"OTHER", 8},
                             {"OBSTACLE_BUILDING", 252},
                             {"OBSTACLE_EVERGREEN", 92},
                             {"OBSTACLE_LEAFY", 40},
                             {"OBSTACLE_POLE", 250},
                             {"OBSTACLE_ERROR", 9, "DASHED"},
                             {"CONTOUR", 34},
                             {"LEVEL", 34},
                             {"SLOPE", 34},
                             {"PIT", 32},
                             {"HAZARD", 1},
                             {"PHOTO", 5},
                             {"SHADOW_09", 8},
                             {"SHADOW_12", 8},
                             {"SHADOW_15", 8},
                             {"NORTH", 7},
                             {"GRID", 9},
                             {"NOTE", 7}};

// A letter beyond ASCII as \U+XXXX.
std::string spelt(const std::string& text) {
  std::string out;
  for (const char32_t c : code_points(text)) {
    if (c < 0x20) continue;
    if (c < 0x7F) {
      out += static_cast<char>(c);
    } else if (c <= 0xFFFF) {
      char code[12];
      std::snprintf(code, sizeof code, "\\U+%04X", static_cast<unsigned>(c));
      out += code;
    }
  }
  return out;
}

class Drawing {
 public:
  explicit Drawing(const horizon::SitePlan& plan) : plan_(plan) {}

  std::string whole() {
    entities();
    std::string body = std::move(out_);
    out_.clear();
    const double reach = reach_;
    tables();
    std::string front = std::move(out_);
    out_.clear();
    pair(999, "metres; x east, y north (true), z up from the ground at station " +
                  spelt(plan_.origin_station));
    if (plan_.grid) {
      pair(999, "origin " + plan_.grid->code + " E " + metres(plan_.grid->easting) + " N " +
                    metres(plan_.grid->northing));
      pair(999, "grid north lies " + metres(plan_.grid->convergence_deg) +
                    " degrees east of true north; grid over true metres " +
                    metres(plan_.grid->scale, 8));
    }
    open("HEADER");
    variable("$ACADVER", 1, "AC1015");
    variable("$DWGCODEPAGE", 3, "ANSI_1252");
    variable("$INSUNITS", 70, "6");
    variable("$MEASUREMENT", 70, "1");
    variable("$LUNITS", 70, "2");
    variable("$HANDSEED", 5, "FFFFF");
    for (const auto& [name, sign] : {std::pair{"$EXTMIN", -1.0}, std::pair{"$EXTMAX", 1.0}}) {
      pair(9, name);
      for (const int code : {10, 20, 30}) pair(code, metres(sign * reach));
    }
    close();
    open("CLASSES");
    close();
    const std::string head = std::move(out_);
    out_.clear();
    objects();
    return head + front + body + out_;
  }

 private:
  static std::string metres(double value, int decimals = 4) {
    char text[48];
    std::snprintf(text, sizeof text, "%.*f", decimals, value);
    return text;
  }
  void pair(int code, const std::string& value) {
    char head[8];
    std::snprintf(head, sizeof head, "%3d\n", code);
    out_ += head + value + "\n";
  }
  void open(const char* section) {
    pair(0, "SECTION");
    pair(2, section);
  }
  void close() { pair(0, "ENDSEC"); }
  void variable(const char* name, int code, const char* value) {
    pair(9, name);
    pair(code, value);
  }
  std::string handle() {
    char text[12];
    std::snprintf(text, sizeof text, "%X", next_++);
    return text;
  }
  void point(int code, double x, double y, double z) {
    reach_ = std::max({reach_, std::abs(x), std::abs(y)});
    pair(code, metres(x));
    pair(code + 10, metres(y));
    pair(code + 20, metres(z));
  }

  void begin(const char* type, const std::string& layer, const char* subclass,
             const std::string& owner = "1F") {
    pair(0, type);
    pair(5, handle());
    pair(330, owner);
    pair(100, "AcDbEntity");
    pair(8, layer);
    if (subclass) pair(100, subclass);
  }
  void line(const std::string& layer, const PlanPoint& a, const PlanPoint& b,
            const std::string& owner = "1F") {
    begin("LINE", layer, "AcDbLine", owner);
    point(10, a.east_m, a.north_m, a.up_m.value_or(0));
    point(11, b.east_m, b.north_m, b.up_m.value_or(0));
  }
  void polyline(const std::string& layer, const std::vector<Vector2d>& points, bool closed,
                double up_m = 0) {
    if (points.size() < 2) return;
    begin("LWPOLYLINE", layer, "AcDbPolyline");
    pair(90, std::to_string(points.size()));
    pair(70, closed ? "1" : "0");
    pair(38, metres(up_m));
    for (const auto& p : points) {
      reach_ = std::max({reach_, std::abs(p.x()), std::abs(p.y())});
      pair(10, metres(p.x()));
      pair(20, metres(p.y()));
    }
  }
  void circle(const std::string& layer, const Vector2d& at, double radius,
              const std::string& owner = "1F") {
    begin("CIRCLE", layer, "AcDbCircle", owner);
    point(10, at.x(), at.y(), 0);
    pair(40, metres(radius));
  }
  void words(const std::string& layer, const Vector2d& at, const std::string& text,
             double height_m = 0.5) {
    const std::string plain = spelt(text);
    if (plain.empty()) return;
    begin("TEXT", layer, "AcDbText");
    point(10, at.x(), at.y(), 0);
    pair(40, metres(height_m));
    pair(1, plain);
    pair(100, "AcDbText");
  }
  void insert(const std::string& layer, const char* block, const PlanPoint& at,
              double turn_deg = 0) {
    begin("INSERT", layer, "AcDbBlockReference");
    pair(2, block);
    point(10, at.east_m, at.north_m, at.up_m.value_or(0));
    if (turn_deg != 0) pair(50, metres(turn_deg));
  }

  static std::vector<Vector2d> flat(const std::vector<PlanPoint>& points) {
    std::vector<Vector2d> out;
    for (const auto& p : points) out.push_back(p.flat());
    return out;
  }

  void entities() {
    open("ENTITIES");
    for (const auto& l : plan_.lines) {
      constexpr const char* kOf[] = {"BOUNDARY", "SETBACK",  "ACCESS", "WATER",
                                     "SERVICE",  "BUILDING", "OTHER"};
      const char* layer = kOf[static_cast<int>(l.kind)];
      polyline(layer, flat(l.points), l.closed);
      if (!l.points.empty()) words(layer, l.points.front().flat(), l.name);
    }
    for (const auto& limit : plan_.limits) {
      if (limit.line.size() == 1) circle("LIMIT", limit.line.front(), limit.distance_m);
    }
    for (const auto& thing : plan_.obstacles) obstacle(thing);
    for (const auto& contour : plan_.contours)
      polyline("CONTOUR", contour.line, false, contour.up_m);
    for (const auto& p : plan_.levels) {
      if (!p.up_m) continue;
      begin("POINT", "LEVEL", "AcDbPoint");
      point(10, p.east_m, p.north_m, *p.up_m);
      words("LEVEL", p.flat() + Vector2d(0.3, -0.7), metres(*p.up_m, 2), 0.35);
    }
    for (const auto& station : plan_.stations) {
      insert("STATION", "STATION", station.ground);
      words("STATION", station.ground.flat() + Vector2d(0.8, 0.3), station.name);
    }
    for (const auto& probe : plan_.probes) {
      if (!probe.at) continue;
      circle("PIT", probe.at->flat(), 0.4);
      words("PIT", probe.at->flat() + Vector2d(0.6, 0.2),
            probe.name + (probe.depth_m ? " " + metres(*probe.depth_m, 2) + " m" : "") +
                (probe.water_m ? ", water " + metres(*probe.water_m, 2) + " m" : ""));
    }
    for (const auto& hazard : plan_.hazards) {
      if (!hazard.at) continue;
      circle("HAZARD", hazard.at->flat(), 0.8);
      words("HAZARD", hazard.at->flat() + Vector2d(1, 0.2),
            hazard.text.empty() ? hazard.kind : hazard.text);
    }
    for (const auto& house : plan_.houses) this->house(house);
    for (const auto& shadow : plan_.shadows) {
      char layer[16];
      std::snprintf(layer, sizeof layer, "SHADOW_%02d", shadow.hour);
      polyline(layer, shadow.outline, true);
    }
    for (const auto& photo : plan_.photos) {
      if (!photo.at) continue;
      if (photo.true_deg)
        insert("PHOTO", "VIEW", {photo.at->east_m, photo.at->north_m, {}, {}, {}},
               90 - *photo.true_deg);
      const double az = photo.true_deg.value_or(90) * horizon::kDegree;
      words("PHOTO", photo.at->flat() + 2.2 * Vector2d(std::sin(az), std::cos(az)),
            std::to_string(photo.number), 0.4);
    }
    slope_and_north();
    grid();
    int row = 0;
    for (const auto& each : plan_.unknown)
      words("NOTE", {-reach_, -reach_ - 2 - 0.9 * row++},
            "not known: " + each.key.substr(each.key.rfind('.') + 1) +
                (each.filled.empty() ? "" : " (" + each.filled + ")"));
    close();
  }

  void obstacle(const horizon::PlanObstacle& thing) {
    std::string layer = "OBSTACLE_" + std::string(name_of(thing.kind));
    for (char& c : layer) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    const auto about = thing.name + " " + metres(thing.height_m, 1) + " +- " +
                       metres(thing.height_sigma_m, 1) + " m";
    if (thing.placing == horizon::Placing::direction) {
      const double az = thing.azimuth_deg * horizon::kDegree;
      const Vector2d way(std::sin(az), std::cos(az));
      polyline("OBSTACLE_ERROR", {3 * way, 20 * way}, false);
      words("OBSTACLE_ERROR", 20 * way, thing.name + ": distance not known");
      return;
    }
    if (thing.radius_m) {
      circle(layer, thing.tops.front().flat(), *thing.radius_m);
    } else {
      begin("POLYLINE", layer, "AcDb3dPolyline");
      point(10, 0, 0, 0);
      pair(70, "8");
      pair(66, "1");
      for (const auto& top : thing.tops) {
        begin("VERTEX", layer, "AcDbVertex");
        pair(100, "AcDb3dPolylineVertex");
        point(10, top.east_m, top.north_m, top.up_m.value_or(0));
        pair(70, "32");
      }
      begin("SEQEND", layer, nullptr);
    }
    words(layer, thing.tops.front().flat() + Vector2d(0.5, 0.5), about);
    if (thing.ellipse && thing.ellipse->major_m > 0.001) {
      // Holds 90 %.
      const double az = thing.ellipse->major_azimuth.radians(), k = 2.146;
      const Vector2d major = k * thing.ellipse->major_m * Vector2d(std::sin(az), std::cos(az));
      begin("ELLIPSE", "OBSTACLE_ERROR", "AcDbEllipse");
      point(10, thing.tops.front().east_m, thing.tops.front().north_m, 0);
      point(11, major.x(), major.y(), 0);
      pair(210, "0.0");
      pair(220, "0.0");
      pair(230, "1.0");
      pair(40, metres(std::clamp(thing.ellipse->minor_m / thing.ellipse->major_m, 0.001, 1.0), 6));
      pair(41, "0.0");
      pair(42, metres(2 * 3.14159265358979, 8));
    }
  }

  void house(const horizon::PlanHouse& house) {
    std::vector<Vector2d> corners;
    for (const auto& peg : house.pegs) corners.push_back(peg.at.flat());
    polyline("HOUSE", corners, true);
    words("HOUSE", {house.east_m, house.north_m}, house.name, 1);
    for (const auto& peg : house.pegs) {
      insert("PEG", "PEG", peg.at);
      words("PEG", peg.at.flat() + Vector2d(0.3, 0.3), peg.name, 0.4);
    }
  }

  void slope_and_north() {
    if (plan_.slope) {
      const double az = plan_.slope->downhill_true_deg * horizon::kDegree;
      const Vector2d from = plan_.slope->at.flat(),
                     to = from + 4 * Vector2d(std::sin(az), std::cos(az));
      polyline("SLOPE", {from, to}, false);
      insert("SLOPE", "ARROW", {to.x(), to.y(), {}, {}, {}}, 90 - plan_.slope->downhill_true_deg);
      words("SLOPE", to + Vector2d(0.5, 0), metres(plan_.slope->slope_deg, 1) + " deg");
    }
    const double corner = reach_;  // the arrows themselves reach further
    const auto arrow = [&](double true_deg, const std::string& name) {
      const double az = true_deg * horizon::kDegree;
      const Vector2d from(-corner, corner), to = from + 6 * Vector2d(std::sin(az), std::cos(az));
      polyline("NORTH", {from, to}, false);
      insert("NORTH", "ARROW", {to.x(), to.y(), {}, {}, {}}, 90 - true_deg);
      words("NORTH", to + 0.6 * Vector2d(std::sin(az), std::cos(az)), name);
    };
    arrow(0, "true north");
    if (plan_.grid) arrow(plan_.grid->convergence_deg, "grid north " + plan_.grid->code);
    if (plan_.declination_deg) arrow(*plan_.declination_deg, "compass north");
  }

  // Crosses at whole tens of the grid, so that the drawing can be laid on a map by eye.
  void grid() {
    if (!plan_.grid) return;
    const double c = std::cos(plan_.grid->convergence_deg * horizon::kDegree) / plan_.grid->scale,
                 s = std::sin(plan_.grid->convergence_deg * horizon::kDegree) / plan_.grid->scale;
    constexpr double kMostCrosses = 40;  // a side: something may lie far off
    const double reach = reach_;         // the crosses themselves reach farther
    double step = reach > 60 ? 50 : 20;
    while (2 * reach / step > kMostCrosses) step *= 2;
    const auto local = [&](double e, double n) -> Vector2d {
      const double de = e - plan_.grid->easting, dn = n - plan_.grid->northing;
      return {c * de + s * dn, -s * de + c * dn};
    };
    const double e0 = std::ceil((plan_.grid->easting - reach) / step) * step,
                 n0 = std::ceil((plan_.grid->northing - reach) / step) * step;
    for (double e = e0; e < plan_.grid->easting + reach; e += step)
      for (double n = n0; n < plan_.grid->northing + reach; n += step) {
        const Vector2d at = local(e, n);
        polyline("GRID", {local(e - 1, n), local(e + 1, n)}, false);
        polyline("GRID", {local(e, n - 1), local(e, n + 1)}, false);
        words("GRID", at + Vector2d(0.2, 0.2), metres(e, 0) + " " + metres(n, 0), 0.35);
      }
  }

  void table(const char* name, const char* own, std::size_t count) {
    pair(0, "TABLE");
    pair(2, name);
    pair(5, own);
    pair(330, "0");
    pair(100, "AcDbSymbolTable");
    pair(70, std::to_string(count));
  }
  void record(const char* type, const std::string& own, const char* owner, const char* subclass,
              const std::string& name) {
    pair(0, type);
    pair(5, own);
    pair(330, owner);
    pair(100, "AcDbSymbolTableRecord");
    pair(100, subclass);
    pair(2, name);
  }
  void line_type(const char* name, const char* about, const std::vector<double>& dashes) {
    record("LTYPE", handle(), "5", "AcDbLinetypeTableRecord", name);
    pair(70, "0");
    pair(3, about);
    pair(72, "65");
    pair(73, std::to_string(dashes.size()));
    double all = 0;
    for (const double d : dashes) all += std::abs(d);
    pair(40, metres(all));
    for (const double d : dashes) {
      pair(49, metres(d));
      pair(74, "0");
    }
  }

  void tables() {
    open("TABLES");
    table("VPORT", "8", 0);
    pair(0, "ENDTAB");
    table("LTYPE", "5", 7);
    line_type("ByBlock", "", {});
    line_type("ByLayer", "", {});
    line_type("Continuous", "Solid line", {});
    line_type("DASHED", "dashes", {1, -0.5});
    line_type("BOUNDARY", "long dash, dot", {2, -0.4, 0.01, -0.4});
    line_type("WATER", "long dash, two dots", {2, -0.3, 0.01, -0.3, 0.01, -0.3});
    line_type("SERVICE", "dash, dot", {0.8, -0.3, 0.01, -0.3});
    pair(0, "ENDTAB");
    table("LAYER", "2", std::size(kLayers) + 1);
    const auto layer = [&](const char* name, int colour, const char* type) {
      record("LAYER", handle(), "2", "AcDbLayerTableRecord", name);
      pair(70, "0");
      pair(62, std::to_string(colour));
      pair(6, type);
      pair(390, "F");
    };
    layer("0", 7, "Continuous");
    for (const auto& l : kLayers) layer(l.name, l.colour, l.line_type);
    pair(0, "ENDTAB");
    table("STYLE", "3", 1);
    record("STYLE", handle(), "3", "AcDbTextStyleTableRecord", "Standard");
    pair(70, "0");
    pair(40, "0.0");
    pair(41, "1.0");
    pair(50, "0.0");
    pair(71, "0");
    pair(42, "0.5");
    pair(3, "txt");
    pair(4, "");
    pair(0, "ENDTAB");
    for (const auto& [name, own] : {std::pair{"VIEW", "6"}, {"UCS", "7"}}) {
      table(name, own, 0);
      pair(0, "ENDTAB");
    }
    table("APPID", "9", 1);
    record("APPID", handle(), "9", "AcDbRegAppTableRecord", "ACAD");
    pair(70, "0");
    pair(0, "ENDTAB");
    table("DIMSTYLE", "A", 0);
    pair(100, "AcDbDimStyleTable");
    pair(0, "ENDTAB");
    table("BLOCK_RECORD", "1", 6);
    for (const auto& [name, own] : kBlocks)
      record("BLOCK_RECORD", own, "1", "AcDbBlockTableRecord", name);
    pair(0, "ENDTAB");
    close();
    blocks();
  }

  void blocks() {
    open("BLOCKS");
    for (const auto& [name, own] : kBlocks) {
      begin("BLOCK", "0", "AcDbBlockBegin", own);
      pair(2, name);
      pair(70, "0");
      point(10, 0, 0, 0);
      pair(3, name);
      pair(1, "");
      shape(name, own);
      begin("ENDBLK", "0", "AcDbBlockEnd", own);
    }
    close();
  }
  void shape(const std::string& block, const std::string& own) {
    const auto stroke = [&](double x0, double y0, double x1, double y1) {
      line("0", {x0, y0, {}, {}, {}}, {x1, y1, {}, {}, {}}, own);
    };
    if (block == "STATION") {  // a triangle with its point
      stroke(-0.6, -0.35, 0.6, -0.35);
      stroke(0.6, -0.35, 0, 0.7);
      stroke(0, 0.7, -0.6, -0.35);
      circle("0", {0, 0}, 0.06, own);
    } else if (block == "PEG") {
      circle("0", {0, 0}, 0.15, own);
      stroke(-0.3, 0, 0.3, 0);
      stroke(0, -0.3, 0, 0.3);
    } else if (block == "ARROW") {  // towards x
      stroke(0, 0, -0.8, 0.3);
      stroke(0, 0, -0.8, -0.3);
    } else if (block == "VIEW") {
      stroke(0, 0, 1.8, 0.6);
      stroke(0, 0, 1.8, -0.6);
      circle("0", {0, 0}, 0.15, own);
    }
  }
  void objects() {
    open("OBJECTS");
    pair(0, "DICTIONARY");
    pair(5, "C");
    pair(330, "0");
    pair(100, "AcDbDictionary");
    pair(281, "1");
    pair(3, "ACAD_GROUP");
    pair(350, "D");
    pair(0, "DICTIONARY");
    pair(5, "D");
    pair(330, "C");
    pair(100, "AcDbDictionary");
    pair(281, "1");
    close();
    pair(0, "EOF");
  }

  static constexpr std::pair<const char*, const char*> kBlocks[] = {
      {"*Model_Space", "1F"}, {"*Paper_Space", "1E"}, {"STATION", "1D"},
      {"PEG", "1C"},          {"ARROW", "1B"},        {"VIEW", "1A"}};
  const horizon::SitePlan& plan_;
  std::string out_;
  int next_ = 0x100;
  double reach_ = 5;
};

}  // namespace

std::string plan_dxf(const horizon::SitePlan& plan) { return Drawing(plan).whole(); }

std::string pegs_csv(const horizon::SitePlan& plan) {
  std::string out =
      "peg,house,grid,easting_m,northing_m,latitude_deg,longitude_deg,ground_up_m,ground_height_m,"
      "height_datum,from_station,distance_m,bearing_true_deg,bearing_grid_deg,bearing_compass_deg,"
      "compass_sigma_deg,place_sigma_m,height_sigma_m\r\n";
  const auto cell = [](const std::optional<double>& value, int decimals) {
    char text[48] = "";
    if (value) std::snprintf(text, sizeof text, "%.*f", decimals, *value);
    return std::string(text);
  };
  for (const auto& house : plan.houses)
    for (const auto& peg : house.pegs) {
      const bool on_grid = plan.grid.has_value();
      const std::string height =
          peg.at.up_m ? cell(plan.origin.height_m + *peg.at.up_m, 2) : std::string();
      out += csv_field(peg.name) + "," + csv_field(house.name) + "," +
             (on_grid ? plan.grid->code : "") + "," +
             (on_grid ? cell(peg.easting, 3) + "," + cell(peg.northing, 3) : ",") + "," +
             cell(peg.place.latitude_deg, 9) + "," + cell(peg.place.longitude_deg, 9) + "," +
             cell(peg.at.up_m, 2) + "," + height + "," + plan.height_datum + "," +
             csv_field(csv_text(plan.origin_station)) + "," + cell(peg.from_station_m, 3) + "," +
             cell(peg.bearing.true_deg, 3) + "," + cell(peg.bearing.grid_deg, 3) + "," +
             cell(peg.bearing.compass_deg, 2) + "," + cell(peg.bearing.compass_sigma_deg, 2) + "," +
             cell(peg.at.sigma_m, 2) + "," + cell(peg.at.up_sigma_m, 2) + "\r\n";
    }
  return out;
}

}  // namespace survey
