package web

import "embed"

// bundle is empty in the browser, which is what the bundle is for.
var bundle embed.FS
