#!/bin/sh
# Fetches the solver module and its licence again and checks that they are the
# ones the package was written for. Needs npm, tar and sha256sum.
#
# Another release: its short export and import names differ. Read them from
# wasmImports and assignWasmExports in build/highs.mjs of that release, bring
# the tables in ../module.go and ../host.go in line, then change the version and
# the sums here.
set -eu
version=1.15.3
cd "$(dirname "$0")"
here=$(pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
archive=$(npm pack --silent "highs@$version")
tar -xzf "$archive"
(
	cd package
	sha256sum -c - <<-'SUMS'
	528be4365bea1d4188988646b244263f50320df55782e14d6af5bce7cd45c840  build/highs.wasm
	9f8d8dcf27789ac59c0d7c732d6682f148804a5e99d83e9f207d6c1882b98bfa  LICENSE
	SUMS
)
install -m 644 package/build/highs.wasm package/LICENSE "$here"
