#!/usr/bin/env bash
# Installs what is needed, builds Adret and runs the main job on the invented Larkholm site: its
# hours of sun on the screen, report and site package in the folder given (default build/larkholm).
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh

out=${1:-build/larkholm}
bin=build/release/app
site=$out/larkholm.gpkg
step "install packages" install_packages app/packages.txt
step "configure" cmake --preset release -DADRET_TESTS=OFF
step "build" cmake --build --preset release
mkdir -p "$out"
rm -rf "$site" "$out/handover"
step "write the Larkholm site" "$bin/adret-demo" app/demo/larkholm_marks.csv "$site"
"$bin/adret-cli" light "$site"
step "hand over" "$bin/adret-cli" handover "$site" --out "$out/handover"
echo "The site file is $site, the designer's package lies in $out/handover."
