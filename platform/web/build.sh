#!/usr/bin/env bash
# build.sh: Adret for the browser, from nothing, on Debian 12. The result is build/web/site, a folder
# of plain files for any web server (serve.sh is one).
# Installs what is missing and turns source packages on (as root, else by sudo).
# Libraries are built once into $ADRET_WEB_CACHE (default ~/.cache/adret-web).
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
cd "$root"

. app/steps.sh

sources_on() {
  grep -qrE '^Types:.*deb-src|^deb-src' /etc/apt/sources.list /etc/apt/sources.list.d 2>/dev/null
}
turn_sources_on() {
  sources_on && return
  if [ -f /etc/apt/sources.list.d/debian.sources ]; then
    as_root sed -i 's/^Types: deb$/Types: deb deb-src/' /etc/apt/sources.list.d/debian.sources
  else
    sed 's/^deb /deb-src /' /etc/apt/sources.list |
      as_root tee /etc/apt/sources.list.d/adret-sources.list >/dev/null
  fi
  as_root apt-get update -q
}
step "turn source packages on" turn_sources_on
step "install packages" install_packages platform/web/packages.txt

echo "libraries (once, some ten minutes on two cores):"
"$here/libraries.sh"

step "fonts and coordinate systems" "$here/assets.py" build/web-assets
step "configure" cmake --preset web -DADRET_TESTS="${ADRET_WEB_TESTS:-OFF}"
step "build" cmake --build --preset web --target "${ADRET_WEB_TARGET:-adret}"
step "page" "$here/site.sh" build/web/app/adret build/web/site
