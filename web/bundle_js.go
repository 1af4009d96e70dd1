package web

import "embed"

// bundle is empty in the browser, which is what the bundle is for.
var bundle embed.FS

// icons are none in the browser: the device has them from the server.
var icons map[string]func() []byte
