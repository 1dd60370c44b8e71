#include "survey/book/layer_styles.h"

namespace survey {
namespace {

const LayerStyle kStyles[] = {
    {"station", "position", "triangle", "#1c2830", 4.0, "name", "", {}},
    {"landmark", "position", "star", "#5c6f82", 3.6, "name", "", {}},
    {"photo", "position", "cross", "#286096", 3.0, "label", "", {}},
    {"soil_pit", "position", "square", "#966828", 3.2, "name", "", {}},
    {"percolation_test", "position", "circle", "#966828", 3.0, "name", "", {}},
    {"note", "position", "circle", "#42545e", 2.0, "topic", "", {}},
    {"hazard", "position", "triangle", "#86281a", 4.2, "kind", "", {}},
    {"path", "line", "line", "#1c2830", 0.5, "name", "", {}},
};

std::string number(double value) {
  char text[24];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text;
}

struct Mark {
  std::string sign, colour;
  double size_mm;
};
Mark mark_of(const LayerStyle& style) { return {style.sign, style.colour, style.size_mm}; }
Mark mark_of(const StyleClass& of) { return {of.sign, of.colour, of.size_mm}; }

std::string xml_text(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '<' ? "&lt;" : c == '>' ? "&gt;" : std::string(1, c);
  return out;
}

std::string sld_symbol(const Mark& mark) {
  const bool line = mark.sign == "line";
  const std::string stroke = "<se:Stroke><se:SvgParameter name=\"stroke\">" + mark.colour +
                             "</se:SvgParameter><se:SvgParameter name=\"stroke-width\">" +
                             number(line ? mark.size_mm * 3.78 : 1) +
                             "</se:SvgParameter></se:Stroke>";
  return line ? "<se:LineSymbolizer>" + stroke + "</se:LineSymbolizer>"
              : "<se:PointSymbolizer><se:Graphic><se:Mark><se:WellKnownName>" + mark.sign +
                    "</se:WellKnownName><se:Fill><se:SvgParameter name=\"fill\">" + mark.colour +
                    "</se:SvgParameter></se:Fill>" + stroke + "</se:Mark><se:Size>" +
                    number(mark.size_mm * 3.78) + "</se:Size></se:Graphic></se:PointSymbolizer>";
}

std::string sld_rule(const LayerStyle& style, const StyleClass& of) {
  const std::string property =
      std::string("<ogc:PropertyName>") + style.by + "</ogc:PropertyName><ogc:Literal>";
  return std::string("<se:Rule><se:Name>") + xml_text(of.says) +
         "</se:Name><ogc:Filter><ogc:And><ogc:PropertyIsGreaterThanOrEqualTo>" + property +
         number(of.from) +
         "</ogc:Literal></ogc:PropertyIsGreaterThanOrEqualTo><ogc:PropertyIsLessThan>" + property +
         number(of.below) + "</ogc:Literal></ogc:PropertyIsLessThan></ogc:And></ogc:Filter>" +
         sld_symbol(mark_of(of)) + "</se:Rule>";
}

std::string sld(const LayerStyle& style) {
  std::string rules;
  for (const StyleClass& of : style.classes) rules += sld_rule(style, of);
  if (style.classes.empty()) {
    rules = "<se:Rule>" + sld_symbol(mark_of(style)) + "</se:Rule>";
  } else {
    rules += "<se:Rule><se:ElseFilter/>" + sld_symbol(mark_of(style)) + "</se:Rule>";
  }
  if (*style.label)
    rules += std::string("<se:Rule><se:TextSymbolizer><se:Label><ogc:PropertyName>") + style.label +
             "</ogc:PropertyName></se:Label></se:TextSymbolizer></se:Rule>";
  return std::string(
             "<StyledLayerDescriptor xmlns=\"http://www.opengis.net/sld\" "
             "xmlns:se=\"http://www.opengis.net/se\" xmlns:ogc=\"http://www.opengis.net/ogc\" "
             "version=\"1.1.0\"><NamedLayer><se:Name>") +
         style.table + "</se:Name><UserStyle><se:FeatureTypeStyle>" + rules +
         "</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>";
}

std::string option(const char* name, const std::string& value) {
  return std::string("<Option name=\"") + name + "\" type=\"QString\" value=\"" + value + "\"/>";
}

std::string own_symbol(const Mark& mark, std::size_t index) {
  const bool line = mark.sign == "line";
  unsigned rgb = 0;
  std::sscanf(mark.colour.c_str() + 1, "%x", &rgb);
  const std::string colour = std::to_string(rgb >> 16) + "," + std::to_string(rgb >> 8 & 255) +
                             "," + std::to_string(rgb & 255) + ",255";
  const std::string options =
      line ? option("line_color", colour) + option("line_width", number(mark.size_mm)) +
                 option("line_width_unit", "MM")
           : option("name", mark.sign) + option("color", colour) +
                 // A cross is nothing but its outline.
                 option("outline_color", mark.sign == "cross" ? colour : "255,255,255,255") +
                 option("size", number(mark.size_mm)) + option("size_unit", "MM");
  return std::string("<symbol type=\"") + (line ? "line" : "marker") + "\" name=\"" +
         std::to_string(index) + "\" alpha=\"1\"><layer enabled=\"1\" class=\"" +
         (line ? "SimpleLine" : "SimpleMarker") + "\"><Option type=\"Map\">" + options +
         "</Option></layer></symbol>";
}

std::string own_rule(const std::string& filter, const std::string& says, std::size_t symbol) {
  return "<rule filter=\"" + xml_text(filter) + "\" label=\"" + xml_text(says) + "\" key=\"r" +
         std::to_string(symbol) + "\" symbol=\"" + std::to_string(symbol) + "\"/>";
}

std::string own_renderer(const LayerStyle& style) {
  std::string symbols, rules;
  for (const StyleClass& of : style.classes) {
    const std::size_t index = static_cast<std::size_t>(&of - style.classes.data());
    symbols += own_symbol(mark_of(of), index);
    rules += own_rule(std::string("&quot;") + style.by + "&quot; >= " + number(of.from) +
                          " AND &quot;" + style.by + "&quot; < " + number(of.below),
                      of.says, index);
  }
  symbols += own_symbol(mark_of(style), style.classes.size());
  if (style.classes.empty())
    return "<renderer-v2 type=\"singleSymbol\" symbollevels=\"0\"><symbols>" + symbols +
           "</symbols></renderer-v2>";
  rules += own_rule("ELSE", "?", style.classes.size());
  return "<renderer-v2 type=\"RuleRenderer\" symbollevels=\"0\"><rules key=\"root\">" + rules +
         "</rules><symbols>" + symbols + "</symbols></renderer-v2>";
}

std::string own_xml(const LayerStyle& style) {
  std::string out =
      "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n<qgis version=\"3.22\" "
      "styleCategories=\"Symbology|Labeling\" labelsEnabled=\"" +
      std::string(*style.label ? "1" : "0") + "\">" + own_renderer(style);
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

void put_layer_styles(Database& db) { put_layer_styles(db, kStyles); }

void put_layer_styles(Database& db, std::span<const LayerStyle> styles) {
  if (db.number("SELECT count(*) FROM sqlite_master WHERE name='layer_styles'"))
    db.run("DELETE FROM layer_styles");
  else
    db.run(layer_styles_sql());
  db.run(
      "INSERT OR REPLACE INTO gpkg_contents (table_name, data_type, identifier, description, "
      "last_change) VALUES ('layer_styles', 'attributes', 'layer_styles', '', "
      "coalesce((SELECT max(last_change) FROM gpkg_contents WHERE table_name<>'layer_styles'), "
      "'1970-01-01T00:00:00.000Z'))");
  for (const LayerStyle& style : styles)
    db.again(
          "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, "
          "f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner, ui, "
          "update_time) VALUES ('', '', ?1, ?2, 'Adret', ?3, ?4, 1, '', '', '', "
          "(SELECT last_change FROM gpkg_contents WHERE table_name='layer_styles'))",
          {std::string(style.table), std::string(style.geometry), own_xml(style), sld(style)})
        .step();
}

}  // namespace survey
