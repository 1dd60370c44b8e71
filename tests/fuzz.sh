#!/usr/bin/env bash
# fuzz.sh [SECONDS [READER...]]: clang's libFuzzer on every reader (or those named), an hour in all
# unless told. What was found stays in build/fuzz/corpus, what fell over in build/fuzz/found.
set -euo pipefail
cd "$(dirname "$0")/.."
. app/steps.sh
seconds=${1:-3600}
shift || true
step "install packages" install_packages app/packages.txt tests/packages.txt tests/fuzz/packages.txt
configure() {
  CC=clang-16 CXX=clang++-16 cmake -S . -B build/fuzz -G Ninja -DCMAKE_BUILD_TYPE=Debug -DADRET_TESTS=ON \
    -DCMAKE_CXX_FLAGS_DEBUG="-O1 -g1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize=vptr" -DADRET_FUZZ=ON
}
step "configure" configure
step "build" ninja -C build/fuzz fuzz_readers
mkdir -p build/fuzz/corpus build/fuzz/found
readers=("$@")
[ ${#readers[@]} -gt 0 ] || readers=(marks contacts gpx geojson photo weather position text grid file)
for reader in "${readers[@]}"; do
  mkdir -p "build/fuzz/corpus/$reader"
  ADRET_READER=$reader build/fuzz/tests/fuzz_readers "build/fuzz/corpus/$reader" -max_total_time=$((seconds / ${#readers[@]})) \
    -timeout=2 -rss_limit_mb=1024 -max_len=100000 -artifact_prefix="build/fuzz/found/$reader-" -print_final_stats=1 2>&1 |
    grep -E 'stat::number_of_executed_units|ERROR|SUMMARY|Test unit written' | sed "s/^/$reader: /"
done
[ -z "$(ls build/fuzz/found)" ]
