#!/usr/bin/env bash
# mutate.sh [FILE...]: would the tests notice a changed threshold or factor? In each FILE (else those
# of tests/mutate.txt) every number of a line with `constexpr`, and every factor or bound beside an
# operator, is made larger by 30 %, one at a time; the tests that cover the file are built and run.
# A mutant that all tests pass is told with its place. Let the machine be idle; takes a minute or
# less for each. Works on a copy of the sources, and never on yours.
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD
copy=${ADRET_MUTANTS:-$root/build/mutants}
mkdir -p "$copy"
git ls-files -z --cached --others --exclude-standard | xargs -0 cp -u --parents -t "$copy"
cd "$copy"
cmake --preset release >/dev/null
ninja -C build/release horizon_tests >/dev/null
exec "$root/tests/mutate.py" "$root/tests/mutate.txt" "$@"
