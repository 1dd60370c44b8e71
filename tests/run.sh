#!/usr/bin/env bash
# Installs what is needed, looks at the house style (tests/checks.py), builds Adret twice (release,
# then with sanitizers) and runs every test with both. The closing lines are CTest's own.
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh

install_npm_packages() {
  command -v npm >/dev/null || as_root apt-get install -qy --no-install-recommends nodejs npm
  npm ci --prefix tests --no-audit --no-fund --ignore-scripts
}

run_tests() {  # preset
  local log="build/$1/tests.log" begin=$SECONDS
  if ! ctest --preset "$1" -j"$(nproc)" >"$log" 2>&1; then
    cat "$log"
    return 1
  fi
  grep -E 'tests passed|Skipped|Not Run' "$log"
  printf 'test %s ... %d s\n' "$1" $((SECONDS - begin)) >&2
}

step "install packages" install_packages app/packages.txt tests/packages.txt
step "look at the house style" tests/checks.py
step "install npm packages" install_npm_packages
step "unpack photographs" tests/photo/unpack.sh build/photographs
for preset in release asan; do
  step "configure $preset" cmake --preset "$preset"
  step "build $preset" cmake --build --preset "$preset"
  run_tests "$preset"
done
