// node read_ifc.mjs FILE: by two readers of their own from the npm registry, what each finds; as JSON.
import fs from "node:fs";
import path from "node:path";
import { createRequire } from "node:module";

const require = createRequire(new URL("../package.json", import.meta.url));
const bytes = fs.readFileSync(process.argv[2]);
const say = console.log;
console.log = console.warn = console.info = console.debug = () => {};

const web = require("web-ifc");
const api = new web.IfcAPI();
api.SetWasmPath(path.dirname(require.resolve("web-ifc")) + "/", true);
await api.Init();
const model = api.OpenModel(new Uint8Array(bytes));
const all = (type) => {
  const ids = api.GetLineIDsWithType(model, type);
  return Array.from({ length: ids.size() }, (_, i) => api.GetLine(model, ids.get(i), true));
};
const value = (v) => (v && typeof v === "object" && "value" in v ? v.value : v);
const list = (v) => (Array.isArray(v) ? v : value(v)).map(value);
const site = all(web.IFCSITE)[0];
const conversion = all(web.IFCMAPCONVERSION)[0];
const context = all(web.IFCGEOMETRICREPRESENTATIONCONTEXT).find((c) => c.TrueNorth);
const sets = all(web.IFCRELDEFINESBYPROPERTIES).map((rel) => ({
  of: rel.RelatedObjects.map((o) => value(o.GlobalId)),
  name: value(rel.RelatingPropertyDefinition.Name),
  values: Object.fromEntries(
    rel.RelatingPropertyDefinition.HasProperties.map((p) => [value(p.Name), value(p.NominalValue)]),
  ),
}));
const elements = all(web.IFCGEOGRAPHICELEMENT).map((e) => {
  const item = e.Representation?.Representations[0].Items[0];
  return {
    id: value(e.GlobalId),
    name: value(e.Name),
    type: value(e.ObjectType),
    first: item?.Coordinates?.CoordList ? list(item.Coordinates.CoordList[0]) : item?.Points?.[0] ? list(item.Points[0].Coordinates) : null,
    faces: item?.CoordIndex?.length ?? 0,
  };
});
const out = {
  schema: api.GetModelSchema(model),
  site: {
    name: value(site.Name),
    latitude: list(site.RefLatitude),
    longitude: list(site.RefLongitude),
    height: value(site.RefElevation),
  },
  conversion: Object.fromEntries(
    ["Eastings", "Northings", "OrthogonalHeight", "XAxisAbscissa", "XAxisOrdinate", "Scale"].map((k) => [
      k,
      value(conversion[k]),
    ]),
  ),
  crs: value(conversion.TargetCRS.Name),
  north: list(context.TrueNorth.DirectionRatios),
  elements,
  sets,
  houses: all(web.IFCBUILDINGELEMENTPROXY).length,
};

const { parseBytes } = await second();
out.second = parseBytes;
say(JSON.stringify(out));

// @ifc-lite/parser: another reader, by other people.
async function second() {
  const folder = path.join(path.dirname(require.resolve("web-ifc")), "..", "@ifc-lite", "parser");
  const lite = await import("file://" + path.join(folder, "dist", "index.js"));
  const parser = new lite.IfcParser();
  const buffer = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength);
  const result = await parser.parse(buffer);
  const found = { entities: result.entityCount, geo: null, elements: [] };
  found.geo = await georeference(lite, result, buffer);
  const text = new lite.EntityExtractor(new Uint8Array(buffer));
  for (const ref of result.entityIndex.byType.get("IFCGEOGRAPHICELEMENT") ?? []) {
    const entry = result.entityIndex.byId.get(ref);
    const entity = text.extractEntity(entry);
    if (entity) found.elements.push(entity.attributes?.[2]);
  }
  return { parseBytes: found };
}
async function georeference(lite, result, buffer) {
  const text = new lite.EntityExtractor(new Uint8Array(buffer));
  const entities = new Map();
  for (const type of ["IFCMAPCONVERSION", "IFCPROJECTEDCRS"]) {
    const of = [];
    for (const ref of result.entityIndex.byType.get(type) ?? []) {
      const entity = text.extractEntity(result.entityIndex.byId.get(ref));
      if (entity) entities.set(entity.expressId, entity), of.push(entity.attributes);
    }
    entities.set(type, of);
  }
  return { conversion: entities.get("IFCMAPCONVERSION")[0], crs: entities.get("IFCPROJECTEDCRS")[0] };
}
