// node validate.mjs json SCHEMA FILE | gltf FILE: by validators from the npm registry. Prints "valid"
// or what is wrong.
import fs from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(new URL("../package.json", import.meta.url));
const [what, ...files] = process.argv.slice(2);
if (what === "json") {
  const Ajv = require("ajv/dist/2020");
  const ajv = new Ajv({ allErrors: true, strict: true, allowUnionTypes: true });
  require("ajv-formats")(ajv);
  const check = ajv.compile(JSON.parse(fs.readFileSync(files[0], "utf8")));
  const good = check(JSON.parse(fs.readFileSync(files[1], "utf8")));
  console.log(good ? "valid" : JSON.stringify(check.errors.slice(0, 5), null, 1));
} else {
  const validator = require("gltf-validator");
  const report = await validator.validateBytes(new Uint8Array(fs.readFileSync(files[0])));
  const bad = report.issues.numErrors + report.issues.numWarnings;
  console.log(bad === 0 ? "valid" : JSON.stringify(report.issues, null, 1));
}
