//go:build !js

package web

import "embed"

//go:generate go run ./makebundle

// bundle holds the pages compiled for the browser, once go generate has been
// run; before that a note alone.
//
//go:embed bundle/*
var bundle embed.FS
