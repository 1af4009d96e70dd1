package web

// Files that do not change while the program runs: style, script, typeface,
// and the part that runs in the browser, where it was built in.

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"

	"chargewright/drawing"
)

//go:embed assets/*
var assets embed.FS

const (
	wasmFile   = "chargewright.wasm.br"
	loaderFile = "wasm_exec.js"
)

// Bundled reports that the part for the browser is built in.
func Bundled() bool {
	_, err := fs.Stat(bundle, "bundle/"+wasmFile)
	return err == nil
}

// version names what the browser holds on to: when any of it changes, so does
// the version, and the browser fetches it all anew.
var version = func() string {
	h := sha256.New()
	for _, files := range []fs.FS{assets, bundle, templateFiles} {
		fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				text, _ := fs.ReadFile(files, name) // embedded: it is there
				h.Write([]byte(name))
				h.Write(text)
			}
			return nil
		})
	}
	h.Write(iconSVG)
	return hex.EncodeToString(h.Sum(nil)[:8])
}()

const aWhile = "public, max-age=3600"

// files adds the addresses of fixed files.
func (s *Server) files(mux *http.ServeMux) {
	made := func(address, kind, cache string, text func() []byte) {
		tag := `"` + version + `"`
		packs := !slices.Contains([]string{"image/png", "font/woff2", "application/wasm"}, kind) // which are packed by nature
		packed := sync.OnceValue(func() []byte { return gzipped(text()) })
		mux.HandleFunc("GET "+address, func(w http.ResponseWriter, r *http.Request) {
			h := w.Header()
			h.Set("Content-Type", kind)
			h.Set("Cache-Control", cache)
			h.Set("ETag", tag)
			if kind == "application/wasm" { // kept packed: only browsers that unpack it run a worker
				h.Set("Content-Encoding", "br")
			}
			if r.Header.Get("If-None-Match") == tag {
				w.WriteHeader(http.StatusNotModified)
				return
			}
			if packs {
				h.Set("Vary", "Accept-Encoding")
				if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
					h.Set("Content-Encoding", "gzip")
					w.Write(packed())
					return
				}
			}
			w.Write(text())
		})
	}
	fixed := func(address, kind, cache string, text []byte) {
		made(address, kind, cache, func() []byte { return text })
	}
	names, _ := fs.ReadDir(assets, "assets")
	for _, f := range names {
		text, _ := assets.ReadFile("assets/" + f.Name())
		switch f.Name() {
		case "worker.js": // at the root, so that every page is in its reach
			script := strings.ReplaceAll(string(text), "VERSION", version)
			fixed("/worker.js", "text/javascript; charset=utf-8", "no-cache", []byte(script))
		case "manifest.webmanifest":
			fixed("/manifest.webmanifest", "application/manifest+json", "no-cache", text)
		default:
			fixed("/assets/"+f.Name(), kindOf(f.Name()), aWhile, text)
		}
	}
	fixed("/assets/icon.svg", kindOf(".svg"), aWhile, iconSVG)
	for address, draw := range icons {
		made(address, kindOf(address), aWhile, sync.OnceValue(draw))
	}
	fixed("/assets/go-regular.ttf", "font/ttf", aWhile, drawing.FontFile(false))
	fixed("/assets/go-bold.ttf", "font/ttf", aWhile, drawing.FontFile(true))
	if Bundled() {
		wasm, _ := bundle.ReadFile("bundle/" + wasmFile)
		loader, _ := bundle.ReadFile("bundle/" + loaderFile)
		fixed("/bundle/chargewright.wasm", "application/wasm", aWhile, wasm)
		fixed("/bundle/"+loaderFile, "text/javascript; charset=utf-8", aWhile, loader)
	}
}

func gzipped(text []byte) []byte {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is one there is
	z.Write(text)                                         // into memory: it cannot fail
	z.Close()
	return b.Bytes()
}

func kindOf(name string) string {
	switch path.Ext(name) {
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	case ".png":
		return "image/png"
	case ".woff2":
		return "font/woff2"
	}
	return "application/octet-stream"
}
