#!/usr/bin/env bash
# Installs what is needed, builds Adret twice (release, then with sanitizers) and runs every test
# with both. The closing lines are CTest's own.
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh

run_tests() {  # preset
  local log="build/$1/tests.log"
  if ! ctest --preset "$1" -j"$(nproc)" >"$log" 2>&1; then
    cat "$log"
    return 1
  fi
  tail -n 5 "$log"
}

step "install packages" install_packages app/packages.txt tests/packages.txt
for preset in release asan; do
  step "configure $preset" cmake --preset "$preset"
  step "build $preset" cmake --build --preset "$preset"
  echo "test $preset:"
  run_tests "$preset"
done
