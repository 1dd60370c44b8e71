#!/usr/bin/env bash
# build.sh: Adret for the browser, from nothing, on Debian 12. The result is build/web/site, a folder
# of plain files for any web server (serve.sh is one).
# As root it installs what is missing and turns source packages on; as another user it says what is.
# Libraries are built once into $ADRET_WEB_CACHE (default ~/.cache/adret-web).
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
cd "$root"

mapfile -t packages <"$here/packages.txt"
missing=$(dpkg-query -W -f '${db:Status-Abbrev}${Package}\n' "${packages[@]}" 2>/dev/null |
  sed -n 's/^ii //p' | sort | comm -13 - <(printf '%s\n' "${packages[@]}" | sort))
sources_on() { grep -qrE '^Types:.*deb-src|^deb-src' /etc/apt/sources.list /etc/apt/sources.list.d 2>/dev/null; }
if [ -n "$missing" ] || ! sources_on; then
  if [ "$(id -u)" -ne 0 ]; then
    echo "build.sh: run once as root, or install: $missing; and add deb-src to APT's sources" >&2
    exit 1
  fi
  if ! sources_on; then
    if [ -f /etc/apt/sources.list.d/debian.sources ]; then
      sed -i 's/^Types: deb$/Types: deb deb-src/' /etc/apt/sources.list.d/debian.sources
    else
      sed 's/^deb /deb-src /' /etc/apt/sources.list >/etc/apt/sources.list.d/adret-sources.list
    fi
  fi
  apt-get update -qq
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi

echo "libraries (once, about half an hour on two cores):"
"$here/libraries.sh"

echo "program:"
"$here/assets.py" build/web-assets
cmake --preset web -DADRET_TESTS="${ADRET_WEB_TESTS:-OFF}" >build/web-configure.log
cmake --build --preset web --target "${ADRET_WEB_TARGET:-adret}" | tail -1
"$here/site.sh" build/web/app/adret build/web/site
