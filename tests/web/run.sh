#!/usr/bin/env bash
# run.sh [KILLS]: builds Adret for the browser and tests it in headless Chromium: a whole visit
# without network, the page, its accessibility tree, a site of many photographs, and the browser killed in the middle of
# marking (50 times unless told);
# the visit and the store's faults in Firefox and WebKit as well;
# the core's own tests run under node.
# A command of its own, not part of tests/run.sh: docs/web.md says why. Let the machine be idle.
set -euo pipefail
cd "$(dirname "$0")/../.."
. app/steps.sh

install_npm_packages() {
  command -v npm >/dev/null || as_root apt-get install -qy --no-install-recommends nodejs npm
  npm ci --prefix tests/web --no-audit --no-fund --ignore-scripts
}
step "install packages" install_packages app/packages.txt tests/web/packages.txt
step "install npm packages" install_npm_packages
step "configure release" cmake --preset release
step "build adret-cli" cmake --build --preset release --target adret-cli
step "build for the browser" platform/web/build.sh
cmake_tests() {
  cmake --preset web -DADRET_TESTS=ON
  cmake --build --preset web --target horizon_tests survey_tests
  ctest --preset web -j"$(nproc)"
}
step "the core's tests under node" cmake_tests
export ADRET_CLI=$PWD/build/release/app/adret-cli
node tests/web/page_test.mjs
node tests/web/access_test.mjs
node tests/web/keyboard_test.mjs
node tests/web/visit_test.mjs
node tests/web/engines_test.mjs
node tests/web/large_test.mjs
node tests/web/kill_test.mjs "${1:-50}"
