#!/usr/bin/env bash
# Runs every test. Installs what the tests compare with, if it is not there:
# from Debian ngspice (circuits), qpdf, pdftotext, unzip, zbarimg and openssl
# (papers), sqlite3 (sums of money), python3 (a second
# opinion on every figure), chromium with node and npm (pages); from
# npm the independent ends of commissioning.
set -euo pipefail
cd "$(dirname "$0")"

need=()
wants() { command -v "$1" >/dev/null || need+=("${@:2}"); }
wants ngspice ngspice
wants qpdf qpdf
wants pdftotext poppler-utils
wants unzip unzip
wants zbarimg zbar-tools
wants openssl openssl
wants sqlite3 sqlite3
wants npm nodejs npm
wants python3 python3
[ -n "${CHROMIUM:-}" ] || wants chromium chromium
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
# Every room runs unchanged in the browser, but for the command (a terminal of its
# own), the door (accounts in a database) and the maker of the bundle that is sent.
as_browser=(env GOOS=js GOARCH=wasm go)
"${as_browser[@]}" build $("${as_browser[@]}" list -f '{{if .GoFiles}}{{.ImportPath}}{{end}}' ./... | grep -vxE 'chargewright/(cmd/chargewright|web/door|web/makebundle)')
# What looks for faults of its own, where they can be had. Where
# not, since there is no network or a list of known faults cannot be read, it is
# said; both together take a minute and a half at most.
deadline=$((SECONDS + 90))
left() { echo $((deadline > SECONDS ? deadline - SECONDS : 1)); }
finds() {
	local what=$1 module=$2 said
	if ! timeout "$(left)" go install "$module" >/dev/null 2>&1; then
		echo "$what cannot be had here: it was not asked"
		return
	fi
	said=$(timeout "$(left)" "$(go env GOPATH)/bin/$what" ./... 2>&1) && return
	case $?:$said in
	124:*) echo "$what took too long: it was not asked to the end" ;;
	*"no such host"* | *"dial tcp"* | *"connection refused"* | *"fetching vulnerabilities"* | *"HTTP GET"*) echo "$what cannot read its list here: it was not asked" ;;
	*) echo "$said"; return 1 ;;
	esac
}
finds staticcheck honnef.co/go/tools/cmd/staticcheck@v0.8.2
finds govulncheck golang.org/x/vuln/cmd/govulncheck@v1.9.0
# The solver says how many values from outside it was held to; go test shows what
# a passing package prints only when it is asked to tell all.
told=$(mktemp)
trap 'rm -f "$told"' EXIT
go test -v ./network >"$told" 2>&1 || { cat "$told"; exit 1; }
grep '^network:' "$told"
# The browser's walks are timed by their own clocks, so they have the machine to themselves.
go test -timeout 20m -run TestInBrowser ./web
go test -short ./web
# So has commissioning, which is paced by the clock.
go test ./commission
go test -timeout 25m $(go list ./... | grep -vE '/(network|web|commission)$')
