#!/usr/bin/env bash
# site.sh PROGRAM FOLDER: puts the page and the linked program (PROGRAM.js, .wasm, .data,
# .worker.js) together, and gives the service worker its version and its list of files.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
program=$1 site=$2
rm -rf "$site" && mkdir -p "$site"
cp "$here"/page/*.{html,css,js,svg,webmanifest} "$site"
for end in js wasm data worker.js; do
  [ ! -f "$program.$end" ] || cp "$program.$end" "$site/$(basename "$program").$end"
done
for size in 192 512; do rsvg-convert -w $size -h $size "$site/icon.svg" -o "$site/icon-$size.png"; done
# A launcher may cut the corners off: no round corners of our own, the picture in the middle 80 %.
sed -e 's/ rx="96"//g' -e 's/viewBox="[^"]*"/viewBox="-64 -64 640 640"/' \
  -e 's|<rect width="512" height="512" fill="#f6f1e4"/>|<rect x="-64" y="-64" width="640" height="640" fill="#f6f1e4"/>|' \
  "$site/icon.svg" >"$site/maskable.svg"
rsvg-convert -w 512 -h 512 "$site/maskable.svg" -o "$site/icon-maskable-512.png"
rm "$site/maskable.svg"

cd "$site"
files=$(find . -type f ! -name service_worker.js | sed 's|^\./||' | sort)
version=$(cat $files service_worker.js | sha256sum | cut -c1-12)
list=$(printf "'./', "; for file in $files; do [ "$file" = index.html ] || printf "'%s', " "$file"; done)
sed -i -e "s|@VERSION@|$version|" -e "s|/\*@FILES@\*/|$list|" service_worker.js

# For servers that send files already compressed; others compress themselves. Not the service worker:
# it is what says that all others are new.
pressed=$(find . -type f \( -name '*.wasm' -o -name '*.js' -o -name '*.data' -o -name '*.css' -o -name '*.html' \
  -o -name '*.svg' -o -name '*.webmanifest' \) ! -name service_worker.js)
gzip -9 -k -n $pressed
node -e '
const zlib = require("zlib"), fs = require("fs"), { constants: c } = zlib;
for (const file of process.argv.slice(1)) {
  const bytes = fs.readFileSync(file);
  fs.writeFileSync(file + ".br", zlib.brotliCompressSync(bytes, { params: {
    [c.BROTLI_PARAM_QUALITY]: 11, [c.BROTLI_PARAM_LGWIN]: 24, [c.BROTLI_PARAM_SIZE_HINT]: bytes.length } }));
}' $pressed
download() {  # ENDING: of each file the pressed one, where there is one
  for file in $files service_worker.js; do stat -c %s "$file.$1" 2>/dev/null || stat -c %s "$file"; done |
    awk '{s += $1} END {printf "%.2f MB", s / 1e6}'
}
echo "  $site, version $version: $(du -bc $files | awk 'END {printf "%.1f MB", $1 / 1e6}'), to download $(download br) by Brotli, $(download gz) by gzip"
