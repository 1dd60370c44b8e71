#!/usr/bin/env bash
# serve.sh [PORT]: serves build/web/site over https on the local network, for a phone beside you, by
# Debian's lighttpd with a configuration made here (docs/web.md has the same for other servers).
# serve.sh --local PORT: over http to this computer alone, for tests.
# serve.sh --forget: removes the authority and its key.
# Sensors, camera and storage need https. The certificate is made here, for this machine's addresses,
# signed by an authority that is also made here: install that once on the phone (the page
# https://ADDRESS:PORT/adret-authority.crt hands it over). It can vouch for private addresses and
# .local names only, lives 90 days, and its key leaves this computer at --forget.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
site=$(realpath "${ADRET_SITE:-$here/../../build/web/site}")
keys=${ADRET_KEYS:-$HOME/.config/adret-serve}
local_only=
[ "${1:-}" = --local ] && local_only=1 && shift
if [ "${1:-}" = --forget ]; then
  rm -rf "$keys"
  echo "The authority and its key are gone. Remove \"Adret on $(hostname)\" from the phones too."
  exit
fi
port=${1:-8443}
[ -f "$site/index.html" ] || { echo "serve.sh: nothing to serve; run platform/web/build.sh first" >&2; exit 1; }
command -v lighttpd >/dev/null || {
  echo "serve.sh: lighttpd is missing: apt install lighttpd lighttpd-mod-openssl lighttpd-mod-deflate" >&2; exit 1; }
umask 077
work=$(realpath "$(mktemp -d)")
trap 'rm -rf "$work"' EXIT

make_keys() {
  mkdir -p "$keys"
  if ! openssl x509 -checkend 86400 -noout -in "$keys/authority.crt" >/dev/null 2>&1; then
    openssl req -x509 -newkey rsa:2048 -nodes -days 90 -subj "/CN=Adret on $(hostname)" \
      -addext "basicConstraints=critical,CA:TRUE,pathlen:0" -addext "keyUsage=critical,keyCertSign" \
      -addext "nameConstraints=critical,permitted;DNS:localhost,permitted;DNS:.local,permitted;IP:127.0.0.0/255.0.0.0,permitted;IP:10.0.0.0/255.0.0.0,permitted;IP:172.16.0.0/255.240.0.0,permitted;IP:192.168.0.0/255.255.0.0,permitted;IP:169.254.0.0/255.255.0.0" \
      -keyout "$keys/authority.key" -out "$keys/authority.crt" 2>/dev/null
  fi
  local names
  names="DNS:localhost,DNS:$(hostname | tr '[:upper:]_' '[:lower:]-').local,IP:127.0.0.1$(for a in $addresses; do printf ',IP:%s' "$a"; done)"
  openssl req -newkey rsa:2048 -nodes -subj "/CN=Adret" -keyout "$keys/site.key" -out "$keys/site.csr" 2>/dev/null
  openssl x509 -req -in "$keys/site.csr" -CA "$keys/authority.crt" -CAkey "$keys/authority.key" -CAcreateserial \
    -days 30 -extfile <(printf 'subjectAltName=%s\nextendedKeyUsage=serverAuth\nbasicConstraints=CA:FALSE\n' "$names") \
    -out "$keys/site.crt" 2>/dev/null
  cat "$keys/site.crt" "$keys/site.key" >"$work/site.pem"
  mkdir -m 755 "$work/hand-out" && install -m 644 "$keys/authority.crt" "$work/hand-out/adret-authority.crt"
}

# Private addresses only: the authority vouches for no other.
addresses=$(hostname -I 2>/dev/null | tr ' ' '\n' |
  grep -E '^(10\.|192\.168\.|169\.254\.|172\.(1[6-9]|2[0-9]|3[01])\.)' || true)
{
  cat <<CONF
server.document-root = "$site"
server.port = $port
server.bind = "$([ "$local_only" ] && echo 127.0.0.1 || echo 0.0.0.0)"
server.modules = ("mod_setenv", "mod_rewrite", "mod_alias", "mod_deflate", "mod_openssl")
server.tag = ""
server.errorlog = "$work/error.log"
server.follow-symlink = "disable"
server.max-read-idle = 20
server.max-request-size = 64
index-file.names = ("index.html")
url.access-deny = (".gz", "~")
# Pressed once while building, harder than a server does it for each answer.
\$REQUEST_HEADER["Accept-Encoding"] =~ "(^|[ ,])br([ ,;]|\$)" {
  url.rewrite-once = ("^/(\?.*)?\$" => "/index.html.br\$1", "^/(?!service_worker\.js)([^?]+\.(html|js|css|svg|wasm|data|webmanifest))(\?.*)?\$" => "/\$1.br\$3")
}
\$HTTP["url"] =~ "\.br(\?.*)?\$" {
  setenv.add-response-header = ("Content-Encoding" => "br", "Vary" => "Accept-Encoding")
}
mimetype.assign = (".html.br" => "text/html; charset=utf-8", ".js.br" => "text/javascript", ".css.br" => "text/css",
  ".svg.br" => "image/svg+xml", ".wasm.br" => "application/wasm", ".webmanifest.br" => "application/manifest+json",
  ".html" => "text/html; charset=utf-8", ".js" => "text/javascript", ".css" => "text/css",
  ".svg" => "image/svg+xml", ".png" => "image/png", ".wasm" => "application/wasm", ".json" => "application/json",
  ".webmanifest" => "application/manifest+json", ".crt" => "application/x-x509-ca-cert",
  "" => "application/octet-stream")
deflate.mimetypes = ("text/", "application/", "image/svg+xml")
deflate.allowed-encodings = ("brotli", "gzip")
deflate.cache-dir = "$work/deflate"
CONF
  cat "$here/headers.conf"
  if [ ! "$local_only" ]; then
    make_keys
    printf 'ssl.engine = "enable"\nssl.pemfile = "%s"\nalias.url = ("/adret-authority.crt" => "%s")\n' \
      "$work/site.pem" "$work/hand-out/adret-authority.crt"
  fi
} >"$work/lighttpd.conf"
mkdir "$work/deflate"

if [ ! "$local_only" ]; then
  echo "Adret is served at:"
  for a in 127.0.0.1 $addresses; do echo "  https://$a:$port/"; done
  echo "Once for each phone: open https://ADDRESS:$port/adret-authority.crt, accept the warning, install"
  echo "the certificate (Android: Settings, Security, Install a certificate, CA; iOS: Settings, Profile"
  echo "Downloaded, then General, About, Certificate Trust Settings). Then open the address above, and"
  echo "\"Add to home screen\" or \"Install\". After that it works without this server. Ctrl+C ends;"
  echo "\"$0 --forget\" takes the authority away when you are done."
fi
lighttpd -D -f "$work/lighttpd.conf" &
server=$!
trap 'kill $server 2>/dev/null || true; rm -rf "$work"' EXIT
trap 'exit 0' INT TERM
wait $server || true
