# Sourced by the project's scripts: run steps quietly, say what was done and how long it took.
# On failure the step's own output is shown.

step() {  # step "what it does" command...
  local what=$1 log begin=$SECONDS status
  shift
  log=$(mktemp)
  printf '%s ... ' "$what" >&2
  if "$@" >"$log" 2>&1; then
    printf '%d s\n' $((SECONDS - begin)) >&2
    rm -f "$log"
  else
    status=$?
    printf 'failed after %d s\n' $((SECONDS - begin)) >&2
    tail -n 200 "$log" >&2
    rm -f "$log"
    exit $status
  fi
}

as_root() { if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi; }

# install_packages FILE...: what the lists name and the machine lacks, from Debian.
install_packages() {
  local missing
  missing=$(grep -hv '^#' "$@" | sort -u | while read -r package; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || echo "$package"
  done)
  [ -z "$missing" ] && return
  as_root apt-get update -q
  # shellcheck disable=SC2086
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $missing
}
