#!/usr/bin/env bash
# Draws the three pictures of README.md anew, by the program itself: app/pictures.sh [BUILD_FOLDER]
set -euo pipefail
cd "$(dirname "$0")/.."
bin=${1:-build/release}/app/adret
out=docs/pictures
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
SDL_VIDEODRIVER=dummy "$bin" --pictures "$work"
mkdir -p "$out"
pdftoppm -png -r 52 -f 1 -l 1 -singlefile "$work/report.pdf" "$work/report"
for picture in skyline light report; do cp "$work/$picture.png" "$out/$picture.png"; done
ls -l "$out"
