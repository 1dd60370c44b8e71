#!/usr/bin/env bash
# serve_test.sh: platform/web/serve.sh as somebody on the same network would try it: what it hands
# out, what it refuses, and what its authority can vouch for (RFC 5280, 4.2.1.10 name constraints).
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
failures=0
check() {  # WORDS GOT WANTED
  if [ "$2" = "$3" ]; then echo "ok   $1"; else echo "FAIL $1: $2, not $3"; failures=$((failures + 1)); fi
}
mkdir -p "$work/site/sub"
echo '<p>here</p>' >"$work/site/index.html"
head -c 300000 /dev/zero >"$work/site/adret.wasm"
echo secret >"$work/secret"
ln -s "$work/secret" "$work/site/secret"
export ADRET_SITE=$work/site ADRET_KEYS=$work/keys
port=$((20000 + RANDOM % 20000))
"$here/../../platform/web/serve.sh" "$port" >"$work/log" 2>&1 &
server=$!
trap 'kill $server 2>/dev/null || true; rm -rf "$work"' EXIT
get() { curl -s -m 10 --cacert "$work/keys/authority.crt" "$@"; }
code() { get -o /dev/null -w '%{http_code}' "$@" || true; }
at=https://127.0.0.1:$port
for _ in $(seq 100); do [ "$(code "$at/")" = 200 ] && break; sleep 0.1; done

check "the page" "$(get "$at/")" '<p>here</p>'
check "its authority" "$(get "$at/adret-authority.crt" | openssl x509 -noout -checkend 0)" 'Certificate will not expire'
check "a link out of the folder" "$(code "$at/secret")" 403
check "a folder's list" "$(code "$at/sub/")" 403
check "a path out of the folder" "$(code --path-as-is "$at/../keys/authority.key")" 404
check "its key" "$(code "$at/authority.key")" 404
for header in 'cross-origin-opener-policy: same-origin' 'cross-origin-embedder-policy: require-corp' \
  "content-security-policy: frame-ancestors 'none'" 'x-content-type-options: nosniff'; do
  check "$header" "$(get -I "$at/" | tr -d '\r' | grep -ic "^$header")" 1
done
tag=$(get -I "$at/adret.wasm" | tr -d '\r' | sed -n 's/^etag: //ip')
check "the same file again is not sent" "$(code -H "If-None-Match: $tag" "$at/adret.wasm")" 304
check "compressed" "$(($(get -o /dev/null --compressed -w '%{size_download}' "$at/adret.wasm") < 30000))" 1

# Connections that say nothing hold nobody up.
for _ in $(seq 20); do (exec 3<>"/dev/tcp/127.0.0.1/$port" && sleep 4) & done
sleep 0.3
check "beside twenty idle connections" "$(get -m 2 -o /dev/null -w '%{http_code}' "$at/" || true)" 200

sign() {  # ALTERNATIVE NAME
  openssl req -newkey rsa:2048 -nodes -subj /CN=x -keyout "$work/x.key" -out "$work/x.csr" 2>/dev/null
  openssl x509 -req -in "$work/x.csr" -CA "$work/keys/authority.crt" -CAkey "$work/keys/authority.key" \
    -CAcreateserial -days 3 -extfile <(echo "subjectAltName=$1") -out "$work/x.crt" 2>/dev/null
  openssl verify -CAfile "$work/keys/authority.crt" "$work/x.crt" >/dev/null 2>&1 && echo believed || echo refused
}
check "a private address" "$(sign IP:192.168.1.20)" believed
check "a .local name" "$(sign DNS:laptop.local)" believed
check "a name of the world" "$(sign DNS:www.example.com)" refused
check "an address of the world" "$(sign IP:203.0.113.5)" refused

"$here/../../platform/web/serve.sh" --forget >/dev/null
check "the key is gone when told" "$([ -e "$work/keys" ] && echo there || echo gone)" gone
[ "$failures" = 0 ]
