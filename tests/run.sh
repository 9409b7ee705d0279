#!/usr/bin/env bash
# Installs what the tests need and runs them all: format, lints, tests. Works as root, or as a user who may use sudo.
set -euo pipefail
cd "$(dirname "$0")/.."

# Other people's programs that tests hold our results to, each as: command, Debian package, what it is for.
needed='
cc        gcc             linking
dot       graphviz        the signal graph read by another program
ngspice   ngspice         the circuits solved by another program
chromium  chromium        the pages opened in a browser
pdftoppm  poppler-utils   the PDF files opened by another program
'

missing=()
while read -r command package _; do
  [ -z "$command" ] || command -v "$command" >/dev/null 2>&1 || missing+=("$package")
done <<<"$needed"

if [ ${#missing[@]} -gt 0 ]; then
  if ! command -v apt-get >/dev/null 2>&1; then
    echo "tests/run.sh: please install these first (their Debian names): ${missing[*]}" >&2
    exit 1
  fi
  as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null 2>&1 || { echo "tests/run.sh: needs root or sudo to install: ${missing[*]}" >&2; exit 1; }
    as_root=(sudo)
  fi
  echo "installing ${missing[*]}"
  # A package mirror that is just being refreshed answers wrongly for a minute: try again.
  for try in 1 2 3 4; do
    if "${as_root[@]}" apt-get update -q &&
      "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}"; then
      break
    fi
    [ "$try" -lt 4 ] || { echo "tests/run.sh: could not install ${missing[*]}" >&2; exit 1; }
    sleep $((try * 15))
  done
fi

for component in rustfmt clippy; do
  cargo "${component/rust/}" --version >/dev/null 2>&1 || rustup component add "$component"
done

step() {
  echo "== $*"
  "$@"
}
step cargo fmt --check
step cargo clippy --locked --all-targets --quiet -- -D warnings
# A snapshot that differs fails; none is written.
export INSTA_UPDATE=no
step cargo test --locked --no-fail-fast
