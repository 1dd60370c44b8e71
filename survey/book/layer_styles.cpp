#include "survey/book/layer_styles.h"

namespace survey {
namespace {

struct Style {
  const char *table, *geometry, *sign;  // sign: of SLD's well-known marks; "line"
  const char* colour;                   // #rrggbb
  double size_mm;
  const char* label;  // column; empty: none
};
constexpr Style kStyles[] = {
    {"station", "position", "triangle", "#1c2830", 4.0, "name"},
    {"landmark", "position", "star", "#5c6f82", 3.6, "name"},
    {"photo", "position", "cross", "#286096", 3.0, "label"},
    {"soil_pit", "position", "square", "#966828", 3.2, "name"},
    {"percolation_test", "position", "circle", "#966828", 3.0, "name"},
    {"note", "position", "circle", "#42545e", 2.0, "topic"},
    {"hazard", "position", "triangle", "#86281a", 4.2, "kind"},
    {"path", "line", "line", "#1c2830", 0.5, "name"},
};

std::string number(double value) {
  char text[24];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text;
}

std::string sld(const Style& style) {
  const bool line = std::string(style.sign) == "line";
  const std::string stroke =
      std::string("<se:Stroke><se:SvgParameter name=\"stroke\">") + style.colour +
      "</se:SvgParameter><se:SvgParameter name=\"stroke-width\">" +
      number(line ? style.size_mm * 3.78 : 1) + "</se:SvgParameter></se:Stroke>";
  std::string rule =
      line ? "<se:LineSymbolizer>" + stroke + "</se:LineSymbolizer>"
           : std::string("<se:PointSymbolizer><se:Graphic><se:Mark><se:WellKnownName>") +
                 style.sign + "</se:WellKnownName><se:Fill><se:SvgParameter name=\"fill\">" +
                 style.colour + "</se:SvgParameter></se:Fill>" + stroke + "</se:Mark><se:Size>" +
                 number(style.size_mm * 3.78) + "</se:Size></se:Graphic></se:PointSymbolizer>";
  if (*style.label)
    rule += std::string("<se:TextSymbolizer><se:Label><ogc:PropertyName>") + style.label +
            "</ogc:PropertyName></se:Label></se:TextSymbolizer>";
  return std::string(
             "<StyledLayerDescriptor xmlns=\"http://www.opengis.net/sld\" "
             "xmlns:se=\"http://www.opengis.net/se\" xmlns:ogc=\"http://www.opengis.net/ogc\" "
             "version=\"1.1.0\"><NamedLayer><se:Name>") +
         style.table + "</se:Name><UserStyle><se:FeatureTypeStyle><se:Rule>" + rule +
         "</se:Rule></se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>";
}

std::string option(const char* name, const std::string& value) {
  return std::string("<Option name=\"") + name + "\" type=\"QString\" value=\"" + value + "\"/>";
}

std::string own_xml(const Style& style) {
  const bool line = std::string(style.sign) == "line";
  unsigned rgb = 0;
  std::sscanf(style.colour + 1, "%x", &rgb);
  const std::string colour = std::to_string(rgb >> 16) + "," + std::to_string(rgb >> 8 & 255) +
                             "," + std::to_string(rgb & 255) + ",255";
  const std::string options =
      line ? option("line_color", colour) + option("line_width", number(style.size_mm)) +
                 option("line_width_unit", "MM")
           : option("name", style.sign) + option("color", colour) +
                 option("outline_color", "255,255,255,255") +
                 option("size", number(style.size_mm)) + option("size_unit", "MM");
  std::string out =
      std::string(
          "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n<qgis version=\"3.22\" "
          "styleCategories=\"Symbology|Labeling\"><renderer-v2 type=\"singleSymbol\" "
          "symbollevels=\"0\"><symbols><symbol type=\"") +
      (line ? "line" : "marker") + "\" name=\"0\" alpha=\"1\"><layer enabled=\"1\" class=\"" +
      (line ? "SimpleLine" : "SimpleMarker") + "\"><Option type=\"Map\">" + options +
      "</Option></layer></symbol></symbols></renderer-v2>";
  if (*style.label)
    out += std::string("<labeling type=\"simple\"><settings><text-style fieldName=\"") +
           style.label +
           "\" fontSize=\"8\"/><placement placement=\"1\" dist=\"1\"/></settings></labeling>";
  return out + "</qgis>";
}

}  // namespace

const std::string& layer_styles_sql() {
  static const std::string sql =
      "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, "
      "f_table_catalog TEXT(256), f_table_schema TEXT(256), f_table_name TEXT(256), "
      "f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT, "
      "useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30), "
      "update_time DATETIME DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')))";
  return sql;
}

void put_layer_styles(Database& db) {
  if (db.number("SELECT count(*) FROM sqlite_master WHERE name='layer_styles'"))
    db.run("DELETE FROM layer_styles");
  else
    db.run(layer_styles_sql());
  db.run(
      "INSERT OR REPLACE INTO gpkg_contents (table_name, data_type, identifier, description, "
      "last_change) VALUES ('layer_styles', 'attributes', 'layer_styles', '', "
      "coalesce((SELECT max(last_change) FROM gpkg_contents WHERE table_name<>'layer_styles'), "
      "'1970-01-01T00:00:00.000Z'))");
  for (const Style& style : kStyles)
    db.again(
          "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, "
          "f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner, ui, "
          "update_time) VALUES ('', '', ?1, ?2, 'Adret', ?3, ?4, 1, '', '', '', "
          "(SELECT last_change FROM gpkg_contents WHERE table_name='layer_styles'))",
          {std::string(style.table), std::string(style.geometry), own_xml(style), sld(style)})
        .step();
}

}  // namespace survey
