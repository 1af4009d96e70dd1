// Makebundle compiles the pages for the browser and packs them into bundle/, or
// the folder that is named, where the next build takes them in. Run it in web,
// or with go generate ./web. It packs as small as can be, which takes a minute
// or two; -quick packs faster and larger, for a test.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/andybalholm/brotli"
)

func main() {
	into, quality := "bundle", brotli.BestCompression
	quick := flag.Bool("quick", false, "pack faster, and larger")
	if flag.Parse(); *quick {
		quality = 9
	}
	if flag.NArg() > 0 {
		into = flag.Arg(0)
	}
	if err := run(into, quality); err != nil {
		fmt.Fprintln(os.Stderr, "make the part for the browser:", err)
		os.Exit(1)
	}
}

func run(into string, quality int) error {
	folder, err := os.MkdirTemp("", "bundle")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	plain := filepath.Join(folder, "chargewright.wasm")
	build := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-o", plain, "./worker")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	build.Stdout, build.Stderr = os.Stdout, os.Stderr
	if err := build.Run(); err != nil {
		return err
	}
	program, err := os.ReadFile(plain)
	if err != nil {
		return err
	}
	var packed bytes.Buffer
	w := brotli.NewWriterOptions(&packed, brotli.WriterOptions{Quality: quality, LGWin: 24})
	if _, err := w.Write(program); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(into, "chargewright.wasm.br"), packed.Bytes(), 0o644); err != nil {
		return err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	loader, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return err
	}
	fmt.Printf("%s/chargewright.wasm.br: %.1f MB, unpacked %.1f MB\n", into, float64(packed.Len())/1e6, float64(len(program))/1e6)
	return os.WriteFile(filepath.Join(into, "wasm_exec.js"), loader, 0o644)
}
