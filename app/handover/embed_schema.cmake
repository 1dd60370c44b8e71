# Writes docs/site.schema.json into a source file, so that every package can carry it.
file(READ ${SCHEMA} text)
file(WRITE ${OUT} "#include \"app/handover/tables.h\"\n\nnamespace app {\n\nstd::string_view site_schema() {\n  static constexpr char kText[] = R\"schema(${text})schema\";\n  return {kText, sizeof kText - 1};\n}\n\n}  // namespace app\n")
