#!/usr/bin/env bash
# Runs every test. Installs the Debian programs the tests compare with, if they
# are not there: ngspice (circuits), qpdf, pdftotext, unzip, zbarimg and openssl (papers), Chromium (pages), sqlite3
# (sums of money), node and npm
# (the independent ends of commissioning).
set -euo pipefail
cd "$(dirname "$0")"

need=()
command -v ngspice >/dev/null || need+=(ngspice)
command -v qpdf >/dev/null || need+=(qpdf)
command -v pdftotext >/dev/null || need+=(poppler-utils)
[ -n "${CHROMIUM:-}" ] || command -v chromium >/dev/null || need+=(chromium)
command -v unzip >/dev/null || need+=(unzip)
command -v openssl >/dev/null || need+=(openssl)
command -v zbarimg >/dev/null || need+=(zbar-tools)
command -v sqlite3 >/dev/null || need+=(sqlite3)
command -v npm >/dev/null || need+=(nodejs npm)
if [ ${#need[@]} -gt 0 ]; then
	as_root=()
	[ "$(id -u)" -eq 0 ] || as_root=(sudo)
	"${as_root[@]}" apt-get update -qq
	DEBIAN_FRONTEND=noninteractive "${as_root[@]}" apt-get install -y -qq --no-install-recommends "${need[@]}"
fi

(cd commission/testdata/peer && npm install --silent --no-audit --no-fund --no-package-lock --omit=optional)

unformatted=$(gofmt -l $(git ls-files '*.go'))
if [ -n "$unformatted" ]; then
	echo "not gofmt-ed:"
	echo "$unformatted"
	exit 1
fi
go vet ./...
# The calculation core and what draws from it run unchanged in the browser.
GOOS=js GOARCH=wasm go build ./quantity ./finding ./standard ./network ./job ./model ./demand ./design ./prove ./drawing ./paper ./store ./web ./web/worker
go test ./...
