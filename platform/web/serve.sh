#!/usr/bin/env bash
# serve.sh [PORT]: serves build/web/site over https on the local network, for a phone beside you.
# Sensors, camera and storage need https. The certificate is made here, for this machine's addresses,
# signed by an authority that is also made here: install that once on the phone (the page
# https://ADDRESS:PORT/adret-authority.crt hands it over) and trust it for this purpose only.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
site=${ADRET_SITE:-$here/../../build/web/site}
port=${1:-8443}
[ -f "$site/index.html" ] || { echo "serve.sh: nothing to serve; run platform/web/build.sh first" >&2; exit 1; }
keys=${ADRET_KEYS:-$HOME/.config/adret-serve}
mkdir -p "$keys" && chmod 700 "$keys"
addresses=$(hostname -I 2>/dev/null | tr ' ' '\n' | grep -E '^[0-9.]+$' || true)
names="DNS:localhost,DNS:$(hostname).local,IP:127.0.0.1$(for a in $addresses; do printf ',IP:%s' "$a"; done)"
if [ ! -f "$keys/authority.crt" ]; then
  openssl req -x509 -newkey rsa:2048 -nodes -days 825 -subj "/CN=Adret on $(hostname)" \
    -addext "basicConstraints=critical,CA:TRUE" -addext "keyUsage=critical,keyCertSign" \
    -keyout "$keys/authority.key" -out "$keys/authority.crt" 2>/dev/null
fi
openssl req -newkey rsa:2048 -nodes -subj "/CN=Adret" -keyout "$keys/site.key" -out "$keys/site.csr" 2>/dev/null
openssl x509 -req -in "$keys/site.csr" -CA "$keys/authority.crt" -CAkey "$keys/authority.key" -CAcreateserial \
  -days 365 -extfile <(printf 'subjectAltName=%s\nextendedKeyUsage=serverAuth\n' "$names") \
  -out "$keys/site.crt" 2>/dev/null
echo "Adret is served at:"
for a in 127.0.0.1 $addresses; do echo "  https://$a:$port/"; done
echo "Once for each phone: open https://ADDRESS:$port/adret-authority.crt, accept the warning, install"
echo "the certificate (Android: Settings, Security, Install a certificate, CA; iOS: Settings, Profile"
echo "Downloaded, then General, About, Certificate Trust Settings). Then open the address above, and"
echo "\"Add to home screen\" or \"Install\". After that it works without this server. Ctrl+C ends."
exec /usr/bin/python3 "$here/serve.py" "$site" "$port" "$keys"
