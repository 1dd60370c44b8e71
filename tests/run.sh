#!/usr/bin/env bash
# Installs what is needed, looks at the house style (tests/checks.py), builds Adret and runs every
# test; then builds the computing core, the field book and the readers once more with sanitizers, and
# runs their tests again. The closing lines are CTest's own.
# tests/run.sh --long: all of it with sanitizers, screens and report too, and the full counts; hours.
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh

install_npm_packages() {
  command -v npm >/dev/null || as_root apt-get install -qy --no-install-recommends nodejs npm
  npm ci --prefix tests --no-audit --no-fund --ignore-scripts
}

run_tests() {  # preset, more for ctest
  local log="build/$1/tests.log" begin=$SECONDS
  if ! ctest --preset "$1" -j"$(nproc)" "${@:2}" >"$log" 2>&1; then
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
step "configure release" cmake --preset release
step "build release" cmake --build --preset release
run_tests release
step "configure asan" cmake --preset asan
if [ "${1:-}" = --long ]; then
  step "build asan" cmake --build --preset asan
  export ADRET_LONG=1 ADRET_SITES=500 ADRET_DIARIES=500 ADRET_FAULTS=2000 ADRET_MUTATIONS=100000 ADRET_PLOTS=300
  run_tests release
  run_tests asan
else
  step "build asan" cmake --build --preset asan --target horizon_tests survey_tests
  run_tests asan -R '^(horizon|survey)/' -LE counts
fi
