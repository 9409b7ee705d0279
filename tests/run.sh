#!/usr/bin/env bash
# Installs what the tests need and runs them all: format, lints, tests. Works as root, or as a user who may use sudo.
set -euo pipefail
cd "$(dirname "$0")/.."

# Other people's programs that our results are held to, each as: Debian package | how to see that it is there.
needed='
gcc                 | cc --version
graphviz            | dot -V
ngspice             | ngspice --version
chromium            | chromium --version
poppler-utils       | pdftoppm -v
python3-jsonschema  | /usr/bin/python3 -c "import jsonschema"
python3-openpyxl    | /usr/bin/python3 -c "import openpyxl"
python3-regex       | /usr/bin/python3 -c "import regex"
zbar-tools          | zbarimg --version
python3-ruamel.yaml | /usr/bin/python3 -c "import ruamel.yaml"
'

missing=()
while IFS='|' read -r package probe; do
  [ -z "$package" ] || bash -c "$probe" >/dev/null 2>&1 || missing+=("${package// /}")
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
step cargo clippy --locked --workspace --all-targets --quiet -- -D warnings
# A snapshot that differs fails; none is written.
export INSTA_UPDATE=no
# A judge that is missing fails its tests.
export JUDGES=required
# In one command and one profile: with other packages chosen, cargo would compile them again with other features.
step cargo test --locked --workspace --profile suite --no-fail-fast --lib --bins --tests
step cargo test --locked --workspace --profile suite --doc --quiet
