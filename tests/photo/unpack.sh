#!/usr/bin/env bash
# Unpacks, without installing, the packages whose photographs the line is judged on.
#   tests/photo/unpack.sh DIR        the small ones of Debian 12 (35 MB), for the daily tests
#   tests/photo/unpack.sh DIR all    all that this system's package lists have (500 MB); packages of
#                                    other Debian suites (column `suite` of photographs.csv) need
#                                    those suites in apt's sources
# A package that cannot be had is named and left out; so are its photographs in the tests.
set -euo pipefail
here=$(cd "$(dirname "$0")/.." && pwd)
folder=$1
small="kphotoalbum libirrlicht-doc palapeli-data sddm-theme-maldives tuxpaint-data"
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
unpack() {  # package suite
  local target="$folder/$1-$2"
  [ -e "$target/usr" ] && return 0
  local work
  work=$(mktemp -d)
  if (cd "$work" && apt-get download -qq "$1/$2" >/dev/null 2>&1 ||
      { [ "$2" = bookworm ] && apt-get download -qq "$1" >/dev/null 2>&1; }); then
    mkdir -p "$target.part" && dpkg-deb -x "$work"/*.deb "$target.part" && mv "$target.part" "$target"
  else
    echo "photographs: $1 ($2) cannot be had, left out" >&2
  fi
  rm -rf "$work"
}
if [ "${2:-}" = all ]; then
  grep -v '^#' "$here/data/photographs.csv" | tail -n +2 | cut -d, -f2,3 | sort -u |
    while IFS=, read -r package suite; do unpack "$package" "$suite"; done
else
  for package in $small; do unpack "$package" bookworm; done
fi
