#!/usr/bin/env bash
# Installs what is needed, builds Adret and runs the main job on the invented Larkholm site.
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh

out=${1:-build/larkholm}
step "install packages" install_packages app/packages.txt
step "configure" cmake --preset release -DADRET_TESTS=OFF -DADRET_CHECKED=OFF
step "build" cmake --build --preset release
cli=build/release/app/adret-cli
mkdir -p "$out"
rm -f "$out/larkholm.gpkg"
"$cli" light --lat 46.6213 --lon 10.3478 --height-m 1482 --year 2027 \
  --marks app/demo/larkholm_marks.csv --station B
